// The wall: who begins where before a class, and the clock with everyone's doses while it runs. Nobody touches it for a
// day, so it makes its columns once a plan and writes into them; without a connection it goes on alone.

import {
  clockWords, formatWords, inWords, leftSeconds, moment, onTheClock, overMs, partsOf, roundSteps, shapeAt, untilStart,
} from "../clock/clock.js";
import { everySecond, follow, timed, write } from "../clock/follow.js";
import { cueing, keepAwake, switches } from "../clock/signals.js";
import { columnsOf } from "./columns.js";

const ASK_MS = 1_000; // one screen: it may ask often, and must show the seconds of getting ready
const IDLE_MS = 2_000;
const LOOK_MS = 60_000;
const DONE_MS = 60_000;
const BOARD_S = 12; // for as long as each screen of a long board shows
const WORDS = { ready: "Get ready", work: "Work", rest: "Rest", over: "Done" };

const wall = document.querySelector("[data-wall]");
const link = wall.querySelector("[data-link]");
const part = Object.fromEntries([...wall.querySelectorAll("[data-part]")].map((node) => [node.dataset.part, node]));
const { url, board } = wall.dataset;
let plan = JSON.parse(document.getElementById("plan").textContent || "null");
let version = ""; // of the plan that is shown
let planOf = ""; // the run and revision that it is of
let asking = false;
let run = null;
let seen = "";
let lostMs = 0;
let columns = null;
let drawn = ""; // which plan, part and state the columns are of
let made = 0;

const cue = cueing();
const draw = everySecond(show);
const follower = url ? follow(url, { fastMs: ASK_MS, slowMs: IDLE_MS, heard }) : null;
const now = () => follower?.now() ?? Date.now();
const isDone = () => Boolean(run) && now() - overMs(run.shape, run.starts_ms, run.changes) >= DONE_MS;
switches(wall);
draw();
addEventListener("resize", () => ((drawn = ""), draw()));
document.fonts?.ready.then(() => ((drawn = ""), draw()));

function heard(fresh, connected, _, news) {
  run = fresh;
  seen = news ?? seen;
  lostMs = connected ? 0 : lostMs || Date.now();
  const since = new Date(lostMs).toTimeString().slice(0, 5);
  write(link, lostMs && Date.now() - lostMs > 10_000 ? `No connection since ${since}.` : "");
  if (connected) fetchPlan();
  draw();
}

// The plan of what is followed, or a minute after its end of what comes next: asked for whenever the version of the
// class, or the class, is another one.
async function fetchPlan() {
  const next = isDone() ? "?next" : "";
  const wanted = `${run?.key} ${run?.plan} ${seen} ${next}`;
  if (wanted === version || asking) return; // one at a time: an older answer never comes after a newer one
  asking = true;
  const answer = await timed(`${url}plan/${next}`, {}, follower.time).catch(() => null);
  asking = false;
  if (!answer?.ok) return; // again with the next news
  const told = await answer.json();
  plan = told.plan;
  planOf = told.of;
  if (told.seen === seen) version = wanted;
  made += 1;
  draw();
}

// Draws this second; the milliseconds until the next one.
function show() {
  const at = run && moment(run.shape, run.starts_ms, run.changes, now());
  const ready = run && planOf === `${run.key} ${run.plan}`; // never a class with the doses of another
  const on = Boolean(at && ready); // a class that is over gives way when the plan of the next one has come
  keepAwake(on && at.phase !== "over");
  if (on) showClass(at);
  else showBefore();
  return on ? at.left_ms % 1000 || 1000 : plan ? 1000 - (Math.floor(now()) % 1000) : 0;
}

// ---- before a class ----

