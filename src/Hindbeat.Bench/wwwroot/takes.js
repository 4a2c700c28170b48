// A take is played now: what sounds, what comes in, how late it comes, and the way to the library.
import { Practice } from "./practice.js";
import { bufferOf, follow } from "./sounds.js";

const delayKey = "hindbeat.delay."; // + the input's name
const kitKey = "hindbeat.kit-delay";
const kitStrokes = 16;
const kitSeconds = 40; // Time enough for so many unhurried strokes.
const ringSeconds = 0.4; // A stroke and its note are all in before the listening ends.

export function open(root, study) {
  return new Takes(root, study);
}

class Takes {
  #root;
  #study;
  #ended = new AbortController();
  #practice = new Practice();
  #stop = null; // how to end what is running
  #input = "";

  constructor(root, study) {
    this.#root = root;
    this.#study = study;
    const { signal } = this.#ended;
    root.addEventListener("click", (event) => this.#clicked(event.target), { signal });
    root.addEventListener("change", (event) => this.#chosen(event.target), { signal });
    this.#practice.onLevel = (level) => (this.#find("[data-level]").value = level > 0 ? Math.max(0, 1 + Math.log10(level) / 3) : 0);
    this.#showKitDelay();
    this.#sayDelay();
    root.setAttribute("data-live", "");
    this.#chosen(this.#find("[data-take-file]")); // a file may have been chosen before this module was there
  }

  close() {
    this.#ended.abort();
    this.#stop?.(true);
    this.#practice.close();
  }

  #find(selector) {
    return this.#root.querySelector(selector);
  }

  #say(words) {
    this.#find("[data-said]").textContent = words;
  }

