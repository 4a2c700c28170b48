// What comes in, sample by sample, with the audio clock's own frame numbers: nothing is guessed from when a message arrives.

const framesAtOnce = 1024; // A message every 21 ms: often enough for the level that is shown.

registerProcessor(
  "capture",
  class extends AudioWorkletProcessor {
    #samples = new Float32Array(framesAtOnce);
    #first = 0;
    #count = 0;

    process([[channel]]) {
      if (!channel) return true;
      if (this.#count === 0) this.#first = currentFrame;
      this.#samples.set(channel, this.#count);
      this.#count += channel.length;
      if (this.#count === framesAtOnce) {
        this.port.postMessage([this.#first, this.#samples], [this.#samples.buffer]);
        this.#samples = new Float32Array(framesAtOnce);
        this.#count = 0;
      }
      return true;
    }
  },
);
