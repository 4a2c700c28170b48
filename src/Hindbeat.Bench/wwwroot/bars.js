// Where bars, beats and parts of a beat begin and end, and what a moment is called.

const near = 0.15; // A press shortly after a line means the stretch before it.
const same = 1e-3; // Two moments nearer than this are one line.
const attack = 0.004; // A stroke's sound begins this much before its moment at most.
const longestLead = 0.08; // A stroke earlier than this is no stroke of the line.

const partNames = { "1/2": "½", "1/3": "⅓", "2/3": "⅔", "1/4": "¼", "3/4": "¾" };

export class Bars {
  parts = 0; // What is snapped to: 0 bars, 1 beats, 2 to 4 equal parts of a beat.
  #sheet;
  #lines; // [time, bar number] of each bar line

  constructor(sheet, parts = 0) {
    this.#sheet = sheet;
    this.parts = parts;
    this.#lines = sheet.beats.filter((beat) => beat[2] === 1);
  }

  /** Every line that is snapped to: { time, bar, beat, part }, part in words ("" on the beat). */
  get lines() {
    if (this.parts === 0) return this.#lines.map(([time, bar]) => ({ time, bar, beat: 1, part: "" }));
    const beats = this.#sheet.beats;
    const lines = [];
    beats.forEach(([time, bar, beat], index) => {
      // The last beat is as long as the one before it.
      const length = index + 1 < beats.length ? beats[index + 1][0] - time : time - (beats[index - 1]?.[0] ?? this.#sheet.from);
      for (let part = 0; part < this.parts; part++) {
        const moment = time + (part * length) / this.parts;
        if (moment < this.#sheet.to) lines.push({ time: moment, bar, beat, part: part === 0 ? "" : partNames[fraction(part, this.parts)] });
      }
    });
    return lines;
  }

  /** The line after a moment (+1) or before it (−1). */
  start(step, time) {
    const starts = this.#starts;
    if (step > 0) return starts.find((start) => start > time + same) ?? time;
    return starts.findLast((start) => start < time - Math.min(near, this.#unit / 2)) ?? this.#sheet.from;
  }

  /** From the line at or before one moment to the one at or after another. */
  around(a, b) {
    return this.#withAttack(this.#between(this.#starts, a, b));
  }

  /** A stretch with its end moved to the next line (+1) or the one before it (−1), never to nothing. */
  longer(step, [from, to]) {
    const starts = [...this.#starts, this.#sheet.to];
    const [begin, before] = [this.#nearest(from), this.#nearest(to)];
    const end = step > 0 ? starts.find((start) => start > before + same) : starts.findLast((start) => start < before - same && start > begin + same);
    return end === undefined ? [from, to] : this.#withAttack([begin, end]);
  }

  /** The whole bars that hold some strokes, neighbours joined. */
  of(hits) {
    const starts = this.#lines.map((beat) => beat[0]);
    const ranges = [];
    for (const hit of [...hits].sort((a, b) => this.#sheet.hits[a].time - this.#sheet.hits[b].time)) {
      const { written, time } = this.#sheet.hits[hit];
      const [from, to] = this.#between(starts, written ?? time, written ?? time);
      const last = ranges.at(-1);
      if (last && from <= last[1] + same) last[1] = Math.max(last[1], to);
      else ranges.push([from, to]);
    }
    return ranges.map((range) => this.#withAttack(range));
  }

  said(stretches) {
    return "Looping " + stretches.map((stretch) => this.#nameOf(stretch)).join(", ") + ".";
  }

  nameOf(time) {
    const last = this.#sheet.beats.findLast((beat) => beat[0] <= time + 1e-6);
    return last && last[1] >= 1 ? `bar ${last[1]}, beat ${last[2]}` : "before bar 1";
  }

  get #starts() {
    return this.lines.map((line) => line.time);
  }

  /** How long one stretch is, about. */
  get #unit() {
    const [first, second] = this.#starts;
    return second === undefined ? this.#sheet.to - this.#sheet.from : second - first;
  }

  #between(starts, a, b) {
    // What comes before the first line belongs to the first stretch.
    [a, b] = [Math.max(a, starts[0] ?? a), Math.max(b, starts[0] ?? b)];
    const from = starts.findLast((start) => start <= Math.min(a, b) + same) ?? this.#sheet.from;
    const to = starts.find((start) => start > Math.max(a, b) + same) ?? this.#sheet.to;
    return [Math.max(from, this.#sheet.from), Math.min(to, this.#sheet.to)];
  }

  /**
   * Both ends moved ahead of the strokes that are written on them and come early: cut on the line itself a loop would begin inside an
   * attack. Moved alike, they keep the stretch's length, so that it repeats in time.
   */
  #withAttack([from, to]) {
    const early = this.#sheet.hits
      .filter((hit) => hit.written !== null && (Math.abs(hit.written - from) < same || Math.abs(hit.written - to) < same))
      .map((hit) => hit.written - hit.time)
      .filter((lead) => lead > 0 && lead < longestLead);
    const lead = early.length === 0 ? 0 : Math.min(Math.max(...early) + attack, from - this.#sheet.from, this.#unit / 4);
    return [from - lead, to - lead];
  }

  #nearest(time) {
    return [...this.#starts, ...this.#sheet.beats.map((beat) => beat[0]), this.#sheet.to].reduce((best, start) => (Math.abs(start - time) < Math.abs(best - time) ? start : best));
  }

  #nameOf([from, to]) {
    const onBar = (time) => Math.abs(time - this.#sheet.to) < longestLead || this.#lines.some((line) => line[0] - time > -same && line[0] - time < longestLead);
    if (onBar(from) && onBar(to)) {
      const number = (time) => this.#lines.findLast((bar) => bar[0] <= time + longestLead)?.[1] ?? this.#lines[0]?.[1] ?? 1;
      const last = Math.max(number(from), number(to - longestLead - 0.01));
      return last > number(from) ? `bars ${number(from)}–${last}` : `bar ${number(from)}`;
    }
    const lines = new Bars(this.#sheet, Math.max(1, this.parts)).lines;
    const line = (time) => lines.reduce((best, each) => (Math.abs(each.time - time) < Math.abs(best.time - time) ? each : best));
    const [first, last] = [line(from), line(to)];
    const beat = (each) => `beat ${each.beat}${each.part}`;
    return `from bar ${first.bar}, ${beat(first)} to ${last.bar === first.bar ? "" : `bar ${last.bar}, `}${Math.abs(to - this.#sheet.to) < same ? "the end" : beat(last)}`;
  }
}

function fraction(part, parts) {
  return part * 2 === parts ? "1/2" : `${part}/${parts}`;
}
