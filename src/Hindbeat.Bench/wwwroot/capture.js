// What comes in, sample by sample, with the audio clock's own frame numbers: nothing is guessed from when a message arrives.

const framesAtOnce = 1024; // A message every 21 ms: often enough for the level that is shown.

registerProcessor(
  "capture",
  class extends AudioWorkletProcessor {
    #samples = new Float32Array(framesAtOnce);
    #first = 0;
    #count = 0;
    #next = 0;

    process([[channel]]) {
      if (!channel) return true;
      // A busy browser (seen in Chromium) gives several blocks in a row one number, and the right one afterwards: laid where
      // they say they belong, they would cover each other. A number that is ahead is a true gap.
      const frame = Math.max(currentFrame, this.#next);
      if (frame > this.#next) this.#send();
      this.#next = frame + channel.length;
      if (this.#count === 0) this.#first = frame;
      this.#samples.set(channel, this.#count);
      this.#count += channel.length;
      if (this.#count === framesAtOnce) this.#send();
      return true;
    }

    #send() {
      if (this.#count === 0) return;
      const samples = this.#samples.slice(0, this.#count);
      this.port.postMessage([this.#first, samples], [samples.buffer]);
      this.#count = 0;
    }
  },
);
