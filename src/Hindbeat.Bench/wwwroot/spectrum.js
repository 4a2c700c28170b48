// The spectrogram, on request: asked for as wide as it is looked at, drawn in ink on paper, the louder the darker.

const rows = 64; // SoundEndpoints.cs
const [lowest, highest] = [40, 16000]; // Spectrogram.cs
const faintest = 60; // Values below are room and hiss; drawn, they would grey the paper.
const rest = 120; // Milliseconds of stillness before another stretch is asked for.

export const spectrumHeight = 2 * rows;

export class Spectrum {
  #address;
  #changed;
  #values = null;
  #picture = null; // { canvas, from, to, ink }
  #asked = "";
  #timer = 0;

  /** address: of the study's spectrum; changed: called when there is something new to draw. */
  constructor(address, changed) {
    this.#address = address;
    this.#changed = changed;
  }

  /** Draws the stretch [from, to] into a band of the page; what is not there yet is asked for, and the last picture stands in for it. */
  paint(pen, [from, to], top, width, ink) {
    this.#want(from, to, Math.min(2000, Math.max(1, Math.round(width))));
    const { canvas, from: first, to: last } = this.#inked(ink) ?? {};
    if (canvas) {
      const scale = width / (to - from);
      pen.save();
      pen.beginPath();
      pen.rect(0, top, width, spectrumHeight);
      pen.clip();
      pen.drawImage(canvas, (first - from) * scale, top, (last - first) * scale, spectrumHeight);
      pen.restore();
    }
    for (const [hertz, name] of [[100, "100 Hz"], [1000, "1 kHz"], [10000, "10 kHz"]]) {
      const y = Math.round(top + spectrumHeight * (1 - Math.log(hertz / lowest) / Math.log(highest / lowest))) + 0.5;
      pen.strokeStyle = ink.line;
      pen.beginPath();
      pen.moveTo(0, y);
      pen.lineTo(width, y);
      pen.stroke();
      pen.fillStyle = ink.words;
      pen.fillText(name, 4, y - 3);
    }
  }

  #want(from, to, columns) {
    const asked = `${this.#address}?from=${from}&to=${to}&columns=${columns}`;
    if (asked === this.#asked) return;
    this.#asked = asked;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(async () => {
      const answer = await fetch(asked);
      if (!answer.ok || asked !== this.#asked) return;
      this.#values = { bytes: new Uint8Array(await answer.arrayBuffer()), columns, from, to };
      this.#picture = null;
      this.#changed();
    }, this.#values ? rest : 0);
  }

  #inked(ink) {
    if (!this.#values || this.#picture?.ink === ink.dark) return this.#picture;
    const { bytes, columns, from, to } = this.#values;
    const canvas = new OffscreenCanvas(columns, rows);
    const pen = canvas.getContext("2d");
    pen.fillStyle = ink.dark;
    pen.fillRect(0, 0, 1, 1);
    const [red, green, blue] = pen.getImageData(0, 0, 1, 1).data;
    const image = pen.createImageData(columns, rows);
    for (let column = 0; column < columns; column++)
      for (let row = 0; row < rows; row++) {
        const strength = Math.max(0, bytes[column * rows + row] - faintest) / (255 - faintest);
        image.data.set([red, green, blue, 255 * Math.pow(strength, 1.5)], 4 * ((rows - 1 - row) * columns + column));
      }
    pen.putImageData(image, 0, 0);
    return (this.#picture = { canvas, from, to, ink: ink.dark });
  }
}
