// One moment, shown on the time axis and in the chart.

const linesInAStaff = 5;
const reachInStaves = 0.7; // The playhead stands out above and below the staff as a conductor's finger would.

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

  /** Where the notes of each system stand, by their written time; a line of music ends where the next note stands further left. */
  #measure() {
    const frame = this.#chart.getBoundingClientRect();
    const notes = [];
    for (const mark of this.#chart.querySelectorAll("[data-hit]")) {
      const hit = this.#sheet.hits[Number(mark.dataset.hit)];
      if (hit?.written == null) continue;
      const box = mark.getBoundingClientRect();
      notes.push({ time: hit.written, x: box.left + box.width / 2 - frame.left, y: box.top + box.height / 2 - frame.top });
    }
    notes.sort((a, b) => a.time - b.time || a.x - b.x);
    const systems = [];
    for (const note of notes) {
      const current = systems.at(-1);
      if (current && note.x > current.notes.at(-1).x - frame.width / 3) current.notes.push(note);
      else systems.push({ notes: [note] });
    }
    const staves = this.#staves(frame);
    for (const system of systems) {
      const middle = system.notes.reduce((sum, note) => sum + note.y, 0) / system.notes.length;
      const staff = staves.reduce((best, each) => (Math.abs(each.middle - middle) < Math.abs(best.middle - middle) ? each : best), staves[0]);
      if (!staff) continue;
      system.top = staff.top - reachInStaves * staff.height;
      system.height = (1 + 2 * reachInStaves) * staff.height;
    }
    return systems;
  }

  /** The five-line staves, from their long level lines. */
  #staves(frame) {
    const lines = [...this.#chart.querySelectorAll(".staff")]
      .map((line) => line.getBoundingClientRect())
      .filter((box) => box.width > 20 * box.height && box.width > frame.width / 8)
      .map((box) => box.top + box.height / 2 - frame.top)
      .sort((a, b) => a - b)
      .filter((y, i, all) => i === 0 || y - all[i - 1] > 1);
    const staves = [];
    for (let i = 0; i + linesInAStaff <= lines.length; i += linesInAStaff) {
      const [top, bottom] = [lines[i], lines[i + linesInAStaff - 1]];
      staves.push({ top, height: bottom - top, middle: (top + bottom) / 2 });
    }
    return staves;
  }
}
