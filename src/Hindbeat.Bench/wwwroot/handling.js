// Fingers, pens and mice on the timeline: pick, move, turn into another piece, add; move beats; choose bars to loop.
import { geometry } from "./timeline.js";

const slop = 4; // Pixels a press may stray before it is a drag; WCAG 2.2's 2.5.7 asks that all of this be doable without one, see keys.js and the strip.

export class Handling {
  #view;
  #canvas;
  #sheet;
  #acts;
  #press = null;
  #fingers = new Map(); // pointerId → x
  #pinch = null; // the two fingers and the moments that they hold

  /** acts: { seek, pick, loop, moveBeat, moveStroke, addStroke, point, say } */
  constructor(canvas, view, sheet, acts, signal) {
    this.#canvas = canvas;
    this.#view = view;
    this.#sheet = sheet;
    this.#acts = acts;
    const on = (kind, act, options) => canvas.addEventListener(kind, act, { signal, ...options });
    on("pointerdown", (event) => this.#down(event));
    on("pointermove", (event) => this.#move(event));
    on("pointerup", (event) => this.#up(event));
    on("pointercancel", (event) => {
      this.#lift(event);
      this.#drop();
    });
    on("dblclick", (event) => this.#double(event));
    on(
      "wheel",
      (event) => {
        if (event.ctrlKey || event.metaKey) view.zoom(event.deltaY < 0 ? 1 : -1, view.timeAt(this.#point(event).x));
        else if (Math.abs(event.deltaX) > Math.abs(event.deltaY)) this.#pan(event.deltaX);
        else return;
        event.preventDefault();
        acts.viewed();
      },
      { passive: false },
    );
  }

  update(sheet) {
    this.#sheet = sheet;
    this.#press = null;
  }

  #point(event) {
    const box = this.#canvas.getBoundingClientRect();
    return { x: event.clientX - box.left, y: event.clientY - box.top };
  }

  #pan(pixels) {
    const [from, to] = this.#view.view;
    const by = (pixels / this.#view.width) * (to - from);
    this.#view.show(from + by, to + by);
  }

  #down(event) {
    if (event.button !== 0) return;
    const at = this.#point(event);
    const under = this.#view.under(at.x, at.y);
    this.#canvas.setPointerCapture(event.pointerId);
    this.#fingers.set(event.pointerId, at.x);
    if (this.#fingers.size > 1) return this.#grip();
    this.#press = { ...under, start: at, moved: false };
  }

  /** Two fingers take hold of the two moments under them: spread they look closer, drawn along they pan. */
  #grip() {
    this.#drop();
    const held = [...this.#fingers].slice(0, 2);
    this.#pinch = held.map(([finger, x]) => ({ finger, time: this.#view.timeAt(x) }));
  }

  #spread() {
    const [a, b] = this.#pinch.map(({ finger, time }) => ({ x: this.#fingers.get(finger), time }));
    const [from, to] = this.#view.view;
    const closest = 24; // Pixels between two fingertips that lie side by side: nearer they pan only.
    const scale = Math.abs(b.x - a.x) < closest ? (to - from) / this.#view.width : Math.abs((b.time - a.time) / (b.x - a.x));
    const start = (a.time + b.time) / 2 - ((a.x + b.x) / 2) * scale;
    this.#view.show(start, start + scale * this.#view.width);
    this.#acts.viewed();
  }

  #lift(event) {
    this.#fingers.delete(event.pointerId);
    this.#pinch = null;
  }

  #move(event) {
    const at = this.#point(event);
    const press = this.#press;
    if (this.#fingers.has(event.pointerId)) this.#fingers.set(event.pointerId, at.x);
    if (this.#pinch) return this.#spread();
    if (this.#fingers.size > 0 && !press) return;
    if (!press) {
      const under = this.#view.under(at.x, at.y);
      this.#canvas.style.cursor = under.hit != null || under.beat != null ? "grab" : under.area === "ruler" ? "col-resize" : "text";
      if (under.hit != null) this.#acts.point(under.hit);
      return;
    }
    if (!press.moved && Math.hypot(at.x - press.start.x, at.y - press.start.y) < slop) return;
    press.moved = true;
    const time = this.#view.timeAt(at.x);
    if (press.area === "ruler") this.#acts.loop(press.time, time, false);
    else if (press.area === "beats" && press.beat != null) {
      this.#view.drag = { kind: "beat", index: press.beat, time };
      this.#acts.say(`${milliseconds(time - this.#sheet.beats[press.beat][0])} from where it was`);
    } else if (press.area === "rows" && press.hit != null) {
      const row = this.#view.under(at.x, Math.max(at.y, geometry.ruler + geometry.wave + geometry.beats)).row;
      const turned = Math.abs(at.y - press.start.y) > geometry.row / 2;
      // Moved to another row a stroke is turned into that piece and keeps its moment.
      const moment = turned ? this.#sheet.hits[press.hit].time : this.#sheet.hits[press.hit].time + time - press.time;
      this.#view.drag = { kind: "stroke", index: press.hit, time: moment, row: turned ? row : press.row, turned };
      this.#acts.say(turned ? `to ${this.#sheet.rows[row][1]}` : `${milliseconds(moment - this.#sheet.hits[press.hit].time)} from where it was heard`);
    } else if (press.area === "wave") {
      this.#pan(press.start.x - at.x);
      press.start = at;
      this.#acts.viewed();
    }
    this.#view.draw();
  }

  #up(event) {
    this.#lift(event);
    const press = this.#press;
    const drag = this.#view.drag;
    this.#press = null;
    this.#view.drag = null;
    this.#view.draw();
    if (!press) return;
    if (!press.moved) {
      if (press.hit != null) this.#acts.pick(press.hit);
      else this.#acts.seek(press.time);
    } else if (press.area === "ruler") this.#acts.loop(press.time, this.#view.timeAt(this.#point(event).x), true);
    else if (drag?.kind === "beat") this.#acts.moveBeat(drag.index, drag.time);
    else if (drag?.kind === "stroke") this.#acts.moveStroke(drag.index, drag.time, drag.turned ? this.#sheet.rows[drag.row][0] : null);
  }

  #drop() {
    this.#press = null;
    this.#view.drag = null;
    this.#view.draw();
  }

  #double(event) {
    const at = this.#point(event);
    const under = this.#view.under(at.x, at.y);
    if (under.area === "rows" && under.hit == null) this.#acts.addStroke(this.#sheet.rows[under.row][0], under.time);
  }
}

export function milliseconds(seconds) {
  const value = (1000 * seconds).toFixed(1);
  return `${Number(value) > 0 ? "+" : ""}${value.replace("-", "−")} ms`;
}
