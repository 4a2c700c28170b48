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
   * version: { kind: "original", from?, to? } | { kind: "slow", percent } | { kind: "rebuild", dials, from?, to? } | { kind: "blind", ticket, which }
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

  /** [pairs of lowest and highest samples, frames a second, frames a pair]: what can be drawn long before the sound is here. */
  async outline() {
    const address = this.#sheet.original.replace("original", "outline");
    const early = globalThis.hindbeatEarly;
    const answer = (early?.address === address && (await early.outline)) || (await fetch(address));
    if (early) early.outline = undefined;
    if (!answer.ok) throw new Error("its sound is not there.");
    const [rate, step] = answer.headers.get("Hindbeat-Outline").split(":").map(Number);
    return [new Int16Array(await answer.arrayBuffer()), rate, step];
  }

  async #fetch(version) {
    const answer = await fetch(this.#address(version));
    if (!answer.ok) throw new Error(answer.status === 404 ? "its sound is not there." : (await answer.text()) || `the answer was ${answer.status}.`);
    const loudness = Number(answer.headers.get("Hindbeat-Loudness") ?? NaN);
    const told = answer.headers.get("Hindbeat-Times");
    const buffer = bufferOf(await answer.arrayBuffer(), answer.headers.get("Hindbeat-Sound"));
    return { buffer, lufs: Number.isFinite(loudness) ? loudness : undefined, times: told ? told.split(",").map((pair) => pair.split(":").map(Number)) : this.#timesOf(version) };
  }

  #address(version) {
    const { original, rebuild } = this.#sheet;
    if (version.kind === "original") return version.to === undefined ? original : `${original}?from=${version.from}&to=${version.to}`;
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
  return version.kind === "original" && version.to === undefined ? "original" : JSON.stringify(version);
}

/** PlainSound.cs: floats, all of the left channel, then all of the right. */
export function bufferOf(bytes, shape) {
  const [sampleRate, frames] = shape.split(":").map(Number);
  const buffer = new AudioBuffer({ length: Math.max(1, frames), numberOfChannels: 2, sampleRate });
  for (let channel = 0; channel < 2; channel++) buffer.copyToChannel(new Float32Array(bytes, 4 * frames * channel, frames), channel);
  return buffer;
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
