// The wall while a class runs: the clock, and each group where it is and where it goes next. Nobody touches it for a
// day, so it makes its lines once a class and writes into them; without a connection it goes on alone.

import { leftSeconds, moment, overMs, roundSteps } from "./clock.js";
import { everySecond, follow, write } from "./follow.js";
import { groupsOf } from "./groups.js";
import { cueing, keepAwake, switches } from "./signals.js";

const ASK_MS = 1_000; // one screen: it may ask often, and must show the get-ready seconds
const IDLE_MS = 2_000;
const PLAN_MS = 20_000; // doses may be changed by hand while a class runs, and late ones come
const DONE_MS = 60_000;
const MANY = 6; // stations above which the clock leaves more of the wall to them
const WORDS = { ready: "Get ready", work: "Work", rest: "Rest", over: "Done" };

const wall = document.querySelector("[data-live-clock]");
const page = document.querySelector("[data-page]");
const link = document.querySelector("[data-link]");
const part = Object.fromEntries([...wall.querySelectorAll("[data-part]")].map((node) => [node.dataset.part, node]));
let run = null;
let lostMs = 0;
let plan = null;
let planned = "";
let plannedMs = 0;
let planTag = "";
let groups = null;

const cue = cueing();
const draw = everySecond(show);
const follower = follow(wall.dataset.url, { fastMs: ASK_MS, slowMs: IDLE_MS, heard });
switches(wall);

function heard(fresh, connected) {
  run = fresh;
  lostMs = connected ? 0 : lostMs || Date.now();
  const since = new Date(lostMs).toTimeString().slice(0, 5);
  write(link, lostMs && Date.now() - lostMs > 10_000 ? `No connection since ${since}.` : "");
  if (run && connected && follower.now() < overMs(run.shape, run.starts_ms, run.changes)) fetchPlan();
  draw();
}

async function fetchPlan() {
  const wanted = `${run.key} ${run.plan}`;
  if (wanted === planned && follower.now() - plannedMs < PLAN_MS) return;
  const headers = planTag && wanted === planned ? { "If-None-Match": planTag } : {};
  [planned, plannedMs] = [wanted, follower.now()];
  const answer = await fetch(`${wall.dataset.url}plan/`, { headers, cache: "no-store" }).catch(() => null);
  if (answer?.status === 304) return;
  if (!answer?.ok) {
    plannedMs = 0; // again with the next news
    return;
  }
  planTag = answer.headers.get("ETag");
  plan = (await answer.json()).plan;
  groups = plan && groupsOf(part.groups, plan, run.shape);
  wall.classList.toggle("is-many", run.shape.windows_s.length > MANY);
  draw();
}

// Draws this second; the milliseconds until the next one.
function show() {
  const now = follower.now();
  const at = run && moment(run.shape, run.starts_ms, run.changes, now);
  const shown = Boolean(at) && (at.phase !== "over" || now - overMs(run.shape, run.starts_ms, run.changes) < DONE_MS);
  wall.hidden = !shown;
  page.hidden = shown;
  document.body.classList.toggle("is-live", shown);
  keepAwake(shown && at.phase !== "over");
  if (!shown) return 0;
  head(at);
  groups?.draw(at);
  return at.left_ms % 1000 || 1000;
}

function head(at) {
  const { shape, hour } = run;
  const state = at.state === "paused" ? "paused" : at.phase;
  const longest = Math.max(...shape.windows_s);
  part.head.dataset.phase = state;
  write(part.left, at.phase === "over" ? "0" : leftSeconds(at));
  write(part.name, [plan?.name, hour].filter(Boolean).join(" · "));
  write(part.phase, state === "paused" ? "Paused" : WORDS[at.phase]);
  write(part.then, thenWords(at, longest));
  write(part.round, `Round ${at.round} of ${at.rounds}`);
  write(part.interval, intervalWords(at));
  rounds(at);
  part.rule.style.setProperty("--mark", 5 / shape.interval_s);
  part.rule.style.setProperty("--work", longest / shape.interval_s);
  part.rule.style.setProperty("--spent", at.second / shape.interval_s);
  write(part.said, `${part.phase.textContent}, ${part.round.textContent}, ${part.interval.textContent}`);
  cue({ phase: at.phase, state: at.state, step: at.step, left: leftSeconds(at), works: worksNext(at) });
}

function thenWords(at, longest) {
  if (at.state === "paused") return "The coach has stopped the clock.";
  if (at.phase === "ready") return "Find your station.";
  if (at.phase === "over") return "The class is over.";
  if (at.phase === "work") return longest < run.shape.interval_s ? `rest at ${run.shape.interval_s - longest} left` : "";
  if (at.turn < run.shape.partners - 1) return "Partners change.";
  return run.shape.windows_s.length > 1 ? "Move on to the next station." : "The same again.";
}

function intervalWords(at) {
  if (at.phase === "over" || roundSteps(run.shape) === 1) return "";
  const words = `interval ${at.shift + 1} of ${run.shape.windows_s.length}`;
  return run.shape.partners > 1 ? `${words}, ${at.turn ? "second" : "first"} of two` : words;
}

// One box a round: done, now, to come.
function rounds(at) {
  while (part.rounds.children.length > at.rounds) part.rounds.lastChild.remove();
  while (part.rounds.children.length < at.rounds) part.rounds.append(document.createElement("li"));
  [...part.rounds.children].forEach((box, n) => {
    const done = at.phase === "over" ? n < at.round : n + 1 < at.round;
    box.className = done ? "is-done" : n + 1 === at.round ? "is-now" : "";
  });
}

// The next interval is one of work for somebody in the room.
function worksNext(at) {
  return at.phase === "ready" || at.step + 1 < at.rounds * roundSteps(run.shape);
}
