// The one transport of the page: what sounds, where in the recording it is, and how one version hands over to another.
import { cutOf, tickBuffer } from "./cuts.js";
import { PassageSounds, follow } from "./sounds.js";

const rampSeconds = 0.012; // Long enough not to click, short enough not to be heard as a fade.
const leadSeconds = 0.02; // A start set in the past would be cut; 20 ms is past the blocks of an interactive context.
const aheadSeconds = 12; // Sounds while the whole recording comes.

// All versions are played at one loudness, or the louder one would always seem the better. Rebuilds come at
// EBU R 128's -23 LUFS; everything is turned down to that, or to the softest of what is compared, never up.
const commonLufs = -23;

export class Transport {
  playing = false;
  waiting = false;
  trouble = "";
  stretches = null; // [[from, to], …] in seconds of the recording: only these sound, over and over; null plays through
  ticks = []; // Moments of the recording that a tick sounds at, over the recording
  onChange = () => {};
  version = { kind: "original" };
  #sheet;
  #sounds;
  #context = null;
  #gain = null;
  #decibels = -12;
  #voice = null;
  #rest;
  #request = 0;

  constructor(sheet) {
    this.#sheet = sheet;
    this.#sounds = new PassageSounds(sheet);
    this.#rest = sheet.from;
  }

  get sounds() {
    return this.#sounds;
  }

  /** Decibels, 0 = as recorded. */
  set volume(decibels) {
    this.#decibels = decibels;
    this.#gain?.gain.setTargetAtTime(amplitude(decibels), this.#context.currentTime, 0.01);
  }

