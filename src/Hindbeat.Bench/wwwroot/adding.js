// Recordings brought to the library: dropped anywhere on the page or chosen, sent with progress and a way to stop.

export function open(root, largest) {
  const ended = new AbortController();
  const on = (target, kind, act) => target.addEventListener(kind, act, { signal: ended.signal });
  const list = root.querySelector("[data-sending]");
  const choose = root.querySelector("[data-choose]");
  const take = (files) => [...files].forEach((file) => send(file, list, largest));

  on(choose, "change", () => {
    take(choose.files);
    choose.value = "";
  });
  on(document, "dragover", (event) => {
    if (!event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    root.classList.add("over");
  });
  on(document, "dragleave", (event) => event.relatedTarget === null && root.classList.remove("over"));
  on(document, "drop", (event) => {
    event.preventDefault();
    root.classList.remove("over");
    take(event.dataTransfer.files);
  });
  root.setAttribute("data-live", "");
  return { close: () => ended.abort() };
}

async function send(file, list, largest) {
  const line = new Line(file.name, list);
  if (file.size > largest) return line.fail(`The file is larger than ${Math.round(largest / 2 ** 20)} MB; cut out the passage first.`);
  try {
    let answer = await post(file, file.name, line);
    if (answer.status === 422) {
      // What the server cannot read this browser perhaps can (FLAC, M4A and films, when ffmpeg is not installed).
      line.say("decoding it in the browser");
      const wav = await decode(file);
      if (wav) answer = await post(wav, file.name, line);
    }
    if (answer.status === 202) line.close();
    else line.fail(answer.text || `The answer was ${answer.status}.`);
  } catch (error) {
    if (error.name === "AbortError") line.close();
    else line.fail(error.message);
  }
}

async function post(body, name, line) {
  const token = await (await fetch("/add/token")).text();
  return new Promise((done, failed) => {
    // Not fetch: only this tells how much has been sent.
    const request = new XMLHttpRequest();
    request.open("POST", `/add?name=${encodeURIComponent(name)}`);
    request.setRequestHeader("RequestVerificationToken", token);
    request.setRequestHeader("Content-Type", "application/octet-stream");
    request.upload.onprogress = (event) => event.lengthComputable && line.at(event.loaded / event.total);
    request.onload = () => done({ status: request.status, text: request.responseText });
    request.onerror = () => failed(new Error("It could not be sent: Hindbeat does not answer, or refused it."));
    request.onabort = () => failed(new DOMException("Stopped.", "AbortError"));
    line.onCancel = () => request.abort();
    request.send(body);
  });
}

/** The sound as a WAV of 16 bits; null when this browser cannot read it either. */
async function decode(file) {
  try {
    // A context of the common rate: the browser would otherwise resample to that of the loudspeaker.
    const context = new OfflineAudioContext(2, 1, 44100);
    const sound = await context.decodeAudioData(await file.arrayBuffer());
    return wavOf(sound);
  } catch {
    return null;
  }
}

export function wavOf(sound) {
  const channels = Math.min(2, sound.numberOfChannels);
  const bytes = 2 * channels * sound.length;
  const view = new DataView(new ArrayBuffer(44 + bytes));
  const text = (at, letters) => [...letters].forEach((letter, i) => view.setUint8(at + i, letter.charCodeAt(0)));
  text(0, "RIFF");
  view.setUint32(4, 36 + bytes, true);
  text(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true);
  view.setUint16(22, channels, true);
  view.setUint32(24, sound.sampleRate, true);
  view.setUint32(28, sound.sampleRate * 2 * channels, true);
  view.setUint16(32, 2 * channels, true);
  view.setUint16(34, 16, true);
  text(36, "data");
  view.setUint32(40, bytes, true);
  const data = Array.from({ length: channels }, (_, i) => sound.getChannelData(i));
  for (let i = 0, at = 44; i < sound.length; i++)
    for (const channel of data) {
      view.setInt16(at, Math.max(-1, Math.min(1, channel[i])) * 32767, true);
      at += 2;
    }
  return new Blob([view.buffer], { type: "audio/wav" });
}

/** One file on its way, as a line of the list. */
class Line {
  onCancel = () => {};
  #item = document.createElement("li");
  #bar = document.createElement("progress");
  #words = document.createElement("span");
  #button = document.createElement("button");

  constructor(name, list) {
    const title = document.createElement("span");
    title.className = "job-name";
    title.textContent = name;
    this.#bar.max = 1;
    this.#bar.value = 0;
    this.#bar.setAttribute("aria-label", name);
    this.#words.textContent = "sending";
    this.#button.type = "button";
    this.#button.textContent = "Cancel";
    this.#button.onclick = () => this.onCancel();
    this.#item.append(title, this.#bar, this.#words, this.#button);
    list.append(this.#item);
  }

  at(share) {
    this.#bar.value = share;
  }

  say(words) {
    this.#words.textContent = words;
  }

  fail(reason) {
    this.#bar.remove();
    this.#words.textContent = reason;
    this.#words.className = "trouble";
    this.#words.setAttribute("role", "alert");
    this.#button.textContent = "Put away";
    this.#button.onclick = () => this.close();
  }

  close() {
    this.#item.remove();
  }
}