  get #byMicrophone() {
    return this.#find("[data-input]").value === "microphone";
  }

  #clicked(target) {
    if (target.closest("[data-stop]")) this.#stop?.(false);
    else if (target.closest("[data-record]")) this.#attempt(() => this.#record());
    else if (target.closest("[data-measure]")) this.#attempt(() => this.#measure());
    else if (target.closest("[data-measure-kit]")) this.#attempt(() => this.#measureKit());
  }

  #chosen(field) {
    if (field.matches("[data-input], [data-device]")) this.#sayDelay();
    else if (field.matches("[data-kit-delay], [data-kit-within]")) this.#stateKitDelay();
    else if (field.matches("[data-take-file]") && field.files.length > 0) this.#attempt(() => this.#bring(field));
  }

  async #bring(field) {
    const [file] = field.files;
    this.#say(`Listening to ${file.name}…`);
    try {
      await send(`/practice/${this.#study}/file?name=${encodeURIComponent(file.name)}`, file);
    } finally {
      field.value = "";
    }
    this.#say("Kept.");
  }

  async #attempt(act) {
    if (this.#stop) return;
    this.#stop = () => {};
    document.dispatchEvent(new CustomEvent("hindbeat:quiet"));
    this.#root.toggleAttribute("data-running", true);
    try {
      await act();
    } catch (error) {
      this.#say(error.name === "NotAllowedError" ? "The browser was not allowed to listen; allow the microphone for this page." : error.message);
    }
    this.#stop = null;
    this.#root.toggleAttribute("data-running", false);
  }

  /** Opens the input that is chosen, and lists what else could be. */
  async #listen() {
    const device = this.#find("[data-device]");
    this.#input = await this.#practice.listen(device.value);
    const inputs = (await navigator.mediaDevices.enumerateDevices()).filter((each) => each.kind === "audioinput" && each.deviceId !== "default");
    if (device.options.length === 1) for (const each of inputs) device.add(new Option(each.label, each.deviceId));
    this.#sayDelay();
  }

  /** Plays; ends by itself or when stopped. Gives true when it was broken off. */
  #run(buffer, look) {
    this.#practice.volume = Number(document.querySelector("[data-volume]").value);
    return new Promise((done) => {
      let running = true;
      const end = (brokenOff) => {
        running = false;
        done(brokenOff);
      };
      this.#stop = end;
      this.#practice.begin(buffer, () => end(false));
      const frame = () => {
        if (!running) return;
        look(this.#practice.place);
        requestAnimationFrame(frame);
      };
      frame();
    });
  }

  // The way from loudspeaker to recording

  async #measure() {
    this.#say("Opening the input…");
    await this.#practice.open();
    const clicks = await sound(`/practice/clicks?rate=${this.#practice.rate}`);
    await this.#listen();
    this.#say("Listening to the clicks: hold the microphone near the loudspeaker or the headphones.");
    await this.#run(clicks.buffer, () => {});
    const samples = this.#practice.end();
    const found = await send(`/practice/delay?rate=${this.#practice.rate}`, samples);
    keep(delayKey + this.#input, { ...found, measured: new Date().toISOString() });
    this.#sayDelay();
    this.#say(["Measured.", ...found.doubts].join(" "));
  }

  /** An electronic kit's own way: a pad is struck beside the microphone, whose delay must be known. */
  async #measureKit() {
    this.#say("Opening the input…");
    await this.#practice.open();
    await this.#listen();
    const microphone = kept(delayKey + this.#input);
    if (!microphone) throw new Error("The microphone’s own delay must be known first: listen to the microphone above, and measure its delay.");
    const told = await this.#practice.listenToKit();
    this.#say(`Strike one pad ${kitStrokes} times, half a second apart, the microphone a hand’s width from it; the kit’s own sound off.`);
    const silence = new AudioBuffer({ length: kitSeconds * this.#practice.rate, sampleRate: this.#practice.rate, numberOfChannels: 1 });
    let enough = 0;
    const brokenOff = await this.#run(silence, (place) => {
      const count = this.#practice.kitNotes;
      if (count > 0) this.#say(`${count} of ${kitStrokes} strokes.`);
      if (count < kitStrokes) enough = place + ringSeconds;
      else if (place > enough) this.#stop?.(false);
    });
    const samples = this.#practice.end();
    if (brokenOff) return;
    const notes = told().map(([second, key]) => `${second.toFixed(5)}:${key}`);
    const query = new URLSearchParams({ rate: this.#practice.rate, told: notes.join(","), delay: microphone.delay, within: microphone.within });
    const found = await send(`/practice/kit-delay?${query}`, samples);
    keep(kitKey, { ...found, measured: new Date().toISOString() });
    this.#showKitDelay();
    this.#sayDelay();
    this.#say(["Measured.", ...found.doubts].join(" "));
  }

  /** Typed in, from a measurement of one's own; an emptied field forgets it. */
  #stateKitDelay() {
    const [delay, within] = ["[data-kit-delay]", "[data-kit-within]"].map((selector) => this.#find(selector));
    if (delay.value === "" || within.value === "" || !delay.checkValidity() || !within.checkValidity()) keep(kitKey, null);
    else keep(kitKey, { delay: Number(delay.value), within: Number(within.value), spread: 0, clicks: 0 });
    this.#sayDelay();
  }

  #showKitDelay() {
    const known = kept(kitKey);
    if (!known) return;
    this.#find("[data-kit-delay]").value = known.delay.toFixed(1);
    this.#find("[data-kit-within]").value = known.within.toFixed(1);
  }

  get #delay() {
    if (!this.#byMicrophone) return kept(kitKey);
    return this.#input ? kept(delayKey + this.#input) : null;
  }

  #sayDelay() {
    const byMicrophone = this.#byMicrophone;
    this.#root.querySelectorAll("[data-microphone-only]").forEach((each) => (each.hidden = !byMicrophone));
    this.#root.querySelectorAll("[data-kit-only]").forEach((each) => (each.hidden = byMicrophone));
    this.#find("[data-delay]").textContent = byMicrophone ? recordingDelaySaid(this.#delay, this.#input) : kitDelaySaid(this.#delay);
  }

  // The take

  get #wish() {
    const query = new URLSearchParams();
    for (const name of ["over", "share", "countin", "rounds", "first", "last"]) {
      const field = this.#find(`[data-wish=${name}]`);
      if (field?.value) query.set(name, field.value);
    }
    for (const dial of document.querySelectorAll("[data-dial]")) query.set(dial.dataset.dial, dial.value);
    return query;
  }

  async #record() {
    const wish = this.#wish;
    this.#say("Opening the input…");
    let played = () => [];
    const along = await sound(`/practice/${this.#study}/sound?${wish}`);
    if (this.#byMicrophone) await this.#listen();
    else played = await this.#practice.listenToKit();
    const brokenOff = await this.#run(along.buffer, (place) => this.#show(along, place));
    const samples = this.#practice.end();
    const notes = played();
    if (brokenOff === true) return;
    this.#say("Listening to your take…");
    const delay = this.#delay;
    if (delay) for (const name of ["delay", "within", "spread", "clicks"]) wish.set(name, delay[name] ?? 0);
    if (this.#byMicrophone) await send(`/practice/${this.#study}/take?rate=${this.#practice.rate}&${wish}`, samples);
    else await send(`/practice/${this.#study}/notes?${wish}`, JSON.stringify(notes));
    this.#say("Kept.");
  }

  #show({ rounds: [start, length, count], times }, place) {
    if (place < start) return this.#say("Count-in…");
    const round = Math.min(count, 1 + Math.floor((place - start) / length));
    this.#say(`Round ${round} of ${count}`);
    document.dispatchEvent(new CustomEvent("hindbeat:place", { detail: follow(times, start + ((place - start) % length), 0, 1) }));
  }
}

