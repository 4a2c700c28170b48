// Everything from the keyboard. Single letters can be turned off (WCAG 2.2, 2.1.4); a focused control keeps its own keys.

const lettersOff = "hindbeat.letters-off";

export function listen(root, acts, signal) {
  const letters = root.querySelector("[data-letters]");
  letters.checked = !remembered(lettersOff);
  letters.addEventListener("change", () => remember(lettersOff, !letters.checked), { signal });

  document.addEventListener(
    "keydown",
    (event) => {
      if (event.ctrlKey || event.metaKey) {
        if (event.key.toLowerCase() !== "z" || event.target.closest("input:not([type=range]):not([type=radio]):not([type=checkbox]), textarea")) return;
        event.preventDefault();
        acts.undo(!event.shiftKey);
        return;
      }
      if (event.altKey || event.target.closest("button, a, input, summary, textarea, select, [tabindex='0']")) return;
      const name = event.key.length === 1 ? event.key.toLowerCase() : event.key;
      if (event.key.length === 1 && event.key !== " " && !letters.checked) return;
      const act = acts.keys[(event.shiftKey && event.key.length > 1 ? "Shift+" : "") + name];
      if (!act || (event.repeat && !repeats.has(name))) return;
      event.preventDefault();
      act();
    },
    { signal },
  );
}

const repeats = new Set(["ArrowLeft", "ArrowRight", ",", ".", "+", "-"]);

// Storage may be switched off in the browser; what is remembered is then asked or shown again, which does no harm.
export function remembered(key) {
  try {
    return localStorage.getItem(key) !== null;
  } catch {
    return false;
  }
}

export function remember(key, on = true) {
  try {
    if (on) localStorage.setItem(key, "yes");
    else localStorage.removeItem(key);
  } catch {
    // See above.
  }
}
