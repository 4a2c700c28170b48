// A stroke pointed at anywhere is marked everywhere it is drawn, and read out; so are the strokes of a figure.

export class Pointing {
  #root;
  #hits;
  #timeline;
  #order;
  #current = null;
  #figure = [];
  #figureRow = null;

  constructor(root, sheet, timeline, signal) {
    this.#root = root;
    this.#timeline = timeline;
    this.update(sheet);
    const at = (event) => event.target.closest?.("[data-hit]");
    root.addEventListener("pointerover", (event) => {
      if (at(event)) this.mark(Number(at(event).dataset.hit));
      const row = event.target.closest?.("[data-hits]");
      if (row !== this.#figureRow) this.markFigure(row);
    }, { signal });
    root.addEventListener("focusin", (event) => {
      const row = event.target.closest?.("[data-hits]");
      if (row) this.markFigure(row);
    }, { signal });
    // A finger cannot hover: a tap marks as well.
    root.addEventListener("pointerdown", (event) => at(event) && this.mark(Number(at(event).dataset.hit)), { signal });
  }

  get current() {
    return this.#current;
  }

  update(sheet) {
    this.#hits = sheet.hits;
    this.#order = sheet.hits.map((_, i) => i).sort((a, b) => sheet.hits[a].time - sheet.hits[b].time);
    this.#current = null;
    this.#figure = [];
    this.#figureRow = null;
    this.#timeline.marked = null;
    this.#timeline.figure = new Set();
  }

  /** Nothing is set anew: the page drew its chart again, and the marks on it are gone. */
  repaint() {
    this.#paint(this.#current === null ? [] : [this.#current], "pointed", true);
    this.#paint(this.#figure, "of-figure", true);
  }

  mark(hit) {
    if (hit === this.#current) return;
    this.#paint(this.#current === null ? [] : [this.#current], "pointed", false);
    this.#current = hit;
    this.#paint([hit], "pointed", true);
    this.#timeline.marked = hit;
    this.#timeline.draw();
    this.say(this.#hits[hit].say);
  }

  say(words) {
    this.#root.querySelector("[data-readout]").textContent = words;
  }

  clear() {
    if (this.#current !== null) this.#paint([this.#current], "pointed", false);
    this.#current = null;
    this.#timeline.marked = null;
    this.markFigure(null);
    this.#timeline.draw();
    this.say("");
  }

  /** The strokes that a row of figures speaks of. */
  strokesOf(row) {
    const list = row?.dataset.hits ?? "";
    return list === "all" ? this.#hits.map((_, i) => i) : list.split(" ").filter(Boolean).map(Number);
  }

  markFigure(row) {
    this.#paint(this.#figure, "of-figure", false);
    this.#figureRow = row;
    this.#figure = row ? this.strokesOf(row) : [];
    // A line on everything would only turn the whole page red.
    if (this.#figure.length === this.#hits.length) this.#figure = [];
    this.#paint(this.#figure, "of-figure", true);
    this.#timeline.figure = new Set(this.#figure);
    this.#timeline.draw();
  }

  /** The next stroke in time (+1) or the one before (−1); from the playhead when none is marked yet. */
  step(by, time) {
    if (this.#order.length === 0) return;
    const here = this.#order.indexOf(this.#current);
    const after = here < 0 ? this.#order.findIndex((hit) => this.#hits[hit].time >= time - 1e-3) : here + 1;
    const next = by > 0 ? (after < 0 ? this.#order.length : after) : (here < 0 ? (after < 0 ? this.#order.length : after) : here) - 1;
    this.mark(this.#order[Math.max(0, Math.min(this.#order.length - 1, next))]);
  }

  /** The next stroke that is as wanted, after the last the first again; null when there is none. */
  seek(wanted, time) {
    const found = this.#order.filter((hit) => wanted(this.#hits[hit]));
    if (found.length === 0) return null;
    const from = this.#current === null ? time - 1e-3 : this.#hits[this.#current].time;
    const next = found.find((hit) => hit !== this.#current && this.#hits[hit].time >= from) ?? found[0];
    this.mark(next);
    return next;
  }

  #paint(hits, name, on) {
    if (hits.length === 0) return;
    const wanted = new Set(hits.map(String));
    for (const mark of this.#root.querySelectorAll("[data-hit]")) if (wanted.has(mark.dataset.hit)) mark.classList.toggle(name, on);
  }
}
