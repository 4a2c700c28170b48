// One moment, shown on the time axis, in the folded bar and in the chart.
import { follow } from "./sounds.js";

const linesInAStaff = 5;
const reachInStaves = 0.7; // The playhead stands out above and below the staff as a conductor's finger would.
const pageEdge = 40; // Pixels before the edge at which a chart that is wider than the screen is turned on.
const foldedMargin = 0.2; // White at both sides of the folded bar, in beats (FoldedBarPicture.razor).

export class Playheads {
  #root;
  #sheet;
  #timeline;
  #systems = null;
  #measuredWidth = 0;
  #shown = null;

  constructor(root, sheet, timeline) {
    this.#root = root;
    this.#timeline = timeline;
    this.update(sheet);
  }

  update(sheet) {
    this.#sheet = sheet;
    this.#systems = null;
    this.#shown = null;
    // Beats with their count from the first, to be read as a rising table.
    this.beats = sheet.beats.map((beat, index) => [beat[0], index]);
  }

  show(time, following) {
    this.#timeline.at(time, following);
    this.#showInFolded(time);
    this.#showInChart(time, following);
  }

  #showInFolded(time) {
    const plot = this.#root.querySelector("[data-folded]");
    const head = plot?.querySelector("[data-playhead]");
    if (!head) return;
    const first = this.#sheet.beats[0];
    const inBar = Number(plot.dataset.beats);
    const since = follow(this.beats, time, 0, 1) + first[2] - 1;
    const beat = ((since % inBar) + inBar) % inBar;
    head.hidden = false;
    head.style.transform = `translateX(${((beat + foldedMargin) / (inBar + 2 * foldedMargin)) * plot.clientWidth}px)`;
  }

  #showInChart(time, following) {
    const chart = this.#root.querySelector("[data-chart]");
    const head = chart.querySelector("[data-playhead]");
    // Notes stand still until the page is set anew; measuring them on each frame would cost the frame.
    const width = chart.clientWidth;
    if (!this.#systems || width !== this.#measuredWidth) {
      this.#systems = this.#measure(chart);
      this.#measuredWidth = width;
      this.#shown = null;
    }
    const system = this.#systems.findLast((candidate) => candidate.notes[0].time <= time + 1e-3) ?? this.#systems[0];
    if (!system) {
      head.hidden = true;
      return;
    }
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
    head.style.transform = `translate(${x}px, ${system.top}px)`;
    if (following) keepInView(chart.parentElement, x);
    if (system === this.#shown) return;
    // A change of height lays the page out anew, so it is made once a system and not once a frame.
    this.#shown = system;
    head.hidden = false;
    head.style.height = `${system.height}px`;
  }

  /** Where the notes of each system stand, by their written time; a line of music ends where the next note stands further left. */
  #measure(chart) {
    const frame = chart.getBoundingClientRect();
    const notes = [];
    for (const mark of chart.querySelectorAll("[data-hit]")) {
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
    const staves = this.#staves(chart, frame);
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
  #staves(chart, frame) {
    const lines = [...chart.querySelectorAll(".staff")]
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

/** On a narrow screen the chart is wider than what is seen of it; it is turned on like a page, not drawn along. */
function keepInView(frame, x) {
  const { scrollLeft, clientWidth } = frame;
  if (frame.scrollWidth > clientWidth && (x < scrollLeft || x > scrollLeft + clientWidth - pageEdge)) frame.scrollLeft = Math.max(0, x - pageEdge);
}
