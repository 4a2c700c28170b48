// One moment, shown on the time axis and in the chart.

export class Playheads {
  #sheet;
  #axis;
  #axisHead;
  #chart;
  #chartHead;
  #systems = null;
  #measuredWidth = 0;

  constructor(root, sheet) {
    this.#sheet = sheet;
    this.#axis = root.querySelector("[data-axis]");
    this.#axisHead = this.#axis.querySelector("[data-playhead]");
    this.#chart = root.querySelector("[data-chart]");
    this.#chartHead = this.#chart.querySelector("[data-playhead]");
  }

  show(time) {
    const { from, to } = this.#sheet;
    this.#axisHead.hidden = false;
    this.#axisHead.style.left = `${(100 * (time - from)) / (to - from)}%`;
    this.#showInChart(time);
  }

  #showInChart(time) {
    // Notes stand still until the page is set anew; measuring them on each frame would cost the frame.
    const width = this.#chart.clientWidth;
    if (!this.#systems || width !== this.#measuredWidth) {
      this.#systems = this.#measure();
      this.#measuredWidth = width;
    }
    const system = this.#systems.findLast((candidate) => candidate.notes[0].time <= time + 1e-3) ?? this.#systems[0];
    this.#chartHead.hidden = !system;
    if (!system) return;
    const { notes } = system;
    const after = notes.findIndex((note) => note.time > time);
    let x;
    if (after === 0) x = notes[0].x;
    else if (after < 0) x = notes[notes.length - 1].x;
    else {
      const a = notes[after - 1];
      const b = notes[after];
      x = a.x + ((time - a.time) / (b.time - a.time)) * (b.x - a.x);
    }
    const style = this.#chartHead.style;
    style.transform = `translate(${x}px, ${system.top}px)`;
    style.height = `${system.height}px`;
  }

  /** Where the notes of each system stand, by their written time. */
  #measure() {
    const frame = this.#chart.getBoundingClientRect();
    const systems = [];
    for (const picture of this.#chart.querySelectorAll("[data-system], svg:not(:has([data-system]))")) {
      const notes = [];
      for (const mark of picture.querySelectorAll("[data-hit]")) {
        const hit = this.#sheet.hits[Number(mark.dataset.hit)];
        if (hit?.written == null) continue;
        const box = mark.getBoundingClientRect();
        notes.push({ time: hit.written, x: box.left + box.width / 2 - frame.left });
      }
      if (notes.length === 0) continue;
      notes.sort((a, b) => a.time - b.time);
      const box = picture.getBoundingClientRect();
      systems.push({ notes, top: box.top - frame.top, height: box.height });
    }
    return systems.sort((a, b) => a.notes[0].time - b.notes[0].time);
  }
}