function showBefore() {
  state("before");
  if (!plan) return;
  const inTime = plan.starts_ms && plan.starts_ms - now();
  write(part.left, plan.hour || "");
  write(part.phase, plan.name);
  write(part.then, [plan.intent, plan.shape].filter(Boolean).join(" · "));
  write(part.note, [plan.note, plan.week_note].filter(Boolean).join(" · "));
  write(part.round, inTime ? untilStart(inTime, dayOf(plan.day)) : dayOf(plan.day));
  write(part.interval, plan.board ? "" : plan.people.length ? "start under your name" : "say that you are here");
  write(part.parts, (plan.headings ?? []).map(([minutes, heading]) => `${minutes} ${heading}`).join("  ·  "));
  part.rounds.replaceChildren();
  hot(plan);
  arrange("before", plan, null);
  columns?.before(Math.floor(now() / 1000));
  waiting(plan);
  turnBoard(Math.floor(now() / 1000));
}

// today, tomorrow, or the weekday
function dayOf(day) {
  if (!day) return "";
  const zone = wall.dataset.zone;
  const today = new Intl.DateTimeFormat("en-CA", { timeZone: zone }).format(now());
  const ahead = Math.round((Date.parse(day) - Date.parse(today)) / 86_400_000);
  if (ahead === 0) return "today";
  if (ahead === 1) return "tomorrow";
  return new Intl.DateTimeFormat("en-GB", { timeZone: "UTC", weekday: "long" }).format(Date.parse(day));
}

// ---- while a class runs ----

function showClass(at) {
  const shape = shapeAt(run.shape, at);
  const own = partAt(at.part);
  state(at.state === "paused" ? "paused" : at.phase);
  head(at, shape, own);
  arrange(`${run.key} ${at.part}`, own, shape);
  columns?.draw(at, shape);
  hot(plan ?? {});
  waiting(at.phase === "over" ? {} : (own ?? {}));
  turnBoard(at.second);
}

function state(name) {
  if (wall.dataset.state !== name) wall.dataset.state = name;
}

function partAt(index) {
  return plan?.parts?.[index] ?? plan;
}

// New columns for another plan, part or size of the screen; or the words of the part, or the board of what is not on the
// clock, where everyone goes at their own speed.
function arrange(which, own, shape) {
  const wanted = `${which} ${made}`;
  if (drawn === wanted || !own) return;
  drawn = wanted;
  const inColumns = own.stations && !own.board;
  columns = inColumns ? columnsOf(part.columns, own, shape) : null;
  if (!columns) part.columns.replaceChildren();
  part.board.innerHTML = own.board ?? "";
  for (const roster of part.board.querySelectorAll(".wall-roster")) {
    roster.style.setProperty("--columns", roster.dataset.columns);
    roster.style.setProperty("--line-width", roster.dataset.lineWidth);
    roster.style.setProperty("--lines-high", roster.dataset.linesHigh);
  }
  wall.classList.toggle("is-words", !own.stations);
  wall.classList.toggle("is-board", Boolean(own.board));
  write(part.words, own.stations ? "" : own.words);
}

// A long room has several screens of its board.
function turnBoard(second) {
  const screens = [...part.board.querySelectorAll(".wall-roster")];
  screens.forEach((screen, n) => (screen.hidden = n !== Math.floor(second / BOARD_S) % screens.length));
}

function hot({ hot: isHot, intent }) {
  part.hot.hidden = !isHot;
  write(part.hot.firstElementChild, isHot ? "Hot day" : "");
  write(part.hot.lastElementChild, isHot ? `${intent} today · drink` : "");
}

// Those for whom the machines do not suffice, and those whose turn comes when the others are done.
function waiting({ waiting: here = [], later = [] }) {
  const names = here.length > 12 ? `${here.slice(0, 10).join(", ")} and ${here.length - 10} more` : here.join(", ");
  const words = here.length ? `Your coach gives you a place: ${names}` : "";
  const next = later.length ? `Second wave, when the first is done: ${later.join(", ")}` : "";
  write(part.waiting, [words, next].filter(Boolean).join("  ·  "));
}

