// Sounds of one passage: fetched once, kept as buffers, each with its loudness and with how its time runs against the recording's.

export class PassageSounds {
  #sheet;
  #kept = new Map();
  #most = 8; // A minute of stereo is some 20 MB; the recording itself is kept apart.

  constructor(sheet) {
    this.#sheet = sheet;
  }

  /** The study was edited: the recording is the same, every rebuild another. */
  update(sheet) {
    this.#sheet = sheet;
    for (const key of [...this.#kept.keys()]) if (key !== "original") this.#kept.delete(key);
  }

  /** What is there already, or undefined. */
  ready(version) {
    return this.#kept.get(keyOf(version))?.sound;
  }

  /**
   * version: { kind: "original" } | { kind: "slow", percent } | { kind: "rebuild", dials, from?, to? } | { kind: "blind", ticket, which }
   * Gives { buffer, lufs, times }.
   */
  get(version) {
    const key = keyOf(version);
    let entry = this.#kept.get(key);
    if (!entry) {
      entry = { promise: this.#fetch(version) };
      this.#kept.set(key, entry);
      entry.promise.then((sound) => (entry.sound = sound), () => this.#kept.delete(key));
      this.#forget(key);
    } else {
      this.#kept.delete(key);
      this.#kept.set(key, entry);
    }
    return entry.promise;
  }

  /** Loudness of all that is kept: what is compared must be compared at the level of the softest. */
  get softest() {
    return Math.min(...[...this.#kept.values()].map((entry) => entry.sound?.lufs ?? 0), 0);
  }

  #forget(latest) {
    for (const key of this.#kept.keys()) {
      if (this.#kept.size <= this.#most) return;
      if (key !== "original" && key !== latest) this.#kept.delete(key);
    }
  }

  async #fetch(version) {
    const answer = await fetch(this.#address(version));
    if (!answer.ok) throw new Error(answer.status === 404 ? "its sound is not there." : (await answer.text()) || `the answer was ${answer.status}.`);
    const loudness = Number(answer.headers.get("Hindbeat-Loudness") ?? NaN);
    const told = answer.headers.get("Hindbeat-Times");
    const buffer = bufferOf(await answer.arrayBuffer());
    return { buffer, lufs: Number.isFinite(loudness) ? loudness : undefined, times: told ? told.split(",").map((pair) => pair.split(":").map(Number)) : this.#timesOf(version) };
  }

  #address(version) {
    const { original, rebuild } = this.#sheet;
    if (version.kind === "original") return original;
    if (version.kind === "slow") return original.replace("original", `slow/${version.percent}`);
    if (version.kind === "blind") return rebuild.replace("rebuild", `blind/${version.ticket}/${version.which}`);
    const query = new URLSearchParams(version.dials);
    query.set("r", this.#sheet.revision);
    if (version.from !== undefined) query.set("from", version.from);
    if (version.to !== undefined) query.set("to", version.to);
    return `${rebuild}?${query}`;
  }

  #timesOf(version) {
    const { from, to } = this.#sheet;
    const stretch = version.kind === "slow" ? 100 / version.percent : 1;
    return [[0, from], [(to - from) * stretch, to]];
  }
}

export function keyOf(version) {
  return version.kind === "original" ? "original" : JSON.stringify(version);
}

/** A 16-bit WAV as a buffer. By hand: the browser's own decoder takes many times as long and resamples. */
export function bufferOf(bytes) {
  const view = new DataView(bytes);
  const name = (at) => String.fromCharCode(...new Uint8Array(bytes, at, 4));
  let channels = 2;
  let sampleRate = 44100;
  for (let at = 12; at + 8 <= view.byteLength; ) {
    const size = view.getUint32(at + 4, true);
    if (name(at) === "fmt ") {
      channels = view.getUint16(at + 10, true);
      sampleRate = view.getUint32(at + 12, true);
    } else if (name(at) === "data") {
      const frames = Math.floor(Math.min(size, view.byteLength - at - 8) / (2 * channels));
      const buffer = new AudioBuffer({ length: Math.max(1, frames), numberOfChannels: channels, sampleRate });
      const samples = new Int16Array(bytes, at + 8, frames * channels);
      for (let channel = 0; channel < channels; channel++) {
        const out = buffer.getChannelData(channel);
        for (let i = 0, from = channel; i < frames; i++, from += channels) out[i] = samples[from] / 32768;
      }
      return buffer;
    }
    at += 8 + size + (size & 1);
  }
  throw new Error("the sound came damaged.");
}

/** Reads a rising table of pairs from one column to the other; straight between pairs and past the ends. */
export function follow(pairs, value, from, to) {
  let low = 1;
  let high = pairs.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (pairs[middle][from] < value) low = middle + 1;
    else high = middle;
  }
  const a = pairs[low - 1];
  const b = pairs[low];
  return a[to] + ((value - a[from]) / (b[from] - a[from])) * (b[to] - a[to]);
}
