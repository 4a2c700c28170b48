// Where bars begin and end, and what a moment is called.

const near = 0.15; // A press shortly after a bar line means the bar before.

export class Bars {
  #sheet;
  #lines; // [time, bar number] of each bar line

  constructor(sheet) {
    this.#sheet = sheet;
    this.#lines = sheet.beats.filter((beat) => beat[2] === 1);
  }

  /** The bar line after a moment (+1) or before it (−1). */
  start(step, time) {
    const starts = this.#lines.map((beat) => beat[0]);
    if (step > 0) return starts.find((start) => start > time + 1e-3) ?? time;
    return starts.findLast((start) => start < time - near) ?? this.#sheet.from;
  }

  /** From the bar line at or before one moment to the one at or after another. */
  around(a, b) {
    const starts = this.#lines.map((beat) => beat[0]);
    // What comes before the first bar line belongs to the first bar.
    [a, b] = [Math.max(a, starts[0] ?? a), Math.max(b, starts[0] ?? b)];
    const from = starts.findLast((start) => start <= Math.min(a, b) + 1e-3) ?? this.#sheet.from;
    const to = starts.find((start) => start > Math.max(a, b) + 1e-3) ?? this.#sheet.to;
    return [Math.max(from, this.#sheet.from), Math.min(to, this.#sheet.to)];
  }

  /** The whole bars that hold some strokes, neighbours joined. */
  of(hits) {
    const ranges = [];
    for (const hit of [...hits].sort((a, b) => this.#sheet.hits[a].time - this.#sheet.hits[b].time)) {
      const { written, time } = this.#sheet.hits[hit];
      const [from, to] = this.around(written ?? time, written ?? time);
      const last = ranges.at(-1);
      if (last && from <= last[1] + 1e-3) last[1] = Math.max(last[1], to);
      else ranges.push([from, to]);
    }
    return ranges;
  }

  said(stretches) {
    const number = (time) => this.#lines.findLast((bar) => bar[0] <= time + 1e-3)?.[1] ?? this.#lines[0]?.[1] ?? 1;
    return "Looping " + stretches.map(([from, to]) => (number(to - 0.01) > number(from) ? `bars ${number(from)}–${number(to - 0.01)}` : `bar ${number(from)}`)).join(", ") + ".";
  }

  nameOf(time) {
    const last = this.#sheet.beats.findLast((beat) => beat[0] <= time + 1e-6);
    return last && last[1] >= 1 ? `bar ${last[1]}, beat ${last[2]}` : "before bar 1";
  }
}
