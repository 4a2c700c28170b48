// Lowest and highest sample of any stretch of a sound, quickly: each level holds the extremes of pairs of the level below.

const finest = 128; // samples a step

export class Peaks {
  rate;
  #buffer;
  #start;
  #levels = [];
  #loudest;

  constructor(buffer, start) {
    this.#buffer = buffer;
    this.#start = start;
    this.rate = buffer.sampleRate;
    const steps = Math.ceil(buffer.length / finest);
    let low = new Float32Array(steps);
    let high = new Float32Array(steps);
    for (let channel = 0; channel < buffer.numberOfChannels; channel++) {
      const samples = buffer.getChannelData(channel);
      for (let step = 0, at = 0; step < steps; step++) {
        let least = channel ? low[step] : samples[at];
        let most = channel ? high[step] : samples[at];
        for (const end = Math.min(at + finest, samples.length); at < end; at++) {
          const value = samples[at];
          if (value < least) least = value;
          if (value > most) most = value;
        }
        low[step] = least;
        high[step] = most;
      }
    }
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

  /** [low, high] between two moments of the recording, as shares of the loudest; [1, -1] where there is no sound. */
  between(from, to) {
    const first = (from - this.#start) * this.rate;
    const last = (to - this.#start) * this.rate;
    const level = Math.max(0, Math.min(this.#levels.length - 1, Math.floor(Math.log2(Math.max(1, (last - first) / finest)))));
    const { low, high } = this.#levels[level];
    const size = finest * 2 ** level;
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