const unknownCost = "where your kit lies against the click cannot be told. Pieces against each other do not need it.";

function recordingDelaySaid(delay, input) {
  return delay ? `Recording delay of ${input}: ${delayInWords(delay, "clicks")}.` : `Recording delay not measured: ${unknownCost}`;
}

function kitDelaySaid(delay) {
  if (!delay) return `Your kit’s own delay is not known (measure it, or give both numbers): ${unknownCost}`;
  const words = delay.measured ? delayInWords(delay, "strokes") : `${delay.delay.toFixed(1)} ± ${delay.within.toFixed(1)} ms, as you gave it`;
  return `Your kit’s own delay: ${words}. It is taken off before your kit is held against the click.`;
}

function delayInWords({ delay, within, clicks, spread, measured }, counted) {
  return `${delay.toFixed(1)} ± ${within.toFixed(1)} ms (${clicks} ${counted}, each within ${spread.toFixed(1)} ms), measured on ${new Date(measured).toLocaleDateString("en-GB")}`;
}

async function sound(address) {
  const answer = await fetch(address);
  if (!answer.ok) throw new Error(await answer.text());
  const pairs = answer.headers.get("Hindbeat-Times");
  return {
    buffer: bufferOf(await answer.arrayBuffer(), answer.headers.get("Hindbeat-Sound")),
    rounds: answer.headers.get("Hindbeat-Rounds")?.split(":").map(Number),
    times: pairs?.split(",").map((pair) => pair.split(":").map(Number)),
  };
}

async function send(address, body) {
  const token = await (await fetch("/add/token")).text();
  const type = typeof body === "string" ? "application/json" : "application/octet-stream";
  const answer = await fetch(address, { method: "POST", body, headers: { RequestVerificationToken: token, "Content-Type": type } });
  if (!answer.ok) throw new Error((await answer.text()) || `The answer was ${answer.status}.`);
  return answer.json();
}

// Storage may be switched off in the browser; then the delay is measured anew.
function keep(key, value) {
  try {
    localStorage.setItem(key, JSON.stringify(value));
  } catch {
    // See above.
  }
}

function kept(key) {
  try {
    return JSON.parse(localStorage.getItem(key));
  } catch {
    return null;
  }
}
