// A stroke pointed at anywhere is marked everywhere it is drawn, and read out.

export class Pointing {
  #root;
  #hits;
  #readout;
  #order;
  #current = null;

  constructor(root, hits, signal) {
    this.#root = root;
    this.#hits = hits;
    this.#readout = root.querySelector("[data-readout]");
    this.#order = hits.map((_, i) => i).sort((a, b) => hits[a].time - hits[b].time);
    const at = (event) => event.target.closest?.("[data-hit]");
    root.addEventListener("pointerover", (event) => at(event) && this.mark(Number(at(event).dataset.hit)), { signal });
    // A finger cannot hover: a tap marks as well.
    root.addEventListener("pointerdown", (event) => at(event) && this.mark(Number(at(event).dataset.hit)), { signal });
  }

  mark(hit) {
    if (hit === this.#current) return;
    this.#paint(false);
    this.#current = hit;
    this.#paint(true);
    this.#readout.textContent = this.#hits[hit].say;
  }

  clear() {
    this.#paint(false);
    this.#current = null;
    this.#readout.textContent = "";
  }

  /** The next stroke in time (+1) or the one before (−1); from the playhead when none is marked yet. */
  step(by, time) {
    if (this.#order.length === 0) return;
    let place = this.#order.indexOf(this.#current);
    if (place < 0) {
      const next = this.#order.findIndex((hit) => this.#hits[hit].time >= time - 1e-3);
      place = (next < 0 ? this.#order.length : next) - (by > 0 ? 1 : 0);
    }
    this.mark(this.#order[Math.max(0, Math.min(this.#order.length - 1, place + by))]);
  }

  #paint(marked) {
    if (this.#current === null) return;
    for (const mark of this.#root.querySelectorAll(`[data-hit="${this.#current}"]`)) mark.classList.toggle("pointed", marked);
  }
}
