// Lowest and highest sample of any stretch of a sound, quickly: each level holds the extremes of pairs of the level below.

export class Peaks {
  rate;
  #step;
  #buffer = null;
  #start;
  #levels = [];
  #loudest;

  /** pairs: lowest and highest of each step frames (SoundOutline.cs), 16 bits; start: the recording's second where they begin. */
  constructor(pairs, rate, step, start) {
    this.rate = rate;
    this.#step = step;
    this.#start = start;
    let low = Float32Array.from({ length: pairs.length / 2 }, (_, i) => pairs[2 * i] / 32767);
    let high = Float32Array.from({ length: pairs.length / 2 }, (_, i) => pairs[2 * i + 1] / 32767);
    for (;;) {
      this.#levels.push({ low, high });
      if (low.length < 512) break;
      const half = Math.ceil(low.length / 2);
      const nextLow = new Float32Array(half);
      const nextHigh = new Float32Array(half);
      for (let i = 0; i < half; i++) {
        const other = Math.min(2 * i + 1, low.length - 1);
        nextLow[i] = Math.min(low[2 * i], low[other]);
        nextHigh[i] = Math.max(high[2 * i], high[other]);
      }
      [low, high] = [nextLow, nextHigh];
    }
    // The loudest stroke fills the height, but hiss (below -40 dBFS) is not drawn as music.
    this.#loudest = Math.max(0.01, ...low.map((value) => -value), ...high);
  }

  /** The sound itself, which is needed where one looks closer than the steps. */
  set buffer(buffer) {
    this.#buffer = buffer;
  }

  /** Whether a stretch of so many seconds a pixel can be drawn sample by sample. */
  fine(secondsAPixel) {
    return this.#buffer !== null && secondsAPixel * this.rate < 1.5;
  }

  /** [low, high] between two moments of the recording, as shares of the loudest; [1, -1] where there is no sound. */
  between(from, to) {
    const first = (from - this.#start) * this.rate;
    const last = (to - this.#start) * this.rate;
    const level = Math.max(0, Math.min(this.#levels.length - 1, Math.floor(Math.log2(Math.max(1, (last - first) / this.#step)))));
    const { low, high } = this.#levels[level];
    const size = this.#step * 2 ** level;
    let [least, most] = [Infinity, -Infinity];
    for (let i = Math.max(0, Math.floor(first / size)); i <= Math.min(low.length - 1, Math.floor(last / size)); i++) {
      least = Math.min(least, low[i]);
      most = Math.max(most, high[i]);
    }
    return most < least ? [1, -1] : [least / this.#loudest, most / this.#loudest];
  }

  /** Each sample of the first channel between two moments. */
  samples(from, to, each) {
    const samples = this.#buffer.getChannelData(0);
    const last = Math.min(samples.length - 1, Math.ceil((to - this.#start) * this.rate));
    for (let i = Math.max(0, Math.floor((from - this.#start) * this.rate)); i <= last; i++) each(this.#start + i / this.rate, samples[i] / this.#loudest);
  }
}
