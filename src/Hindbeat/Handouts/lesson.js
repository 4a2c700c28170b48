// Plays the lesson's strokes: a place in beats runs on, and whichever version is chosen sounds what it has there.
"use strict";
(() => {
  const data = JSON.parse(document.getElementById("lesson-sound").textContent);
  const root = document.getElementById("player");
  const at = (id) => document.getElementById(id);
  const AHEAD = 0.18, TICK = 40, CHOKE = 0.03, LEAD = 0.12;
  const first = -(data.firstBeat - 1), perBar = data.beatsPerBar;
  const bars = Math.max(1, Math.round((data.beats + data.firstBeat - 1) / perBar));
  let audio = null, out = null, buffers = null, timer = 0, frame = 0, running = null, version = 0, lit = [];

  // Every version's own beats: seconds from its first beat <-> beats from the first beat.
  const secondsAt = (v, place) => {
    const beats = data.versions[v].beats, k = Math.min(Math.max(Math.floor(place), 0), beats.length - 2);
    return beats[k] + (place - k) * (beats[k + 1] - beats[k]);
  };
  const placeAt = (v, seconds) => {
    const beats = data.versions[v].beats;
    let k = 0;
    while (k < beats.length - 2 && beats[k + 1] <= seconds) k++;
    return k + (seconds - beats[k]) / (beats[k + 1] - beats[k]);
  };
  for (let v = 0; v < data.versions.length; v++) {
    const one = data.versions[v];
    one.plan = one.strokes.map(([hit, time, sound, gain, pan, choke]) => ({ hit, place: placeAt(v, time), sound, gain, pan, choke: choke === null ? null : placeAt(v, choke) }))
      .sort((a, b) => a.place - b.place);
  }

  const decode = () => {
    buffers = data.sounds.map((sound) => {
      const text = atob(sound.pcm), buffer = audio.createBuffer(1, text.length / 2, data.rate), samples = buffer.getChannelData(0), scale = sound.peak / 32767;
      for (let i = 0; i < samples.length; i++) {
        const value = text.charCodeAt(2 * i) | (text.charCodeAt(2 * i + 1) << 8);
        samples[i] = (value > 32767 ? value - 65536 : value) * scale;
      }
      return buffer;
    });
  };

  const speed = () => Number(at("tempo").value) / 100;
  const loop = () => {
    const from = Number(at("from").value), to = Math.max(from, Number(at("to").value));
    return { from: Math.max(0, first + from * perBar), to: Math.min(data.beats, first + (to + 1) * perBar) };
  };

  // One lap of the loop in one version at one tempo: when its place `from` sounds on the audio clock.
  const lap = (start, from) => ({ start, from, to: loop().to, version, speed: speed(), next: 0, before: null });
  // The next lap is made ready before the one that sounds has ended.
  const lapAt = (time) => (running.before && time < running.start ? running.before : running);
  const timeOf = (one, place) => one.start + (secondsAt(one.version, place) - secondsAt(one.version, one.from)) / one.speed;
  const placeNow = (one, time) => placeAt(one.version, secondsAt(one.version, one.from) + (time - one.start) * one.speed);

  const sound = (one, stroke) => {
    const source = audio.createBufferSource(), gain = audio.createGain(), pan = audio.createStereoPanner();
    const time = Math.max(audio.currentTime, timeOf(one, stroke.place)), onset = data.sounds[stroke.sound].onset;
    const level = stroke.gain * data.versions[one.version].gain;
    source.buffer = buffers[stroke.sound];
    pan.pan.value = stroke.pan;
    gain.gain.setValueAtTime(level, 0);
    if (stroke.choke !== null) {
      const choke = timeOf(one, stroke.choke);
      gain.gain.setValueAtTime(level, choke);
      gain.gain.linearRampToValueAtTime(0, choke + CHOKE);
    }
    source.connect(gain).connect(pan).connect(out);
    // A sound's onset, not its first sample, falls on its moment.
    if (time - onset >= audio.currentTime) source.start(time - onset);
    else source.start(audio.currentTime, Math.max(0, audio.currentTime - time + onset));
    one.sounding.push({ source, gain, time, hit: stroke.hit });
  };

  // Clicks can be taken back like strokes; those of the count-in stay whatever is changed meanwhile.
  const click = (one, time, strong, stays) => {
    const oscillator = audio.createOscillator(), gain = audio.createGain();
    oscillator.frequency.value = strong ? 1760 : 1320;
    gain.gain.setValueAtTime(0.0001, time);
    gain.gain.exponentialRampToValueAtTime(0.16, time + 0.001);
    gain.gain.exponentialRampToValueAtTime(0.0001, time + 0.045);
    oscillator.connect(gain).connect(out);
    oscillator.start(time);
    oscillator.stop(time + 0.05);
    one.sounding.push({ source: oscillator, time, hit: null, stays });
  };

  const begin = (one) => {
    const plan = data.versions[one.version].plan;
    one.sounding = [];
    while (one.next < plan.length && plan[one.next].place < one.from - 0.12) one.next++;
    one.click = Math.ceil(one.from - 1e-6);
    return one;
  };

  const tick = () => {
    const horizon = audio.currentTime + AHEAD;
    for (;;) {
      const plan = data.versions[running.version].plan;
      while (running.next < plan.length && plan[running.next].place < running.to - 0.12 && timeOf(running, plan[running.next].place) < horizon) sound(running, plan[running.next++]);
      const wanted = at("click").value;
      while (running.click < running.to - 1e-6 && timeOf(running, running.click) < horizon) {
        const beat = ((running.click - first) % perBar + perBar) % perBar;
        if (wanted === "beats" || (wanted === "backbeats" && beat % 2 === 1)) click(running, timeOf(running, running.click), beat === 0, false);
        running.click++;
      }
      const end = timeOf(running, running.to);
      if (end >= horizon) return;
      if (!at("again").checked) {
        if (end <= audio.currentTime) stop();
        return;
      }
      const before = running;
      running = begin(lap(end, loop().from));
      running.before = before;
      before.before = null;
      running.sounding = before.sounding.filter((note) => note.time > audio.currentTime - 4).concat(running.sounding);
    }
  };

  // From here on another version, tempo or loop: what has not sounded yet is taken back.
  const change = () => {
    version = Number(root.querySelector("input[name=version]:checked").value);
    at("tempo-said").textContent = `${at("tempo").value} %, ${Math.round(data.bpm * speed())} bpm`;
    if (!running) return;
    const now = audio.currentTime + 0.02, one = lapAt(now), waits = now < one.start, place = placeNow(one, now);
    for (const note of running.sounding) if (note.time > now && !note.stays) note.source.stop();
    const bounds = loop();
    const inside = !waits && place >= bounds.from - 0.2 && place < bounds.to - 0.05;
    const old = running.sounding.filter((note) => note.time <= now || note.stays);
    running = lap(waits ? one.start : now, inside ? place : bounds.from);
    const plan = data.versions[version].plan;
    begin(running);
    if (inside) while (running.next < plan.length && plan[running.next].place < place) running.next++;
    running.sounding = old;
    tick();
  };

  const show = () => {
    if (!running) return;
    const now = audio.currentTime - (audio.outputLatency || 0), hits = running.sounding.filter((note) => note.hit !== null && note.time <= now && note.time > now - 0.12).map((note) => note.hit);
    if (hits.join() !== lit.join()) {
      for (const group of document.querySelectorAll(".stroke.now")) group.classList.remove("now");
      for (const hit of hits) for (const group of document.querySelectorAll(`[data-hit="${hit}"]`)) group.classList.add("now");
      lit = hits;
    }
    frame = requestAnimationFrame(show);
  };

  const stop = () => {
    clearInterval(timer);
    cancelAnimationFrame(frame);
    if (running) for (const note of running.sounding) { try { note.source.stop(); } catch { /* has ended */ } }
    running = null;
    lit = [];
    for (const group of document.querySelectorAll(".stroke.now")) group.classList.remove("now");
    at("play").textContent = "Play";
    at("play").setAttribute("aria-pressed", "false");
  };

  const play = async () => {
    if (!audio) {
      audio = new AudioContext();
      out = audio.createGain();
      out.connect(audio.destination);
      decode();
      root.dispatchEvent(new CustomEvent("sounding", { detail: { audio, out } }));
    }
    await audio.resume();
    out.gain.value = Number(at("volume").value) ** 2;
    const from = loop().from, beat = (secondsAt(version, from + 1) - secondsAt(version, from)) / speed();
    const count = at("count").checked ? perBar : 0, start = audio.currentTime + LEAD;
    running = begin(lap(start + count * beat, from));
    for (let i = 0; i < count; i++) click(running, start + i * beat, i === 0, true);
    at("play").textContent = "Stop";
    at("play").setAttribute("aria-pressed", "true");
    tick();
    timer = setInterval(tick, TICK);
    show();
  };

  for (const select of [at("from"), at("to")]) for (let bar = 0; bar < bars; bar++) select.add(new Option(String(data.firstBar + bar), String(bar), select.id === "to" && bar === bars - 1, select.id === "to" && bar === bars - 1));
  at("play").addEventListener("click", () => (running ? stop() : play()));
  at("volume").addEventListener("input", () => { if (out) out.gain.setTargetAtTime(Number(at("volume").value) ** 2, audio.currentTime, 0.01); });
  for (const control of root.querySelectorAll("input[name=version], #tempo, #from, #to")) control.addEventListener("input", change);
  for (const rung of document.querySelectorAll("[data-tempo]")) rung.addEventListener("click", () => { at("tempo").value = rung.dataset.tempo; change(); at("play").focus(); });
  root.hidden = false;
  at("silent").hidden = true;
  for (const button of document.querySelectorAll("button[data-tempo]")) button.hidden = false;
  change();
  window.lesson = { get place() { return running ? placeNow(lapAt(audio.currentTime), audio.currentTime) : null; }, get version() { return version; } };
})();
