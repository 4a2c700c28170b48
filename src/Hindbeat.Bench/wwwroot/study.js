// One study's page: binds what is heard, what is drawn and what is pressed. Plain modules, loaded once the page is live;
// `sheet` is StudySheet.cs as JSON, `hand` is StudyHand.cs.
import { Dials } from "./dials.js";
import { Editing } from "./editing.js";
import { Handling } from "./handling.js";
import { listen, remember, remembered } from "./keys.js";
import { watchLeaving } from "./leaving.js";
import { Looping } from "./looping.js";
import { Playheads } from "./playheads.js";
import { Pointing } from "./pointing.js";
import { Tapping } from "./tapping.js";
import { Timeline } from "./timeline.js";
import { Transport } from "./transport.js";

const cautionSeen = "hindbeat.caution-seen";

export function open(root, sheet, hand) {
  return new Page(root, sheet, hand);
}

class Page {
  #root;
  #sheet;
  #hand;
  #ended = new AbortController();
  #transport;
  #timeline;
  #looping;
  #heads;
  #pointing;
  #editing;
  #handling;
  #dials;
  #tapping;

  constructor(root, sheet, hand) {
    this.#root = root;
    this.#sheet = sheet;
    this.#hand = hand;
    const signal = this.#ended.signal;
    this.#adoptChart();
    this.#transport = new Transport(sheet);
    const axis = root.querySelector("[data-axis]");
    this.#timeline = new Timeline(axis.querySelector("[data-timeline]"), axis.querySelector("[data-playhead]"), sheet);
    this.#looping = new Looping(root, sheet, this.#transport, this.#timeline, signal);
    this.#heads = new Playheads(root, sheet, this.#timeline);
    this.#pointing = new Pointing(root, sheet, this.#timeline, signal);
    this.#editing = new Editing(root, sheet, hand, this.#transport, this.#timeline, this.#pointing);
    this.#handling = new Handling(axis.querySelector("[data-timeline]"), this.#timeline, sheet, this.#acts(), signal);
    this.#dials = new Dials(root, this.#transport, sheet, (id) => this.#check(id), signal);
    this.#tapping = new Tapping(() => root.querySelector("[data-taps]"), (taps) => this.#editing.ask("Tapped", taps));
    this.#transport.onChange = () => this.#changed();
    this.#setVolume();
    this.#setVersion();
    root.addEventListener("click", (event) => this.#clicked(event), { signal });
    root.addEventListener("input", (event) => event.target.matches("[data-volume]") && this.#setVolume(), { signal });
    root.addEventListener("change", (event) => this.#chosen(event.target), { signal });
    // A take is about to be played (takes.js): one sound at a time, one playhead everywhere.
    document.addEventListener("hindbeat:quiet", () => this.#transport.stop(), { signal });
    document.addEventListener("hindbeat:place", (event) => this.#heads.show(event.detail, true), { signal });
    watchLeaving(root, () => this.#dials.values, signal);
    listen(root, { keys: this.#keys(), undo: (back) => this.#editing.ask("Step", back) }, signal);
    new ResizeObserver(() => {
      this.#timeline.resize();
      this.#show();
    }).observe(axis);
    root.querySelector("[data-caution]").hidden = remembered(cautionSeen);
    this.#changed();
    this.#loadSound();
    root.setAttribute("data-live", "");
  }

  /** The chart that the page was sent with, taken over as it stands (early.js). */
  #adoptChart() {
    const place = this.find("[data-adopted]");
    if (!place) return;
    const early = globalThis.hindbeatEarly;
    if (early?.chart && location.pathname === `/study/${early.study}`) place.append(early.chart);
    else this.#hand.invokeMethodAsync("DrawChart");
    if (early) early.chart = undefined;
  }

  /** The study was changed, here or elsewhere; picked is the index that the picked stroke now has. */
  update(sheet, picked = null) {
    this.#sheet = sheet;
    this.#transport.update(sheet);
    this.#timeline.update(sheet);
    this.#looping.update(sheet);
    this.#heads.update(sheet);
    this.#pointing.update(sheet);
    this.#editing.update(sheet);
    this.#handling.update(sheet);
    this.#dials.update(sheet);
    this.#setTicks();
    this.#timeline.selected = picked;
    this.#changed();
    this.#root.dataset.revision = sheet.revision;
  }

  letGo() {
    this.#timeline.selected = null;
    this.#timeline.draw();
  }

  close() {
    this.#ended.abort();
    this.#tapping.close();
    this.#transport.close();
  }

  find(selector) {
    return this.#root.querySelector(selector);
  }

  // What sounds

  async #loadSound() {
    if (!this.#sheet.original) return;
    try {
      this.#timeline.outline = await this.#transport.sounds.outline();
      this.#root.setAttribute("data-drawn", "");
      this.#timeline.sound = (await this.#transport.sounds.get({ kind: "original" })).buffer;
      this.#root.setAttribute("data-sound", "");
    } catch (error) {
      this.find("[data-trouble]").textContent = `The recording cannot be played: ${error.message}`;
    }
  }

  #setVolume() {
    const volume = this.find("[data-volume]");
    this.#transport.volume = Number(volume.value);
    volume.setAttribute("aria-valuetext", `${volume.value.replace("-", "−")} dB`);
  }

  #check(id) {
    const choice = this.find(`input[name=version][value="${id}"]`);
    if (choice) choice.checked = true;
  }

  #setVersion() {
    const choice = this.find("input[name=version]:checked");
    const slow = Number(this.find("[data-slow]")?.value ?? 100);
    if (choice.value === "original") this.#transport.choose(slow === 100 ? { kind: "original" } : { kind: "slow", percent: slow });
    else {
      if (choice.dataset.dials) this.#dials.values = choice.dataset.dials;
      this.#transport.choose({ kind: "rebuild", dials: this.#dials.values });
    }
  }

  #setTicks() {
    const piece = this.find("[data-tick]")?.value;
    this.#transport.setTicks(piece ? this.#sheet.hits.filter((hit) => hit.piece === piece).map((hit) => hit.time) : []);
  }

  #changed() {
    const { playing, waiting, trouble } = this.#transport;
    this.find("[data-play]").textContent = playing ? "Stop" : waiting ? "Wait…" : "Play";
    this.find("[data-trouble]").textContent = trouble;
    this.#root.toggleAttribute("data-playing", playing);
    this.#looping.show();
    if (playing) requestAnimationFrame(() => this.#follow());
    this.#show();
  }

  #follow() {
    if (!this.#transport.playing) return;
    this.#show();
    requestAnimationFrame(() => this.#follow());
  }

  #show() {
    const place = this.#transport.place;
    this.#heads.show(place, this.#transport.playing);
    const name = this.#looping.bars.nameOf(place);
    const where = this.find("[data-where]");
    if (where.textContent !== name) where.textContent = name;
  }

  // Hands

  #acts() {
    return {
      seek: (time) => this.#transport.moveTo(time),
      pick: (hit) => this.#editing.pick(hit),
      point: (hit) => this.#pointing.mark(hit),
      say: (words) => this.#pointing.say(words),
      viewed: () => this.#show(),
      loop: (a, b, done) => this.#looping.draw(a, b, done),
      moveBeat: (index, time) => this.#editing.moveBeat(index, time),
      moveStroke: (index, time, into) => this.#editing.moveStroke(index, time, into),
      addStroke: (piece, time) => this.#editing.addStroke(piece, time),
    };
  }

  #clicked(event) {
    const on = (selector) => event.target.closest(selector);
    if (on("[data-play]")) this.#transport.toggle();
    else if (on("[data-bar-back]")) this.#transport.moveTo(this.#looping.bars.start(-1, this.#transport.place));
    else if (on("[data-bar-on]")) this.#transport.moveTo(this.#looping.bars.start(1, this.#transport.place));
    else if (on("[data-loop]")) this.#looping.toggle();
    else if (on("[data-loop-longer]")) this.#looping.longer(Number(on("[data-loop-longer]").dataset.loopLonger));
    else if (on("[data-zoom]")) this.#zoom(Number(on("[data-zoom]").dataset.zoom));
    else if (on("[data-spectrum]")) this.#toggleSpectrum();
    else if (on("[data-cut]")) this.#editing.ask("Cut", ...this.#transport.span);
    else if (on("button[data-bar-one]")) this.#editing.ask("BarOne", this.#transport.place);
    else if (on("[data-nudge-beat]")) this.#editing.nudgeBeat(Number(on("[data-nudge-beat]").dataset.nudgeBeat));
    else if (on("[data-tap]")) this.#tapping.tap(this.#transport);
    else if (on("[data-doubtful]")) this.#editing.nextDoubtful();
    else if (on("[data-add]")) this.#editing.add();
    else if (on("[data-hear-stroke]")) this.#editing.hear();
    else if (on("[data-hear-figure]")) this.#hearFigure(on("[data-hits]"));
    else if (on("[data-blind]")) this.#hearBlind(on("[data-blind]"));
    else if (on("[data-understood]")) this.#understood();
    else if (on("[data-hit]")) this.#editing.pick(Number(on("[data-hit]").dataset.hit));
  }

  #chosen(control) {
    if (control.matches("input[name=version], [data-slow]")) {
      if (control.matches("[data-slow]")) this.#check("original");
      this.#setVersion();
    } else if (control.matches("[data-tick]")) this.#setTicks();
  }

