// The dials beside the chart: what they say is what "by the dials" sounds like. While it sounds, moving one is heard at once:
// first a few bars around the place are made, then the whole.

const ahead = 6; // Seconds that sound while the whole is being made.

export class Dials {
  #root;
  #transport;
  #sheet;
  #asking = false;
  #again = false;

  constructor(root, transport, sheet, choose, signal) {
    this.#root = root;
    this.#transport = transport;
    this.#sheet = sheet;
    root.addEventListener(
      "input",
      (event) => {
        if (!event.target.matches?.("[data-dial]")) return;
        this.#say();
        choose("own");
        this.#hear();
      },
      { signal },
    );
  }

  update(sheet) {
    this.#sheet = sheet;
    this.#say();
  }

  get values() {
    return [...this.#root.querySelectorAll("[data-dial]")].map((dial) => `${dial.dataset.dial}=${dial.value}`).join("&");
  }

  set values(query) {
    for (const [name, value] of new URLSearchParams(query)) {
      const dial = this.#root.querySelector(`[data-dial="${name}"]`);
      if (dial) dial.value = value;
    }
    this.#say();
  }

  #say() {
    for (const dial of this.#root.querySelectorAll("[data-dial]")) {
      const percent = Math.round(100 * dial.value);
      this.#root.querySelector(`[data-dial-says="${dial.dataset.dial}"]`).textContent = `${percent}\u00a0%`;
      dial.setAttribute("aria-valuetext", `${percent} %`);
    }
  }

  /** One request at a time; what was moved meanwhile is asked for next, and what lies between is left out. */
  async #hear() {
    if (this.#asking) {
      this.#again = true;
      return;
    }
    this.#asking = true;
    do {
      this.#again = false;
      const whole = { kind: "rebuild", dials: this.values };
      const stretch = this.#around();
      if (stretch) await this.#transport.choose({ ...whole, ...stretch });
      if (this.#again) continue;
      await this.#settle(() => this.#again);
      if (!this.#again) await this.#transport.choose(whole);
    } while (this.#again);
    this.#asking = false;
  }

  /** The whole is made when the dial rests: a hand that still moves would only wait for it. */
  #settle(moved) {
    return new Promise((done) => {
      const end = performance.now() + 250;
      const look = () => (moved() || performance.now() > end ? done() : setTimeout(look, 20));
      look();
    });
  }

  /** Some seconds from the place on, ready much sooner than the whole; null when the whole is hardly longer, when bars are looped, or nothing plays. */
  #around() {
    const { from, to } = this.#sheet;
    if (!this.#transport.playing || this.#transport.stretches || to - from <= 1.5 * ahead) return null;
    const place = this.#transport.place;
    return { from: Math.max(from, place - 0.5), to: Math.min(to, place + ahead) };
  }
}
