// The page that runs a class's clock. What is pressed counts at once on this page; without a connection it waits, and
// is sent when there is one. Every press has a key of its own, so that the server keeps it once however often it comes.

import {
  clockWords,
  formatWords,
  inWords,
  leftSeconds,
  moment,
  onTheClock,
  partsOf,
  roundSteps,
  shapeAt,
} from "./clock.js";
import { everySecond, follow, write } from "./follow.js";
import { asPressed, presses } from "./presses.js";
import { cueing, keepAwake, switches } from "./signals.js";
import { may, offerGoals, offerParts, partWords, whenOf, whereWords } from "./steering.js";

const ASK_MS = 1_000;
const IDLE_MS = 2_000;
const TWICE_MS = 350;
const WORDS = { ready: "Get ready", work: "Work", rest: "Rest", over: "Done" };

const page = document.querySelector("[data-clock]");
const part = Object.fromEntries([...page.querySelectorAll("[data-part]")].map((node) => [node.dataset.part, node]));
const planned = JSON.parse(page.dataset.shape);
const parts = JSON.parse(page.dataset.parts);
let run = null;
let connected = true;
let signedOut = false;
let touched = { button: null, ms: 0 };

const cue = cueing();
const draw = everySecond(show);
const url = `${page.dataset.url}state/?hour=${encodeURIComponent(page.dataset.hour)}`;
const aheadMs = Number(page.dataset.now) - Date.now();
const follower = follow(url, { fastMs: ASK_MS, slowMs: IDLE_MS, heard, aheadMs });
const queue = presses(page, follower, draw);
switches(page);

function heard(fresh, answered, out) {
  run = fresh;
  connected = answered;
  signedOut = Boolean(out);
  if (answered) queue.send();
  draw();
}

function expected() {
  return asPressed(run, queue.waiting(), planned);
}

function standing() {
  const found = expected();
  return { found, at: found && moment(found.shape, found.starts_ms, found.changes, follower.now()) };
}

function press(kind, value = 0) {
  queue.add(kind, value, expected()?.key);
  draw();
}

const ACTIONS = {
  start: () => press("start", Number(part.ready.value)),
  toggle: (at) => press(at.state === "paused" || at.phase === "over" ? "resume" : "pause"),
  back: (at) => press("jump", at.phase === "over" ? at.step : at.step - 1),
  next: (at) => press("jump", at.phase === "ready" ? at.step : at.step + 1),
  more: (at) => press("rounds", at.rounds + 1),
  less: (at) => press("rounds", at.rounds - 1),
  go: (at, shape) => press("jump", (Number(part.round.value) - 1) * roundSteps(shape) + Number(part.interval.value)),
  longer: (at) => press("length", at.length_s + 60),
  shorter: (at) => press("length", at.length_s - 60),
  part: () => press("part", Number(part.goal.value)),
  after: (at) => press("part", at.part + 1),
  end: () => {
    part.ending.open = false;
    press("end");
  },
};

function act(name) {
  const { found, at } = standing();
  if (name === "start" || (at && may(name, at, found.shape))) ACTIONS[name](at, at && shapeAt(found.shape, at));
}

// A wet finger presses the same button twice.
function slipped(button) {
  const now = performance.now();
  const twice = touched.button === button && now - touched.ms < TWICE_MS;
  touched = { button, ms: now };
  return twice;
}

page.addEventListener("click", (event) => {
  const button = event.target.closest("[data-act]");
  if (!button || (event.detail > 0 && slipped(button))) return;
  act(button.dataset.act);
  if (event.detail > 0) button.blur(); // a finger or a mouse: the space bar goes on to pause
});

document.addEventListener("keydown", (event) => {
  const own = event.target.closest("input, select, textarea, summary, a, button");
  if (event.repeat || event.ctrlKey || event.altKey || event.metaKey || own?.matches("input, select, textarea")) return;
  const { at } = standing();
  if (event.key === " " && !own?.matches(":focus-visible") && at && at.phase !== "over") act("toggle");
  else if (event.key === "ArrowLeft" && at) act("back");
  else if (event.key === "ArrowRight" && at && at.phase !== "over") act(page.dataset.kind === "every" ? "next" : "after");
  else if (event.key === "+" && page.dataset.kind !== "every") act("longer");
  else if (event.key === "-" && page.dataset.kind !== "every") act("shorter");
  else return;
  event.preventDefault();
});

// Draws this second; the milliseconds until the next one.
function show() {
  const { found, at } = standing();
  const on = Boolean(at) && at.phase !== "over";
  const state = !at ? "none" : at.state === "paused" ? "paused" : at.phase;
  page.dataset.state = state;
  page.dataset.kind = at ? (shapeAt(found.shape, at).kind ?? "every") : "";
  showParts(whenOf(found, at), at && partsOf(found.shape).length);
  keepAwake(on);
  write(part.link, linkWords());
  if (!at) return 0;
  const shape = shapeAt(found.shape, at);
  const words = shape.kind === "words";
  write(part.left, clockWords(at));
  write(part.phase, state === "paused" ? "Paused" : words && on ? parts[at.part].title : WORDS[at.phase]);
  write(part.where, words ? `until ${inWords(shape.interval_s)}` : onTheClock(shape) ? whereWords(shape, at) : formatWords(shape));
  write(part.part, partWords(parts, at));
  write(part.toggle, state === "paused" ? "Go on" : "Pause");
  for (const button of page.querySelectorAll("[data-act]")) {
    button.setAttribute("aria-disabled", !may(button.dataset.act, at, found.shape));
  }
  offerGoals(part.round, part.interval, parts[at.part]?.stations ?? [], shape, at);
  offerParts(part.goal, parts, at);
  write(part.said, [part.phase, part.where, part.part].map((node) => node.textContent).filter(Boolean).join(", "));
  const works = worksNext(at, shape) || at.part + 1 < partsOf(found.shape).length;
  cue({ phase: at.phase, state: at.state, step: `${at.part} ${at.step}`, left: leftSeconds(at), works });
  return on ? at.left_ms % 1000 || 1000 : 0;
}

// What is for another state, another kind of part, or for a class of several parts, is left out.
function showParts(when, count) {
  for (const node of page.querySelectorAll("[data-when]")) {
    const { of = page.dataset.kind, several } = node.dataset;
    const fits = of.split(" ").includes(page.dataset.kind) && (several === undefined || count > 1);
    node.hidden = !fits || !node.dataset.when.split(" ").includes(when);
  }
}

function linkWords() {
  const count = queue.waiting().length;
  const words = count > 1 ? `${count} presses wait` : "1 press waits";
  const waiting = count ? `${words} to be sent; other screens do not know yet.` : "";
  if (queue.refused()) return queue.refused();
  if (signedOut) return `You are signed out. Sign in on another tab. ${waiting}`.trim();
  return connected ? "" : `No connection. ${waiting || "The clock goes on by itself."}`;
}

function worksNext(at, shape) {
  return at.phase === "ready" || at.step + 1 < at.rounds * roundSteps(shape);
}
