// One line of a page that says which part of a class is on, and which comes then: filled while its clock runs.

import { formatWords, moment, onTheClock, partsOf, shapeAt, timeWords } from "./clock.js";
import { everySecond, follow, write } from "./follow.js";
import { partWords } from "./steering.js";

const FAST_MS = 2_000;
const SLOW_MS = 5_000;
const WORDS = { ready: "get ready", work: "work", rest: "rest" };

const line = document.querySelector("[data-clock-line]");
const parts = JSON.parse(line.dataset.parts);
let run = null;

const draw = everySecond(show);
const aheadMs = Number(line.dataset.now) - Date.now();
const follower = follow(line.dataset.url, { fastMs: FAST_MS, slowMs: SLOW_MS, heard, aheadMs });

function heard(fresh) {
  run = fresh;
  draw();
}

// Draws this second; the milliseconds until the next one.
function show() {
  const at = run && moment(run.shape, run.starts_ms, run.changes, follower.now());
  const on = Boolean(at) && at.phase !== "over" && partsOf(run.shape).length === parts.length;
  line.hidden = !on;
  if (!on) return 0;
  const shape = shapeAt(run.shape, at);
  const words = shape.kind === "words" && at.phase !== "ready";
  const state = at.state === "paused" ? "paused" : words ? "" : WORDS[at.phase];
  const round = onTheClock(shape) ? `round ${at.round} of ${at.rounds}` : words ? "" : formatWords(shape);
  write(line.querySelector("[data-part=left]"), timeWords(shape, at));
  write(line.querySelector("[data-part=words]"), [state, round].filter(Boolean).join(", "));
  write(line.querySelector("[data-part=part]"), partWords(parts, at));
  return at.left_ms % 1000 || 1000;
}
