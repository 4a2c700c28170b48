// What is looped: by bars, beats or parts of a beat, made longer and shorter from the keyboard as well as drawn.
import { Bars } from "./bars.js";

// By Bars.parts: on the buttons, and spoken.
const units = [["bar", "bar"], ["beat", "beat"], ["½ beat", "half beat"], ["⅓ beat", "third of a beat"], ["¼ beat", "quarter beat"]];

export class Looping {
  #root;
  #transport;
  #timeline;
  #bars;

  constructor(root, sheet, transport, timeline, signal) {
    this.#root = root;
    this.#transport = transport;
    this.#timeline = timeline;
    this.#bars = new Bars(sheet, this.#parts);
    root.addEventListener("change", (event) => event.target.matches("[data-loop-by]") && this.#by(), { signal });
    this.#by();
  }

  get bars() {
    return this.#bars;
  }

  update(sheet) {
    this.#bars = new Bars(sheet, this.#bars.parts);
    this.#by();
  }

  /** Loops what the playhead stands in, or plays through again. */
  toggle() {
    const place = this.#transport.place;
    this.#transport.setStretches(this.#transport.stretches ? null : [this.#bars.around(place, place)]);
  }

  longer(step) {
    const [stretch, ...more] = this.#transport.stretches ?? [];
    if (stretch && more.length === 0) this.#transport.setStretches([this.#bars.longer(step, stretch)]);
  }

  /** Drawn from one moment to another; only shown until it is done. */
  draw(a, b, done) {
    const stretches = [this.#bars.around(a, b)];
    if (done) this.#transport.setStretches(stretches);
    else {
      this.#timeline.stretches = stretches;
      this.#timeline.draw();
    }
  }

  /** The next finer unit, and bars again after the finest. */
  finer() {
    const choice = this.#root.querySelector("[data-loop-by]");
    choice.selectedIndex = (choice.selectedIndex + 1) % choice.options.length;
    this.#by();
  }

  show() {
    const stretches = this.#transport.stretches;
    const find = (selector) => this.#root.querySelector(selector);
    find("[data-loop]").setAttribute("aria-pressed", String(Boolean(stretches)));
    find("[data-loop-said]").textContent = stretches ? this.#bars.said(stretches) : "";
    for (const button of this.#root.querySelectorAll("[data-loop-longer], [data-cut]")) button.disabled = stretches?.length !== 1;
    if (this.#timeline.stretches !== stretches) {
      this.#timeline.stretches = stretches;
      this.#timeline.draw();
    }
  }

  get #parts() {
    return Number(this.#root.querySelector("[data-loop-by]").value);
  }

  #by() {
    this.#bars.parts = this.#parts;
    const [unit, spoken] = units[this.#bars.parts];
    for (const [selector, words, said] of [["[data-bar-back]", `‹\u2009${unit}`, `One ${spoken} back`], ["[data-bar-on]", `${unit}\u2009›`, `One ${spoken} on`]]) {
      const button = this.#root.querySelector(selector);
      button.textContent = words;
      button.setAttribute("aria-label", said);
    }
    this.#timeline.marks = this.#bars.parts > 0 ? this.#bars.lines.map((line) => line.time) : [];
    this.#timeline.draw();
  }
}
