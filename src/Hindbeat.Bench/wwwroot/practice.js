// Plays something and takes in what is played to it, both on one audio clock.

const leadSeconds = 0.15; // A start set in the past would be cut.
const clockMilliseconds = 40; // The two clocks are compared so often: one comparison errs by a millisecond or two, a line through hundreds does not.
const even = 0.001; // Seconds a millisecond.
const clocksApart = 1e-4; // Quartz clocks differ by less (common practice, no source); what looks like more is an interruption.
const settleSeconds = 0.3; // What an input gives in its first moments is its own switching on.

/** Nothing that a browser does to speech may be done to drums. */
const plain = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };

export class Practice {
  onLevel = () => {};
  #context = null;
  #gain;
  #loaded;
  #stream = null;
  #device;
  #capture;
  #blocks = null;
  #source = null;
  #startedAt = 0;
  #clocks = [];
  #notes = [];

  get rate() {
    return this.#context.sampleRate;
  }

  async open() {
    if (!this.#context) {
      this.#context = new AudioContext({ latencyHint: "interactive" });
      this.#gain = new GainNode(this.#context);
      this.#gain.connect(this.#context.destination);
      this.#loaded = this.#context.audioWorklet.addModule("/capture.js");
    }
    await this.#context.resume();
  }

  /** Opens a microphone or another input; gives its name, as calibrations are kept under. */
  async listen(device) {
    await this.open();
    if (!this.#stream?.active || this.#device !== device) {
      this.#stream?.getTracks().forEach((track) => track.stop());
      this.#stream = await navigator.mediaDevices.getUserMedia({ audio: { ...plain, ...(device ? { deviceId: { exact: device } } : {}) } });
      this.#device = device;
      await this.#loaded;
      this.#capture?.disconnect();
      this.#capture = new AudioWorkletNode(this.#context, "capture", { numberOfOutputs: 0, channelCount: 1, channelCountMode: "explicit" });
      this.#capture.port.onmessage = ({ data }) => {
        this.#blocks?.push(data);
        this.onLevel(data[1].reduce((most, sample) => Math.max(most, Math.abs(sample)), 0));
      };
      this.#context.createMediaStreamSource(this.#stream).connect(this.#capture);
      await new Promise((done) => setTimeout(done, 1000 * settleSeconds));
    }
    return this.#stream.getAudioTracks()[0].label;
  }

  /** How many strokes the kit has told of since it is listened to. */
  get kitNotes() {
    return this.#notes.length;
  }

  /** Strokes of an electronic kit, with their own time stamps. Gives a way to stop listening: [[second since the sound began, key, velocity], …]. */
  async listenToKit() {
    await this.open();
    const access = await navigator.requestMIDIAccess();
    const inputs = [...access.inputs.values()];
    if (inputs.length === 0) throw new Error("No electronic kit is connected.");
    const notes = (this.#notes = []);
    for (const input of inputs)
      input.onmidimessage = ({ data: [status, key, velocity], timeStamp }) => {
        if ((status & 0xf0) === 0x90 && velocity > 0) notes.push([timeStamp, key, velocity]);
      };
    const watch = setInterval(() => this.#compareClocks(), clockMilliseconds);
    return () => {
      inputs.forEach((input) => (input.onmidimessage = null));
      clearInterval(watch);
      const heardAt = lineThrough(this.#clocks);
      return notes.map(([stamp, key, velocity]) => [heardAt(stamp) - this.#startedAt, key, velocity]);
    };
  }

  /** What second of the audio clock is heard at which moment of the page's clock. */
  #compareClocks() {
    const { contextTime, performanceTime } = this.#context.getOutputTimestamp();
    if (performanceTime > 0 && contextTime > 0) this.#clocks.push([performanceTime, contextTime]);
  }

  set volume(decibels) {
    this.#gain?.gain.setTargetAtTime(Math.pow(10, decibels / 20), this.#context.currentTime, 0.01);
  }

  /** Begins to play and to take in. */
  begin(buffer, ended) {
    this.#blocks = [];
    this.#clocks = [];
    this.#source = new AudioBufferSourceNode(this.#context, { buffer });
    this.#source.connect(this.#gain);
    this.#source.onended = ended;
    // On a whole frame, so that what comes in can be laid on it to the sample.
    const frame = Math.ceil((this.#context.currentTime + leadSeconds) * this.rate);
    this.#startedAt = frame / this.rate;
    this.#source.start(this.#startedAt);
  }

  /** Seconds of the sound that have been heard. */
  get place() {
    return this.#context.currentTime - (this.#context.outputLatency || this.#context.baseLatency || 0) - this.#startedAt;
  }

  /** Stops; gives what came in since the sound began, silence where nothing did. */
  end() {
    this.#source.onended = null;
    this.#source.stop();
    const first = Math.round(this.#startedAt * this.rate);
    const blocks = this.#blocks;
    this.#blocks = null;
    const last = blocks.at(-1);
    const samples = new Float32Array(Math.max(0, last ? last[0] + last[1].length - first : 0));
    for (const [frame, block] of blocks) {
      const at = frame - first;
      if (at + block.length <= 0) continue;
      samples.set(at < 0 ? block.subarray(-at) : block, Math.max(0, at));
    }
    return samples;
  }

  close() {
    this.#stream?.getTracks().forEach((track) => track.stop());
    this.#context?.close();
  }
}

/**
 * Second of the audio clock at a moment of the page's clock, from pairs [millisecond, second]: the middle of the slopes across half of
 * them, and the middle of what is left. Sound that was interrupted steps the audio clock; a line bent by that would move strokes
 * against each other, whose own time stamps are right.
 */
function lineThrough(pairs) {
  if (pairs.length === 0) throw new Error("The browser does not tell when its sound is heard, so strokes cannot be laid on it.");
  const half = pairs.length >> 1;
  const slopes = pairs.slice(half).map(([x, y], i) => (y - pairs[i][1]) / (x - pairs[i][0])).filter(Number.isFinite);
  const found = slopes.length > 0 ? middleOf(slopes) : even;
  const slope = Math.abs(found / even - 1) < clocksApart ? found : even;
  const level = middleOf(pairs.map(([x, y]) => y - slope * x));
  return (at) => level + slope * at;
}

function middleOf(numbers) {
  const sorted = [...numbers].sort((a, b) => a - b);
  return (sorted[(sorted.length - 1) >> 1] + sorted[sorted.length >> 1]) / 2;
}
