// Sounds of one passage in several versions, played through Web Audio and switched in place.

const rampSeconds = 0.012; // Long enough not to click, short enough not to be heard as a fade.
const leadSeconds = 0.03; // A start set in the past would be cut; 30 ms is past any block size.

// All versions are played at one loudness, or the louder one would always seem the better. Rebuilds come at
// EBU R 128's -23 LUFS already; a recording is turned down to it, never up past its own level.
const commonLufs = -23;

export class Player {
  playing = false;
  waiting = false;
  trouble = "";
  onChange = () => {};
  #versions;
  #from;
  #to;
  #context = null;
  #gain = null;
  #decibels = -6;
  #sounds = new Map();
  #voice = null;
  #rest;
  #request = 0;

  constructor(versions, from, to) {
    this.#versions = new Map(versions.map((version) => [version.id, version]));
    this.#from = from;
    this.#to = to;
    this.#rest = from;
  }

  /** Decibels, 0 = as recorded. */
  set volume(decibels) {
    this.#decibels = decibels;
    this.#gain?.gain.setTargetAtTime(amplitude(decibels), this.#context.currentTime, 0.01);
  }

  /** The moment of the recording that is heard now, in seconds. */
  get place() {
    if (!this.#voice) return this.#rest;
    const late = this.#context.outputLatency || this.#context.baseLatency || 0;
    const heard = this.#context.currentTime - late - this.#voice.startedAt;
    if (heard < 0) return this.#rest;
    return Math.min(this.#to, follow(this.#voice.version.times, this.#voice.offset + heard, 0, 1));
  }

  toggle() {
    return this.playing || this.waiting ? this.stop() : this.play();
  }

  async play() {
    this.#context ??= this.#open();
    const request = ++this.#request;
    const version = this.#versions.get(this.version);
    this.trouble = "";
    try {
      const resumed = this.#context.resume();
      if (!this.#sounds.has(version.id)) {
        this.waiting = true;
        this.onChange();
        this.#sounds.set(version.id, await this.#fetch(version));
      }
      await resumed;
    } catch (error) {
      if (request === this.#request) {
        this.waiting = false;
        this.trouble = `This cannot be played: ${error.message}`;
        this.onChange();
      }
      return;
    }
    // Something else was asked for while the sound was on its way.
    if (request !== this.#request) return;
    this.waiting = false;
    this.#start(version);
  }

  stop() {
    this.#request++;
    this.#rest = this.place;
    this.waiting = false;
    this.playing = false;
    this.#silence();
    this.onChange();
  }

  moveTo(time) {
    const wasPlaying = this.playing;
    this.#silence();
    this.#rest = Math.max(this.#from, Math.min(this.#to, time));
    if (wasPlaying) this.#start(this.#versions.get(this.version));
    else this.onChange();
  }

  async choose(id) {
    this.version = id;
    if (!this.playing && !this.waiting) return;
    await this.play();
  }

  close() {
    this.#request++;
    this.playing = false;
    this.#silence();
    this.#context?.close();
  }

  #open() {
    const context = new AudioContext({ latencyHint: "interactive" });
    this.#gain = new GainNode(context, { gain: amplitude(this.#decibels) });
    this.#gain.connect(context.destination);
    return context;
  }

  async #fetch(version) {
    const answer = await fetch(version.address);
    if (!answer.ok) throw new Error(answer.status === 404 ? "its sound is not there." : `the answer was ${answer.status}.`);
    const loudness = Number(answer.headers.get("Hindbeat-Loudness") ?? commonLufs);
    return {
      buffer: await this.#context.decodeAudioData(await answer.arrayBuffer()),
      level: Math.min(1, amplitude(commonLufs - loudness)),
    };
  }

  #start(version) {
    const rest = this.place;
    this.#silence();
    this.#rest = rest >= this.#to - 0.02 ? this.#from : rest;
    const { buffer, level } = this.#sounds.get(version.id);
    const source = new AudioBufferSourceNode(this.#context, { buffer });
    const edge = new GainNode(this.#context, { gain: 0 });
    source.connect(edge).connect(this.#gain);
    const startedAt = this.#context.currentTime + leadSeconds;
    const offset = Math.max(0, follow(version.times, this.#rest, 1, 0));
    // From the very start nothing is cut, so nothing needs a ramp: the first stroke keeps its edge.
    edge.gain.setValueAtTime(offset < rampSeconds ? level : 0, startedAt);
    if (offset >= rampSeconds) edge.gain.linearRampToValueAtTime(level, startedAt + rampSeconds);
    source.start(startedAt, offset);
    const voice = { source, edge, version, startedAt, offset };
    source.onended = () => {
      if (this.#voice !== voice) return;
      this.#voice = null;
      this.#rest = this.#from;
      this.playing = false;
      this.onChange();
    };
    this.#voice = voice;
    this.playing = true;
    this.onChange();
  }

  #silence() {
    if (!this.#voice) return;
    const { source, edge } = this.#voice;
    this.#voice = null;
    const now = this.#context.currentTime;
    edge.gain.cancelScheduledValues(now);
    edge.gain.setValueAtTime(edge.gain.value, now);
    edge.gain.linearRampToValueAtTime(0, now + rampSeconds);
    source.stop(now + rampSeconds);
  }
}

function amplitude(decibels) {
  return Math.pow(10, decibels / 20);
}

/** Reads a rising table of pairs from one column to the other; straight between pairs and past the ends. */
export function follow(pairs, value, from, to) {
  let i = 1;
  while (i < pairs.length - 1 && pairs[i][from] < value) i++;
  const a = pairs[i - 1];
  const b = pairs[i];
  return a[to] + ((value - a[from]) / (b[from] - a[from])) * (b[to] - a[to]);
}
