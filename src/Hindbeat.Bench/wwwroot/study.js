// One study's page: what is heard, the playhead, and the pointing from notes to dots and back.
// Plain module, loaded by the page once it is live; `sheet` is StudySheet.cs as JSON.
import { Player } from "./player.js";
import { Playheads } from "./playheads.js";
import { Pointing } from "./pointing.js";

const cautionSeen = "hindbeat.caution-seen";

export function open(root, sheet) {
  const ended = new AbortController();
  const on = (target, kind, act) => target.addEventListener(kind, act, { signal: ended.signal });
  const find = (selector) => root.querySelector(selector);

  const player = new Player(sheet.versions, sheet.from, sheet.to);
  const heads = new Playheads(root, sheet);
  const pointing = new Pointing(root, sheet.hits, ended.signal);
  const play = find("[data-play]");
  const where = find("[data-where]");
  const trouble = find("[data-trouble]");

  player.version = root.querySelector("input[name=version]:checked").value;
  const show = () => {
    heads.show(player.place);
    where.textContent = placeName(sheet.beats, player.place);
  };
  player.onChange = () => {
    play.textContent = player.playing ? "Stop" : player.waiting ? "Wait…" : "Play";
    root.toggleAttribute("data-playing", player.playing);
    trouble.textContent = player.trouble;
    if (player.playing) requestAnimationFrame(follow);
    show();
  };
  const follow = () => {
    if (!player.playing) return;
    show();
    requestAnimationFrame(follow);
  };

  on(play, "click", () => player.toggle());
  on(find("[data-bar-back]"), "click", () => player.moveTo(barStart(sheet, player.place, -1)));
  on(find("[data-bar-on]"), "click", () => player.moveTo(barStart(sheet, player.place, 1)));
  for (const choice of root.querySelectorAll("input[name=version]"))
    on(choice, "change", () => player.choose(choice.value));

  const volume = find("[data-volume]");
  const setVolume = () => {
    player.volume = Number(volume.value);
    volume.setAttribute("aria-valuetext", `${volume.value.replace("-", "−")} dB`);
  };
  on(volume, "input", setVolume);
  setVolume();

  const axis = find("[data-axis]");
  on(axis, "click", (event) => {
    const box = axis.getBoundingClientRect();
    player.moveTo(sheet.from + ((event.clientX - box.left) / box.width) * (sheet.to - sheet.from));
  });

  on(document, "keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    // A focused control keeps its own keys.
    if (event.target.closest("button, a, input, summary, textarea, select, [tabindex='0']")) return;
    const acts = {
      " ": () => player.toggle(),
      Home: () => player.moveTo(sheet.from),
      ArrowRight: () => (event.shiftKey ? player.moveTo(barStart(sheet, player.place, 1)) : pointing.step(1, player.place)),
      ArrowLeft: () => (event.shiftKey ? player.moveTo(barStart(sheet, player.place, -1)) : pointing.step(-1, player.place)),
      Escape: () => pointing.clear(),
    };
    const act = acts[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  });

  const caution = find("[data-caution]");
  caution.hidden = remembered(cautionSeen);
  on(find("[data-understood]"), "click", () => {
    caution.hidden = true;
    remember(cautionSeen);
    play.focus();
  });

  on(window, "resize", show);
  show();
  root.setAttribute("data-live", "");
  return {
    close() {
      ended.abort();
      player.close();
    },
  };
}

function placeName(beats, time) {
  let last = null;
  for (const beat of beats) {
    if (beat[0] > time + 1e-6) break;
    last = beat;
  }
  return last ? `bar ${last[1]}, beat ${last[2]}` : "before bar 1";
}

/** The start of the next bar (+1), or of this one, or, when already there, of the one before (−1). */
function barStart(sheet, time, step) {
  const bars = sheet.beats.filter((beat) => beat[2] === 1).map((beat) => beat[0]);
  const near = 0.15; // A press shortly after a bar line means the bar before.
  if (step > 0) return bars.find((start) => start > time + 1e-3) ?? time;
  return bars.findLast((start) => start < time - near) ?? sheet.from;
}

// Storage may be switched off in the browser; the caution then shows each time, which does no harm.
function remembered(key) {
  try {
    return localStorage.getItem(key) !== null;
  } catch {
    return false;
  }
}

function remember(key) {
  try {
    localStorage.setItem(key, "yes");
  } catch {
    // See above.
  }
}
