// What is done to strokes and beats: picked, heard, and changed by asking the hand (StudyHand.cs).

export class Editing {
  #root;
  #sheet;
  #hand;
  #transport;
  #timeline;
  #pointing;

  constructor(root, sheet, hand, transport, timeline, pointing) {
    this.#root = root;
    this.#sheet = sheet;
    this.#hand = hand;
    this.#transport = transport;
    this.#timeline = timeline;
    this.#pointing = pointing;
  }

  update(sheet) {
    this.#sheet = sheet;
  }

  /** Asks for a change; what went wrong is said where strokes are read. */
  async ask(what, ...values) {
    const trouble = await this.#hand.invokeMethodAsync(what, ...values);
    if (trouble) this.#pointing.say(trouble);
  }

  pick(hit) {
    this.#pointing.mark(hit);
    this.#timeline.selected = hit;
    this.#timeline.draw();
    this.#transport.hear(this.#sheet.hits[hit].time);
    this.#hand.invokeMethodAsync("Pick", hit);
  }

  /** The stroke that is picked or pointed at is heard, or changed as a word says. */
  hear() {
    this.#withStroke((hit) => this.#transport.hear(hit.time));
  }

  change(what) {
    this.#withStroke((hit) => this.ask(what, hit.piece, hit.time));
  }

  shift(by) {
    this.#withStroke((hit) => this.ask("Shift", hit.piece, hit.time, hit.time + by));
  }

  nextDoubtful() {
    const hit = this.#pointing.seek((each) => each.sure < 0.5, this.#transport.place);
    if (hit === null) this.#pointing.say("No doubtful stroke is left.");
    else {
      if (!this.#transport.playing) this.#transport.moveTo(this.#sheet.hits[hit].time);
      this.pick(hit);
      this.#root.querySelector("[data-axis]").scrollIntoView({ block: "nearest" });
    }
  }

  add() {
    this.addStroke(this.#root.querySelector("[data-add-piece]").value, this.#transport.place);
  }

  addStroke(piece, time) {
    this.ask("Add", piece, time);
  }

  /** To another moment, or into another piece. */
  moveStroke(index, time, into) {
    const hit = this.#sheet.hits[index];
    if (into) this.ask("Turn", hit.piece, hit.time, into);
    else this.ask("Shift", hit.piece, hit.time, time);
  }

  moveBeat(index, time) {
    const [, bar, number] = this.#sheet.beats[index];
    this.ask("MoveBeat", bar, number, time);
  }

  /** The beat nearest to the playhead comes so much later. */
  nudgeBeat(by) {
    const place = this.#transport.place;
    const distances = this.#sheet.beats.map((beat) => Math.abs(beat[0] - place));
    const nearest = distances.indexOf(Math.min(...distances));
    this.moveBeat(nearest, this.#sheet.beats[nearest][0] + by);
  }

  #withStroke(act) {
    const index = this.#timeline.selected ?? this.#pointing.current;
    if (index === null) this.#pointing.say("Point at a stroke first, or step to one with ← and →.");
    else act(this.#sheet.hits[index]);
  }
}