  /** The moment of the recording that is heard now, in seconds. */
  get place() {
    const voice = this.#voice;
    if (!voice) return this.#rest;
    const late = this.#context.outputLatency || this.#context.baseLatency || 0;
    const heard = this.#context.currentTime - late - voice.startedAt;
    if (heard < 0) return voice.before ? placeOf(voice.before, this.#context.currentTime - late, this.#sheet) : this.#rest;
    return placeOf(voice, this.#context.currentTime - late, this.#sheet);
  }

  /** The study was edited. What sounds goes on; rebuilds are made anew. */
  update(sheet) {
    this.#sheet = sheet;
    this.#sounds.update(sheet);
    this.#rest = Math.max(sheet.from, Math.min(sheet.to, this.#rest));
    if (this.playing && this.version.kind !== "original") this.play();
  }

  toggle() {
    return this.playing || this.waiting ? this.stop() : this.play();
  }

  /** Begins, or hands over to the chosen version in its place: the old one sounds on until the new one is there. */
  async play() {
    this.#context ??= this.#open();
    const request = ++this.#request;
    const version = this.version;
    this.trouble = "";
    try {
      const resumed = this.#context.resume();
      if (!this.#sounds.ready(version)) {
        this.waiting = true;
        this.onChange();
        await this.#beginWith(version, request);
      }
      await this.#sounds.get(version);
      await resumed;
    } catch (error) {
      if (request === this.#request) {
        this.waiting = false;
        this.trouble = `This cannot be played: ${error.message}`;
        this.onChange();
      }
      return;
    }
    // Something else was asked for while the sound was on its way.
    if (request !== this.#request) return;
    this.waiting = false;
    this.#start(version);
  }

  /** Some seconds of the recording, heard while the whole of it is still on its way. */
  async #beginWith(version, request) {
    if (version.kind !== "original" || this.playing || this.stretches || this.ticks.length > 0) return;
    const from = Math.max(this.#sheet.from, this.#rest - 0.1);
    const some = { ...version, from, to: Math.min(this.#sheet.to, from + aheadSeconds) };
    await this.#context.resume();
    await Promise.race([this.#sounds.get(some), this.#sounds.get(version)]);
    if (request === this.#request && !this.#sounds.ready(version)) this.#start(some);
  }

  stop() {
    this.#request++;
    this.#rest = this.place;
    this.waiting = false;
    this.playing = false;
    this.#silence(this.#context?.currentTime ?? 0);
    this.onChange();
  }

  moveTo(time) {
    const wasPlaying = this.playing;
    this.#silence(this.#context?.currentTime ?? 0);
    this.#rest = Math.max(this.#sheet.from, Math.min(this.#sheet.to, time));
    if (this.stretches && !this.stretches.some(([from, to]) => this.#rest >= from - 1e-3 && this.#rest < to)) this.stretches = null;
    if (wasPlaying && this.#sounds.ready(this.version)) this.#start(this.version);
    else this.onChange();
  }

  /** Another version from here on. */
  choose(version) {
    this.version = version;
    return this.playing || this.waiting ? this.play() : Promise.resolve();
  }

  /** Loops what lies between some moments of the recording; null plays through. */
  setStretches(stretches) {
    this.stretches = stretches?.length ? stretches : null;
    const inside = this.stretches?.some(([from, to]) => this.place >= from && this.place < to) ?? true;
    const place = inside ? this.place : this.stretches[0][0];
    if (this.playing) this.moveTo(place);
    else {
      this.#rest = place;
      this.onChange();
    }
  }

  /** From the first to the last of what is looped; null when nothing is. */
  get span() {
    return this.stretches && [this.stretches[0][0], this.stretches.at(-1)[1]];
  }

  setTicks(moments) {
    this.ticks = moments;
    if (this.playing && this.version.kind === "original") this.moveTo(this.place);
  }

  /** One stroke alone, out of the recording: from just before it, for as long as it rings. */
  async hear(time, seconds = 0.35) {
    if (this.playing || !this.#sheet.original) return;
    this.#context ??= this.#open();
    await this.#context.resume();
    const { buffer, lufs } = await this.#sounds.get({ kind: "original" });
    const edge = new GainNode(this.#context, { gain: 0 });
    const source = new AudioBufferSourceNode(this.#context, { buffer });
    source.connect(edge).connect(this.#gain);
    const at = this.#context.currentTime + leadSeconds;
    edge.gain.setValueAtTime(0, at);
    edge.gain.linearRampToValueAtTime(this.#levelOf(lufs), at + 0.004);
    edge.gain.setValueAtTime(this.#levelOf(lufs), at + seconds - 0.06);
    edge.gain.linearRampToValueAtTime(0, at + seconds);
    source.start(at, Math.max(0, time - this.#sheet.from - 0.008), seconds);
  }

  close() {
    this.#request++;
    this.playing = false;
    this.#silence(this.#context?.currentTime ?? 0);
    this.#context?.close();
  }

  #open() {
    const context = new AudioContext({ latencyHint: "interactive" });
    this.#gain = new GainNode(context, { gain: amplitude(this.#decibels) });
    this.#gain.connect(context.destination);
    return context;
  }

  #levelOf(lufs) {
    return lufs === undefined ? 1 : Math.min(1, amplitude(Math.min(commonLufs, this.#sounds.softest) - lufs));
  }

  #start(version) {
    const { buffer, lufs, times } = this.#sounds.ready(version);
    const ranges = this.stretches?.map((range) => range.map((moment) => Math.max(0, Math.min(buffer.duration, follow(times, moment, 1, 0)))));
    const looped = ranges && cutOf(buffer, ranges);
    const level = this.#levelOf(lufs);
    const edge = new GainNode(this.#context, { gain: 0 });
    edge.connect(this.#gain);
    const sources = [this.#source(looped ? looped.buffer : buffer, looped, edge)];
    if (version.kind === "original" && this.ticks.length > 0) {
      const ticked = tickBuffer(this.ticks.map((moment) => follow(times, moment, 1, 0)), buffer);
      sources.push(this.#source(looped ? cutOf(ticked, ranges).buffer : ticked, looped, edge));
    }
    // Only now, when all is made: what takes time must not take it from the lead.
    const startedAt = this.#context.currentTime + leadSeconds;
    // The place that will be heard when the new version begins, so that nothing is played twice or left out.
    const before = this.#voice;
    let place = before ? placeOf(before, startedAt, this.#sheet) : this.#rest;
    if (place >= this.#sheet.to - 0.02) place = this.#sheet.from;
    if (this.stretches && !this.stretches.some(([from, to]) => place >= from - 1e-3 && place < to)) place = this.stretches[0][0];
    const offset = Math.max(0, follow(times, place, 1, 0));
    const from = looped ? Math.max(0, Math.min(follow(looped.map, offset, 1, 0), looped.length - 1e-4)) : offset;
    // From the very start nothing is cut, so nothing needs a ramp: the first stroke keeps its edge.
    const sharp = !before && offset < rampSeconds;
    edge.gain.setValueAtTime(sharp ? level : 0, startedAt);
    if (!sharp) edge.gain.linearRampToValueAtTime(level, startedAt + rampSeconds);
    for (const source of sources) source.start(startedAt, from);
    this.#silence(startedAt);
    const voice = { sources, edge, times, startedAt, offset: from, looped, level, before };
    if (before) before.before = null;
    sources[0].onended = () => {
      if (this.#voice !== voice) return;
      this.#voice = null;
      this.#rest = this.#sheet.from;
      this.playing = false;
      this.onChange();
    };
    this.#voice = voice;
    this.#rest = place;
    this.playing = true;
    this.onChange();
  }

  #source(buffer, looped, edge) {
    const source = new AudioBufferSourceNode(this.#context, { buffer, loop: Boolean(looped) });
    source.connect(edge);
    return source;
  }

  /** Takes away what sounds, from a moment on, while the next one comes in. */
  #silence(at) {
    if (!this.#voice) return;
    const { sources, edge, level, startedAt } = this.#voice;
    this.#voice = null;
    edge.gain.cancelScheduledValues(at);
    edge.gain.setValueAtTime(at < startedAt + rampSeconds ? edge.gain.value : level, at);
    edge.gain.linearRampToValueAtTime(0, at + rampSeconds);
    for (const source of sources) source.stop(Math.max(at, startedAt) + rampSeconds);
  }
}

function placeOf(voice, now, sheet) {
  let second = voice.offset + Math.max(0, now - voice.startedAt);
  if (voice.looped) second = follow(voice.looped.map, second % voice.looped.length, 0, 1);
  return Math.max(sheet.from, Math.min(sheet.to, follow(voice.times, second, 0, 1)));
}

function amplitude(decibels) {
  return Math.pow(10, decibels / 20);
}