function head(at, shape, own) {
  const words = !onTheClock(shape); // one interval: no rounds of stations
  const longest = Math.max(...shape.windows_s);
  const paused = at.state === "paused";
  write(part.left, clockWords(at));
  write(part.phase, paused ? "Paused" : at.phase === "work" && words && own ? titleOf(shape, own) : WORDS[at.phase]);
  write(part.then, thenWords(at, shape, longest, own));
  write(part.round, at.phase === "ready" ? run.hour : words ? "" : `Round ${at.round} of ${at.rounds}`);
  write(part.interval, "");
  write(part.parts, partWords(at));
  write(part.note, "");
  rounds(at, words);
  part.rule.style.setProperty("--work", longest / shape.interval_s);
  part.rule.style.setProperty("--at", at.second / shape.interval_s);
  write(part.said, [part.phase, part.round, part.then].map((node) => node.textContent).filter(Boolean).join(", "));
  cue({ phase: at.phase, state: at.state, step: `${at.part} ${at.step}`, left: leftSeconds(at), works: worksNext(at, shape) });
}

function titleOf(shape, own) {
  return shape.kind === "words" ? own.title : shape.kind === "for_time" ? "For time" : "As many rounds as fit";
}

// Where the part stands in the class, and what comes after it.
function partWords(at) {
  const all = plan?.parts ?? [];
  if (plan?.wave > 1 && at.phase !== "over" && all.length < 2) return "second wave";
  if (all.length < 2 || at.phase === "over") return "";
  const next = all[at.part + 1];
  return `part ${at.part + 1} of ${all.length}: ${all[at.part].heading}${next ? ` · then ${next.heading}` : ""}`;
}

function thenWords(at, shape, longest, own) {
  if (at.state === "paused") return "the coach has stopped the clock";
  if (at.phase === "ready") return own?.words?.replaceAll("\n", " ") || "find your station";
  if (at.phase === "over") return "the class is over";
  if (shape.kind === "words") return `until ${inWords(shape.interval_s)}`;
  if (!onTheClock(shape)) return formatWords(shape);
  if (at.phase === "work") return longest < shape.interval_s ? `rest at ${inWords(longest)}` : partnersWords(at, shape);
  const last = at.step === at.rounds * roundSteps(shape) - 1;
  if (last) return "that was the last one";
  if (at.turn < shape.partners - 1) return "partners change";
  return shape.windows_s.length > 1 ? "one station to the right, the last goes to 1" : "the same again";
}

function partnersWords(at, shape) {
  return shape.partners > 1 ? "the small name goes next" : "";
}

// One box a round, or a part where there are words alone: done, now, to come.
function rounds(at, words) {
  const count = words ? partsOf(run.shape).length : at.rounds;
  const current = words ? at.part + 1 : at.round;
  while (part.rounds.children.length > count) part.rounds.lastChild.remove();
  while (part.rounds.children.length < count) part.rounds.append(document.createElement("li"));
  [...part.rounds.children].forEach((box, n) => {
    const done = at.phase === "over" ? n < current : n + 1 < current;
    box.className = done ? "is-done" : n + 1 === current && at.phase !== "ready" ? "is-now" : "";
  });
}

// The next interval is one of work for somebody in the room.
function worksNext(at, shape) {
  return at.phase === "ready" || at.step + 1 < at.rounds * roundSteps(shape) || at.part + 1 < partsOf(run.shape).length;
}

// A reload only when the server has other scripts or words: a board that stays is better than an error page on a wall.
if (url) {
  setInterval(async () => {
    version = ""; // another class comes next, or a machine or a name is another: nothing moves a version then
    await fetchPlan();
    if (wall.dataset.state !== "before") return;
    const answer = await fetch(location.href, { method: "HEAD", cache: "no-store" }).catch(() => null);
    if (answer?.status === 410 || (answer?.ok && answer.headers.get("Board") !== board)) location.reload();
  }, LOOK_MS);
}
