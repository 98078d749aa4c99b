// The wall while a class runs: the clock, and each group where it is and where it goes next. Nobody touches it for a
// day, so it makes its lines once a class and writes into them; without a connection it goes on alone.

import { inWords, leftSeconds, moment, onTheClock, overMs, partsOf, roundSteps, shapeAt, timeWords } from "./clock.js";
import { everySecond, follow, write } from "./follow.js";
import { groupsOf } from "./groups.js";
import { cueing, keepAwake, switches } from "./signals.js";

const ASK_MS = 1_000; // one screen: it may ask often, and must show the get-ready seconds
const IDLE_MS = 2_000;
const PLAN_MS = 20_000; // doses may be changed by hand while a class runs, and late ones come
const DONE_MS = 60_000;
const BOARD_S = 12;
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
let groups = null; // of the part that is on
let grouped = ""; // which class, plan and part they are of

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
  grouped = "";
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
  const shape = shapeAt(run.shape, at);
  regroup(at, shape);
  head(at, shape);
  groups?.draw(at);
  return at.left_ms % 1000 || 1000;
}

// The part that is on: its people and stations, or its words alone.
function regroup(at, shape) {
  const now = `${planned} ${planTag} ${at.part}`;
  if (!plan || grouped === now) return;
  grouped = now;
  const own = partAt(at.part);
  groups = own.stations && onTheClock(shape) ? groupsOf(part.groups, own, shape) : null;
  if (!groups) part.groups.replaceChildren();
  part.board.innerHTML = own.board ?? ""; // off the clock: everyone's doses, as they stand on the board
  wall.classList.toggle("is-many", shape.windows_s.length > MANY);
  wall.classList.toggle("is-words", !own.stations);
  wall.classList.toggle("is-board", Boolean(own.board));
  write(part.words, own.stations ? "" : own.words);
}

function titleOf(shape, own) {
  return shape.kind === "words" ? own.title : shape.kind === "for_time" ? "For time" : "As many rounds as fit";
}

// A long room has several screens of its board.
function turnBoard(at) {
  const screens = [...part.board.querySelectorAll(".wall-roster")];
  screens.forEach((screen, n) => (screen.hidden = n !== Math.floor(at.second / BOARD_S) % screens.length));
}

function partAt(index) {
  return plan?.parts?.[index] ?? plan;
}

function head(at, shape) {
  const { hour } = run;
  const own = partAt(at.part);
  const words = !onTheClock(shape); // one interval: no rounds of stations
  const state = at.state === "paused" ? "paused" : at.phase;
  const longest = Math.max(...shape.windows_s);
  part.head.dataset.phase = state;
  write(part.left, at.phase === "over" ? "0" : timeWords(shape, at));
  write(part.name, [shape.kind === "words" || !own?.title ? plan?.name : own.heading, hour].filter(Boolean).join(" · "));
  write(part.phase, state === "paused" ? "Paused" : at.phase === "work" && words && own ? titleOf(shape, own) : WORDS[at.phase]);
  write(part.then, thenWords(at, shape, longest));
  write(part.round, words ? "" : `Round ${at.round} of ${at.rounds}`);
  write(part.interval, words ? "" : intervalWords(at, shape));
  write(part.parts, partWords(at));
  rounds(at, words);
  part.left.closest("p").classList.toggle("is-long", part.left.textContent.length > 2);
  turnBoard(at);
  part.rule.style.setProperty("--mark", (shape.interval_s > 240 ? 60 : 5) / shape.interval_s);
  part.rule.style.setProperty("--work", longest / shape.interval_s);
  part.rule.style.setProperty("--spent", at.second / shape.interval_s);
  write(part.said, [part.phase, part.round, part.interval].map((node) => node.textContent).filter(Boolean).join(", "));
  cue({ phase: at.phase, state: at.state, step: `${at.part} ${at.step}`, left: leftSeconds(at), works: worksNext(at, shape) });
}

// Where the part stands in the class, and what comes after it.
function partWords(at) {
  const all = plan?.parts ?? [];
  if (all.length < 2 || at.phase === "over") return "";
  const next = all[at.part + 1];
  return `part ${at.part + 1} of ${all.length}${next ? ` · then ${next.heading}` : ""}`;
}

function thenWords(at, shape, longest) {
  if (at.state === "paused") return "The coach has stopped the clock.";
  if (at.phase === "ready") return partAt(at.part)?.words?.replaceAll("\n", " ") || "Find your station.";
  if (at.phase === "over") return "The class is over.";
  if (shape.kind === "words") return "";
  if (!onTheClock(shape)) return `${shape.kind === "for_time" ? "cap" : "in"} ${inWords(shape.interval_s)}`;
  if (at.phase === "work") return longest < shape.interval_s ? `rest at ${inWords(shape.interval_s - longest)} left` : "";
  if (at.turn < shape.partners - 1) return "Partners change.";
  return shape.windows_s.length > 1 ? "Move on to the next station." : "The same again.";
}

function intervalWords(at, shape) {
  if (at.phase === "over" || roundSteps(shape) === 1) return "";
  const words = `interval ${at.shift + 1} of ${shape.windows_s.length}`;
  return shape.partners > 1 ? `${words}, ${at.turn ? "second" : "first"} of two` : words;
}

// One box a round, or a part where there are words alone: done, now, to come.
function rounds(at, words) {
  const count = words ? partsOf(run.shape).length : at.rounds;
  const now = words ? at.part + 1 : at.round;
  while (part.rounds.children.length > count) part.rounds.lastChild.remove();
  while (part.rounds.children.length < count) part.rounds.append(document.createElement("li"));
  [...part.rounds.children].forEach((box, n) => {
    const done = at.phase === "over" ? n < now : n + 1 < now;
    box.className = done ? "is-done" : n + 1 === now ? "is-now" : "";
  });
}

// The next interval is one of work for somebody in the room.
function worksNext(at, shape) {
  return at.phase === "ready" || at.step + 1 < at.rounds * roundSteps(shape) || at.part + 1 < partsOf(run.shape).length;
}
