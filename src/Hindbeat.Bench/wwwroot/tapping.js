// Tapping along: taps are moments of what is heard; a pause ends the row, and the page's study is read by them.

const pauseSeconds = 2;
const fewest = 4; // PulseChanges.FewestTaps

export class Tapping {
  #said;
  #done;
  #taps = [];
  #timer = 0;

  constructor(said, done) {
    this.#said = said;
    this.#done = done;
  }

  tap(transport) {
    if (!transport.playing) {
      this.#said().textContent = "Play first, then tap on each beat, beginning on a 1.";
      return;
    }
    const time = transport.place;
    if (this.#taps.length > 0 && time <= this.#taps.at(-1)) this.#taps = [];
    this.#taps.push(time);
    this.#said().textContent = this.#taps.length < fewest ? `${this.#taps.length} …` : `${this.#taps.length}; pause to take ${this.#bpm()} bpm`;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#end(), 1000 * pauseSeconds);
  }

  close() {
    clearTimeout(this.#timer);
  }

  #bpm() {
    return ((60 * (this.#taps.length - 1)) / (this.#taps.at(-1) - this.#taps[0])).toFixed(0);
  }

  #end() {
    const taps = this.#taps;
    this.#taps = [];
    if (taps.length < fewest) this.#said().textContent = `Tap at least ${fewest} beats.`;
    else {
      this.#said().textContent = "";
      this.#done(taps);
    }
  }
}
