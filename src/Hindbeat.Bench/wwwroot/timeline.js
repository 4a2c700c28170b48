// The recording in time, drawn: bars and beats, the sound, a row a piece. Drawn only when something changes; the playhead
// is an element of its own that moves over it, so that playing costs no drawing.
import { Peaks } from "./peaks.js";
import { Spectrum, spectrumHeight } from "./spectrum.js";

export const geometry = { ruler: 26, wave: 96, beats: 26, row: 30, foot: 6 };
const waveAlone = geometry.wave;
const zoomStep = 1.6;
const nearPixels = 16; // Half of what a finger covers; two strokes nearer than this are told apart by zooming in.

export class Timeline {
  marked = null; // the hit pointed at
  figure = new Set(); // hits of a figure pointed at
  selected = null;
  stretches = null; // what is looped
  marks = []; // moments that a loop snaps to, besides the bar lines
  drag = null; // { kind: "stroke" | "beat", index, time, row }
  #canvas;
  #head;
  #sheet;
  #peaks = null;
  #spectrum = null;
  #view; // [from, to], seconds
  #inks = null;
  #queued = false;

  constructor(canvas, head, sheet) {
    this.#canvas = canvas;
    this.#head = head;
    this.#sheet = sheet;
    this.#view = [sheet.from, sheet.to];
    this.#tell();
    geometry.wave = waveAlone;
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
      this.#inks = null;
      this.draw();
    });
    this.resize();
  }

  update(sheet) {
    this.#sheet = sheet;
    this.selected = null;
    this.resize();
  }

  /** PassageSounds.outline() */
  set outline([pairs, rate, step]) {
    this.#peaks = new Peaks(pairs, rate, step, this.#sheet.from);
    this.draw();
  }

  /** Shows the spectrogram under the outline, or no more. */
  set spectrum(on) {
    this.#spectrum = on ? new Spectrum(this.#sheet.original.replace("original", "spectrum"), () => this.draw()) : null;
    geometry.wave = waveAlone + (on ? spectrumHeight : 0);
    this.resize();
  }

  set sound(buffer) {
    this.#peaks.buffer = buffer;
    this.draw();
  }

  get height() {
    const { ruler, wave, beats, row, foot } = geometry;
    return ruler + wave + beats + row * this.#sheet.rows.length + foot;
  }

  get width() {
    return this.#canvas.clientWidth || 1;
  }

  get view() {
    return this.#view;
  }

  x(time) {
    return ((time - this.#view[0]) / (this.#view[1] - this.#view[0])) * this.width;
  }

  timeAt(x) {
    return this.#view[0] + (x / this.width) * (this.#view[1] - this.#view[0]);
  }

  resize() {
    const scale = devicePixelRatio || 1;
    this.#canvas.style.height = `${this.height}px`;
    this.#canvas.width = Math.round(this.width * scale);
    this.#canvas.height = Math.round(this.height * scale);
    this.draw();
  }

  zoom(steps, about) {
    const [from, to] = this.#view;
    const middle = about ?? (from + to) / 2;
    const share = Math.pow(zoomStep, -steps);
    this.show(middle - (middle - from) * share, middle + (to - middle) * share);
  }

  /** Shows a stretch, never beyond the passage and never less than a few samples a pixel. */
  show(from, to) {
    const whole = this.#sheet.to - this.#sheet.from;
    const length = Math.min(whole, Math.max(0.01, to - from));
    const start = Math.max(this.#sheet.from, Math.min(this.#sheet.to - length, from));
    this.#view = [start, start + length];
    this.#tell();
    this.draw();
  }

  /** What is shown, for whoever reads the page by script. */
  #tell() {
    [this.#canvas.dataset.from, this.#canvas.dataset.to] = this.#view;
  }

  /** Moves the playhead; turns the page when it has left the stretch that is shown. */
  at(time, following) {
    const [from, to] = this.#view;
    if (following && (time < from || time > to)) this.show(time - 0.02 * (to - from), time + 0.98 * (to - from));
    const x = this.x(time);
    this.#head.hidden = x < -1 || x > this.width + 1;
    this.#head.style.transform = `translateX(${x}px)`;
  }

  /** What lies under a point: { area, time, row, hit, beat }. */
  under(x, y) {
    const { ruler, wave, beats, row } = geometry;
    const time = this.timeAt(x);
    if (y < ruler) return { area: "ruler", time };
    if (y < ruler + wave) return { area: "wave", time };
    if (y < ruler + wave + beats) return { area: "beats", time, beat: this.#nearest(this.#sheet.beats, (beat) => beat[0], x) };
    const index = Math.max(0, Math.min(this.#sheet.rows.length - 1, Math.floor((y - ruler - wave - beats) / row)));
    const piece = this.#sheet.rows[index][0];
    return { area: "rows", time, row: index, hit: this.#nearest(this.#sheet.hits, (hit) => (hit.piece === piece ? hit.time : NaN), x) };
  }

  #nearest(list, timeOf, x) {
    let best = null;
    let distance = nearPixels;
    for (let i = 0; i < list.length; i++) {
      const away = Math.abs(this.x(timeOf(list[i])) - x);
      if (away < distance) [best, distance] = [i, away];
    }
    return best;
  }

  draw() {
    if (this.#queued) return;
    this.#queued = true;
    requestAnimationFrame(() => {
      this.#queued = false;
      this.#paint();
    });
  }

  #ink(name) {
    this.#inks ??= getComputedStyle(this.#canvas);
    return this.#inks.getPropertyValue(name).trim();
  }

  #paint() {
    const pen = this.#canvas.getContext("2d");
    const scale = this.#canvas.width / this.width;
    pen.setTransform(scale, 0, 0, scale, 0, 0);
    pen.clearRect(0, 0, this.width, this.height);
    this.#paintLoop(pen);
    this.#paintGrid(pen);
    this.#paintMarks(pen);
    if (this.#peaks) this.#paintWave(pen);
    this.#spectrum?.paint(pen, this.#view, geometry.ruler + waveAlone, this.width, { dark: this.#ink("--ink"), line: this.#ink("--fine-hair"), words: this.#ink("--soft-ink") });
    this.#paintRows(pen);
  }

  #paintLoop(pen) {
    for (const [from, to] of this.stretches ?? []) {
      const [a, b] = [this.x(from), this.x(to)];
      pen.fillStyle = this.#ink("--shade");
      pen.fillRect(a, 0, b - a, this.height);
      pen.fillStyle = this.#ink("--pencil");
      pen.fillRect(a, 0, b - a, 3);
    }
  }

  /** Short strokes at the ruler's foot where a loop may begin and end; none where they would run together. */
  #paintMarks(pen) {
    if (this.marks.length < 2 || this.x(this.marks[1]) - this.x(this.marks[0]) < 5) return;
    pen.fillStyle = this.#ink("--soft-ink");
    for (const time of this.marks) pen.fillRect(Math.round(this.x(time)), geometry.ruler - 7, 1, 7);
  }

  #paintGrid(pen) {
    const { ruler, wave, beats } = geometry;
    const bars = this.#sheet.beats.filter((beat) => beat[2] === 1);
    const barWidth = bars.length > 1 ? this.x(bars[1][0]) - this.x(bars[0][0]) : this.width;
    const everyBar = Math.max(1, Math.ceil(26 / Math.max(1, barWidth)));
    pen.font = '13px "Source Serif 4", Georgia, serif';
    pen.textBaseline = "alphabetic";
    for (let i = 0; i < this.#sheet.beats.length; i++) {
      const [time, bar, number] = this.#sheet.beats[i];
      const moved = this.drag?.kind === "beat" && this.drag.index === i;
      const x = Math.round(this.x(moved ? this.drag.time : time)) + 0.5;
      if (x < -40 || x > this.width + 40) continue;
      pen.strokeStyle = this.#ink(moved ? "--pencil" : number === 1 ? "--soft-ink" : "--hair");
      if (number === 1 || barWidth > 24) {
        pen.beginPath();
        pen.moveTo(x, number === 1 ? 4 : ruler);
        pen.lineTo(x, this.height);
        pen.stroke();
      }
      if (number === 1 && (bar - 1) % everyBar === 0) {
        pen.fillStyle = this.#ink("--soft-ink");
        pen.fillText(bar, x + 4, 17);
      }
      if (barWidth > 60) {
        // The beat's handle: a small open lozenge on the line, to be taken and moved.
        const y = ruler + wave + beats / 2;
        pen.beginPath();
        pen.moveTo(x, y - 5);
        pen.lineTo(x + 4, y);
        pen.lineTo(x, y + 5);
        pen.lineTo(x - 4, y);
        pen.closePath();
        pen.fillStyle = moved ? this.#ink("--pencil") : this.#ink("--paper");
        pen.fill();
        pen.strokeStyle = this.#ink(moved ? "--pencil" : "--soft-ink");
        pen.stroke();
        if (barWidth > 150 && number > 1) {
          pen.fillStyle = this.#ink("--soft-ink");
          pen.fillText(number, x + 7, y + 4);
        }
      }
    }
  }

  #paintWave(pen) {
    const middle = geometry.ruler + waveAlone / 2;
    const reach = waveAlone / 2 - 4;
    pen.fillStyle = this.#ink("--soft-ink");
    pen.strokeStyle = this.#ink("--soft-ink");
    const secondsAPixel = (this.#view[1] - this.#view[0]) / this.width;
    if (this.#peaks.fine(secondsAPixel)) {
      pen.beginPath();
      this.#peaks.samples(this.#view[0], this.#view[1], (time, value) => pen.lineTo(this.x(time), middle - value * reach));
      pen.stroke();
      return;
    }
    for (let x = 0; x < this.width; x++) {
      const time = this.#view[0] + x * secondsAPixel;
      const [low, high] = this.#peaks.between(time, time + secondsAPixel);
      if (high >= low) pen.fillRect(x, middle - high * reach, 1, Math.max(1, (high - low) * reach));
    }
  }

  #paintRows(pen) {
    const { ruler, wave, beats, row } = geometry;
    const top = ruler + wave + beats;
    const rowOf = new Map(this.#sheet.rows.map(([piece], index) => [piece, index]));
    pen.strokeStyle = this.#ink("--fine-hair");
    for (let index = 0; index < this.#sheet.rows.length; index++) {
      const y = top + row * (index + 0.5);
      pen.beginPath();
      pen.moveTo(0, y);
      pen.lineTo(this.width, y);
      pen.stroke();
    }
    const ink = this.#ink("--ink");
    const pencil = this.#ink("--pencil");
    const paper = this.#ink("--paper");
    for (let i = 0; i < this.#sheet.hits.length; i++) {
      const hit = this.#sheet.hits[i];
      const moved = this.drag?.kind === "stroke" && this.drag.index === i;
      const x = this.x(moved ? this.drag.time : hit.time);
      if (x < -12 || x > this.width + 12) continue;
      const y = top + row * ((moved ? this.drag.row : rowOf.get(hit.piece)) + 0.5);
      const pointed = moved || i === this.marked || i === this.selected || this.figure.has(i);
      const unsure = hit.sure < 0.5;
      pen.strokeStyle = pen.fillStyle = pointed ? pencil : ink;
      // Size tells the strength, a hollow dot a ghost stroke, a wedge an accent, a dashed ring a doubtful one.
      pen.lineWidth = 1.25;
      pen.beginPath();
      pen.arc(x, y, 1.6 + 3 * Math.sqrt(hit.strength), 0, 2 * Math.PI);
      if (hit.marks.includes("g") || unsure) {
        pen.fillStyle = paper;
        pen.fill();
        if (unsure) pen.setLineDash([2, 1.5]);
        pen.stroke();
        pen.setLineDash([]);
      } else pen.fill();
      if (unsure) {
        // A question mark above it: doubt must be seen from a drum stool, and without colour.
        pen.fillStyle = pencil;
        pen.fillText("?", x - 3, y - 7);
      } else if (hit.marks.includes("a")) {
        pen.beginPath();
        pen.moveTo(x - 3.5, y - 13);
        pen.lineTo(x + 3.5, y - 10.5);
        pen.lineTo(x - 3.5, y - 8);
        pen.stroke();
      }
      if (i === this.marked || i === this.selected) {
        pen.strokeStyle = pencil;
        pen.beginPath();
        pen.arc(x, y, 11, 0, 2 * Math.PI);
        pen.stroke();
      }
      pen.lineWidth = 1;
    }
  }
}
