// Sound, vibration and a flash at the turns of the clock, each with a switch that this device remembers; and a screen
// that stays on. Sound begins with a tap, because browsers allow it from then on only.

const REDUCED = matchMedia("(prefers-reduced-motion: reduce)");
const FLASH_MS = 350;
const DEFAULTS = { sound: false, vibration: false, flash: true };
// [frequency in Hz, length in s, begin in s]
const TONES = {
  count: [[587, 0.12, 0]],
  work: [[880, 0.5, 0]],
  rest: [[440, 0.35, 0]],
  over: [[880, 0.25, 0], [659, 0.25, 0.3], [440, 0.6, 0.6]],
};
const PULSES = { count: [60], work: [350], rest: [120, 90, 120], over: [300, 120, 300, 120, 300] };

const chosen = { ...DEFAULTS, ...remembered() };
let audio;
let lock;

// A function that signals what lies between the moment it was told last and the one it is told now.
// {phase, state, step, left, works}: `works`, the next interval is one of work for whoever looks at this screen.
export function cueing() {
  let before = null;
  return (at) => {
    const cue = cueBetween(before, at);
    before = at;
    if (cue) signal(cue);
  };
}

export function cueBetween(before, at) {
  if (!before || at.state === "paused") return null;
  if (before.phase !== at.phase || before.step !== at.step) {
    if (at.phase === "work" || at.phase === "over") return at.phase;
    if (at.phase === "rest" && before.phase === "work") return "rest";
  }
  return at.works && at.left <= 3 && at.left < before.left ? "count" : null;
}

function signal(cue) {
  if (chosen.sound && audio?.state === "running") TONES[cue].forEach((tone) => beep(...tone));
  if (chosen.vibration) navigator.vibrate?.(PULSES[cue]);
  if (chosen.flash && cue !== "count" && !REDUCED.matches) {
    document.body.classList.add("is-flash");
    setTimeout(() => document.body.classList.remove("is-flash"), FLASH_MS);
  }
}

// The buttons with data-switch inside `part`: each says on or off, and is left out where the device cannot do it.
export function switches(part) {
  for (const button of part.querySelectorAll("[data-switch]")) {
    const name = button.dataset.switch;
    button.hidden = (name === "vibration" && !navigator.vibrate) || (name === "flash" && REDUCED.matches);
    show(button, name);
    button.addEventListener("click", () => {
      choose(name, !chosen[name]);
      allowSound();
      show(button, name);
      if (name !== "flash" && chosen[name]) signal("count");
    });
  }
  addEventListener("pointerdown", allowSound);
  addEventListener("keydown", allowSound);
}

function show(button, name) {
  button.setAttribute("aria-checked", chosen[name]);
  button.querySelector("[data-state]").textContent = chosen[name] ? "on" : "off";
}

function allowSound() {
  if (!chosen.sound || !window.AudioContext) return;
  audio ??= new AudioContext();
  audio.resume();
}

function beep(frequency, length, begin) {
  const [tone, volume, from] = [audio.createOscillator(), audio.createGain(), audio.currentTime + begin];
  tone.frequency.value = frequency;
  volume.gain.setValueAtTime(0, from);
  volume.gain.linearRampToValueAtTime(0.6, from + 0.01);
  volume.gain.setValueAtTime(0.6, from + length - 0.03);
  volume.gain.linearRampToValueAtTime(0, from + length);
  tone.connect(volume).connect(audio.destination);
  tone.start(from);
  tone.stop(from + length);
}

// Browsers let go of the screen whenever the page is hidden, so this is called again and again while a class runs.
export async function keepAwake(wanted) {
  if (wanted && lock === undefined && !document.hidden) {
    lock = null; // asked for
    lock = await navigator.wakeLock?.request("screen").catch(() => undefined);
    lock?.addEventListener("release", () => (lock = undefined));
  } else if (!wanted) {
    lock?.release();
  }
}

function remembered() {
  try {
    return JSON.parse(localStorage.getItem("clock-signals"));
  } catch {
    return null; // a browser that keeps nothing
  }
}

function choose(name, value) {
  chosen[name] = value;
  try {
    localStorage.setItem("clock-signals", JSON.stringify(chosen));
  } catch {
    // for this page only, then
  }
}