  #hearFigure(row) {
    this.#pointing.markFigure(row);
    this.#transport.setStretches(this.#looping.bars.of(this.#pointing.strokesOf(row)));
    if (!this.#transport.playing) this.#transport.play();
  }

  async #hearBlind(button) {
    const before = this.#root.querySelector("[data-blind].chosen");
    before?.classList.remove("chosen");
    button.classList.add("chosen");
    await this.#transport.choose({ kind: "blind", ticket: button.dataset.ticket, which: button.dataset.blind });
    if (!this.#transport.playing) await this.#transport.play();
  }

  #understood() {
    this.find("[data-caution]").hidden = true;
    remember(cautionSeen);
    this.find("[data-play]").focus();
  }

  #zoom(steps) {
    if (steps === 0) this.#timeline.show(this.#sheet.from, this.#sheet.to);
    else this.#timeline.zoom(steps, this.#transport.place);
    this.#show();
  }

  #toggleSpectrum() {
    const button = this.find("[data-spectrum]");
    if (!button) return;
    const on = button.getAttribute("aria-pressed") !== "true";
    button.setAttribute("aria-pressed", String(on));
    this.find(".in-time").classList.toggle("with-spectrum", on);
    this.#timeline.spectrum = on;
    this.#show();
  }

  #nextVersion() {
    const all = [...this.#root.querySelectorAll("input[name=version]")];
    all[(all.findIndex((each) => each.checked) + 1) % all.length].checked = true;
    this.#setVersion();
  }

  #keys() {
    const transport = this.#transport;
    const shift = (by) => () => this.#editing.shift(by);
    return {
      " ": () => transport.toggle(),
      Home: () => transport.moveTo(this.#sheet.from),
      ArrowRight: () => this.#pointing.step(1, transport.place),
      ArrowLeft: () => this.#pointing.step(-1, transport.place),
      "Shift+ArrowRight": () => transport.moveTo(this.#looping.bars.start(1, this.#transport.place)),
      "Shift+ArrowLeft": () => transport.moveTo(this.#looping.bars.start(-1, this.#transport.place)),
      Enter: () => this.#pointing.current !== null && this.#editing.pick(this.#pointing.current),
      Escape: () => {
        this.#pointing.clear();
        this.#hand.invokeMethodAsync("Pick", null);
      },
      Delete: () => this.#editing.change("Delete"),
      Backspace: () => this.#editing.change("Delete"),
      c: () => this.#editing.change("Confirm"),
      ",": shift(-0.001),
      ".": shift(0.001),
      d: () => this.#editing.nextDoubtful(),
      l: () => this.#looping.toggle(),
      g: () => this.#looping.finer(),
      s: () => this.#toggleSpectrum(),
      t: () => this.#tapping.tap(transport),
      1: () => this.#editing.ask("BarOne", transport.place),
      v: () => this.#nextVersion(),
      "+": () => this.#zoom(1),
      "=": () => this.#zoom(1),
      "-": () => this.#zoom(-1),
    };
  }
}
