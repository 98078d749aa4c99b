// The class on an athlete's phone: one card that says what now, how much, how fast, and by when, and what comes then; the
// same seconds and words as on the wall. It goes on without a network, and after a reload without one.

import { clockWords, formatWords, leftSeconds, moment, nextStep, onTheClock, overMs, placeOf, roundAt, shapeAt } from "../clock/clock.js";
import { everySecond, follow, timed, write } from "../clock/follow.js";
import { sayChanges } from "./changed.js";

const FAST_MS = 2_000;
const SLOW_MS = 3_000; // before a class: what a coach changes is here in five seconds
const DONE_MS = 10 * 60_000; // for as long as the log is asked for by itself
const KEPT_MS = 12 * 3_600_000;
const MARKS = 4; // of the ruler, in what is counted
const WORDS = { ready: "Ready", work: "Work", rest: "Rest" };

const live = document.querySelector("[data-live]");
const part = Object.fromEntries([...live.querySelectorAll("[data-part]")].map((node) => [node.dataset.part, node]));
const back = document.querySelector("[data-back]");
const switchBox = document.querySelector("[data-switches]");
const { home, athlete } = document.body.dataset;
const store = `class ${athlete}`;
let { run = null, plan = null, planOf = "", version = "", aheadMs = 0 } = remembered();
let seen = "";
let asking = false;
let connected = true;
let aside = false; // the page is looked at meanwhile
let planMs = 0; // when the plan came
let ruled = ""; // what the ruler is of
let signals;
let cue;

const draw = everySecond(show);
const follower = follow(live.dataset.url, { fastMs: FAST_MS, slowMs: SLOW_MS, heard, aheadMs });
if (plan) tellPage();
draw();

document.addEventListener("click", ({ target }) => {
  const hour = target.closest("[data-choose-hour]")?.dataset.chooseHour;
  if (hour && plan) choose(hour);
  const act = target.closest("[data-act]")?.dataset.act;
  if (act !== "more" && act !== "back") return;
  aside = act === "more";
  if (signals) switchBox.hidden = !aside;
  draw();
  scrollTo(0, 0);
  (aside ? back : live).querySelector("[data-act]").focus();
});

function heard(fresh, answered, _, news) {
  connected = answered;
  if (answered) {
    run = fresh;
    seen = news ?? seen;
    fetchPlan();
  }
  remember();
  draw();
}

// One's own part of the class, asked for whenever its version moved; then the page is asked for anew as well.
async function fetchPlan() {
  const wanted = `${run?.key} ${run?.plan} ${seen}`;
  if (wanted === version || asking) return; // one at a time: an older answer never comes after a newer one
  asking = true;
  const answer = await timed(`${live.dataset.url}plan/`, {}, follower.time).catch(() => null);
  asking = false;
  if (!answer?.ok) return; // again with the next news
  const told = await answer.json();
  const first = !version && !document.documentElement.dataset.seen; // else the page comes from this phone, and may be old
  const changed = JSON.stringify(told.plan) !== JSON.stringify(plan);
  plan = told.plan;
  planOf = told.of;
  planMs = follower.now();
  if (told.seen === seen) version = wanted;
  if (run && !signals) useSignals(await import("../clock/signals.js"));
  if (!first && changed) await freshPage();
  tellPage();
  remember();
  draw();
}

function useSignals(module) {
  signals = module;
  cue = signals.cueing();
  signals.switches(switchBox);
}

// ---- the page behind the card ----

// What is published, or changed by a coach, replaces what stands there, and a fold that is open stays open.
async function freshPage() {
  const answer = await fetch(location.pathname, { cache: "no-cache" }).catch(() => null);
  if (!answer?.ok || answer.redirected) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  for (const section of fresh.querySelectorAll("main > section[data-session]")) {
    const old = document.querySelector(`main > section[data-session="${section.dataset.session}"]`);
    if (!old) continue;
    const open = [...old.querySelectorAll("details")].map((fold) => fold.open);
    section.querySelectorAll("details").forEach((fold, n) => (fold.open = Boolean(open[n])));
    if (old.innerHTML !== section.innerHTML) old.replaceWith(document.adoptNode(section));
  }
  delete document.documentElement.dataset.seen; // from now on the page is the network's
  document.dispatchEvent(new Event("fresh-page")); // app.js says again how the logs stand
}

// Where to start, the class time, and what changed since this page was looked at last.
function tellPage() {
  const section = plan && document.querySelector(`section[data-session="${plan.session}"]`);
  sayChanges();
  if (!section?.querySelector("[data-start]")) return; // one of another page, see app.js
  const { number, words } = startOf();
  const place = section.querySelector("[data-start-number]");
  write(place, number);
  place.hidden = !number;
  write(section.querySelector("[data-start-words]"), words);
  if (plan.hour) write(section.querySelector("[data-hour]"), plan.hour);
  offerHours(section.querySelector("[data-choose]"));
}

function startOf() {
  if (plan.waits) return { number: "", words: "Your coach gives you a place." };
  if (plan.group === null) return { number: "", words: "" };
  const { movement } = plan.stations[plan.group] ?? {};
  const turn = plan.turn ? ", second of two" : "";
  const wave = plan.wave > 1 ? ", in the second wave" : "";
  const where = movement === "Rest" ? `station ${plan.group + 1}` : lower(movement);
  return { number: plan.group + 1, words: `You start at ${where}${turn}${wave}` };
}

function lower(name = "") {
  return name.charAt(0).toLowerCase() + name.slice(1);
}

// Which class somebody comes to, where there are several: it is kept at once, and can be changed until it begins.
function offerHours(box) {
  if (!box) return;
  box.hidden = plan.here;
  write(box.querySelector("[data-choose-words]"), plan.hour ? "You come at" : "When do you come?");
  for (const button of box.querySelectorAll("[data-choose-hour]")) {
    button.setAttribute("aria-pressed", String(button.dataset.chooseHour === plan.hour));
  }
}

async function choose(hour) {
  const body = new URLSearchParams({ session: plan.session, date: plan.date, hour });
  const answer = await fetch(`${home}coming/`, { method: "POST", body }).catch(() => null);
  if (answer?.ok) follower.ask();
  else alert("There is no connection. Choose again when there is one, or tell your coach.");
}

// ---- the card ----

// Draws this second; the milliseconds until the next one.
function show() {
  const now = follower.now();
  const ready = run && plan && planOf === `${run.key} ${run.plan}`; // never a class with the doses of another
  const at = ready && moment(run.shape, run.starts_ms, run.changes, now);
  const over = at?.phase === "over";
  const late = over && now - overMs(run.shape, run.starts_ms, run.changes) > DONE_MS;
  const missed = over && plan.wave < plan.now; // their own wave was over long before
  const on = Boolean(at) && !late && !missed && !(over && hasLogged());
  const shown = on && !aside;
  live.hidden = !shown;
  back.hidden = !(on && aside && !over);
  if (!on) switchBox.hidden = true;
  document.body.classList.toggle("is-live", shown);
  signals?.keepAwake(on && !over);
  if (!on) return 0;
  tell(at);
  return at.left_ms % 1000 || 1000;
}

// Whether a log of this class stands, on this phone or with the gym.
function hasLogged() {
  const words = document.querySelector(`[data-logged][data-session="${plan.session}"] [data-words]`)?.textContent ?? "";
  return /^(Logged|Kept)/.test(words);
}

// What this athlete does in the part that is on: stations, or words alone.
function partAt(at, ahead = 0) {
  return plan.parts ? plan.parts[at.part + ahead] : ahead ? undefined : plan;
}

function tell(at) {
  const shape = shapeAt(run.shape, at);
  const own = partAt(at);
  const next = at.phase === "over" && plan.wave > plan.now;
  const over = at.phase === "over" && !next;
  live.classList.toggle("is-over", over);
  part.done.hidden = !over;
  write(part.left, clockWords(at));
  write(part.part, partWords(at));
  write(part.link, connected ? "" : `No network. The clock goes on${planMs ? `; your numbers are from ${timeOf(planMs)}` : ""}.`);
  if (next) tellNext();
  else if (over) tellOver(at);
  else if (own?.stations && onTheClock(shape)) tellStations(at, shape, own);
  else tellWhole(at, shape, own ?? {});
  boxes(at, shape);
  write(part.said, [part.phase, part.now, part.dose].map((node) => node.textContent).filter(Boolean).join(", "));
}

function tellOver(at) {
  state("over");
  write(part.sum, `${plan.name} is over. Walk it off, drink something.`);
  const on = `${plan.date}.${plan.session}`;
  for (const link of part.done.querySelectorAll("a")) {
    const rpe = link.dataset.rpe ? `&rpe=${link.dataset.rpe}` : "";
    link.href = `${live.dataset.log}?on=${on}${rpe}`;
  }
  cue?.({ phase: "over", state: "over", step: "over", left: 0, works: false });
}

// The first wave is done, and the second not begun.
function tellNext() {
  state("rest");
  write(part.phase, "Next");
  write(part.round, "");
  part.card.hidden = true;
  write(part.words, "You are next: your coach starts your wave.");
  write(part.then, "");
  ruler(0, 0, 1, {});
}

// Words alone, or what is done without intervals.
function tellWhole(at, shape, own) {
  state(at.state === "paused" ? "paused" : at.phase);
  const whole = own.stations ? formatWords(shape) : (own.title ?? "");
  write(part.phase, at.state === "paused" ? "Paused" : at.phase === "ready" ? WORDS.ready : whole);
  write(part.round, own.expected ?? "");
  part.card.hidden = true;
  const list = (own.stations ?? []).map(({ movement, dose, unit, words }) => `${dose ? `${dose} ${unit ?? ""}` : words} ${movement}`.trim());
  write(part.words, own.stations ? list.join("\n") : (own.words ?? ""));
  write(part.then, "");
  ruler(0, at.second / shape.interval_s, 1, {});
  cue?.({ phase: at.phase, state: at.state, step: `${at.part}`, left: leftSeconds(at), works: Boolean(partAt(at, 1)) });
}

function tellStations(at, shape, own) {
  write(part.words, "");
  if (own.group === null || own.wave !== own.now) return tellNoPlace(at, shape, own);
  part.card.hidden = false;
  const place = placeOf(shape, at, own.group, own.turn);
  const resting = place.phase === "rest" && place.next !== null; // then what comes is what matters
  const here = resting ? place.next : place.station;
  const next = nextStep(shape, at, own.turn);
  const round = resting && next !== null ? roundAt(shape, next) : at.round;
  const dose = doseIn(own, here, round);
  state(at.state === "paused" ? "paused" : place.phase);
  write(part.phase, at.state === "paused" ? "Paused" : WORDS[place.phase]);
  write(part.round, at.phase === "ready" ? run.hour : `round ${at.round} of ${at.rounds}`);
  write(part.number, here + 1);
  write(part.go, place.phase === "ready" ? (place.mine ? "start at" : "your partner starts at") : resting ? (place.mine || shape.partners === 1 ? "go to" : "then yours") : "");
  write(part.now, dose.movement);
  tellDose(dose, place.phase !== "work");
  write(part.then, place.phase === "ready" || !resting ? thenWords(own, place, next, shape) : thenAfter(own, shape, next));
  ruler(dose.by ?? 0, at.second / shape.interval_s, shape.interval_s, resting || at.phase === "ready" ? {} : dose);
  cue?.({ phase: place.phase, state: at.state, step: `${at.part} ${at.step}`, left: leftSeconds(at), works: place.works });
}

// Nobody has given this athlete a place: the clock, and what to do about it.
function tellNoPlace(at, shape, own) {
  state(at.state === "paused" ? "paused" : "rest");
  write(part.phase, at.state === "paused" ? "Paused" : at.phase === "ready" ? WORDS.ready : "Class");
  write(part.round, at.phase === "ready" ? run.hour : `round ${at.round} of ${at.rounds}`);
  part.card.hidden = true;
  const waits = own.waits
    ? "Your coach gives you a place: the machines are all taken."
    : "You are not on the wall yet. Tell your coach that you are here.";
  const later = own.wave > own.now ? "You are in the second wave: you start when the first is done." : "";
  const done = own.wave < own.now ? "Your wave is done. Log it when you have caught your breath." : "";
  write(part.words, later || done || waits);
  write(part.then, "");
  ruler(0, at.second / shape.interval_s, 1, {});
}

// The dose at a station in a round; whoever does the first rounds only rests after them.
function doseIn(own, station, round) {
  const dose = own.stations[station];
  if (!dose.rounds || round <= dose.rounds) return dose;
  return { movement: dose.movement, words: "rest", note: "Your rounds here are done." };
}

// How a machine is set matters before the work, not in it.
function tellDose(dose, before) {
  write(part.dose, dose.dose ?? dose.words);
  part.dose.parentElement.classList.toggle("is-words", !dose.dose);
  write(part.unit, dose.unit ?? "");
  write(part.was, dose.was && dose.dose ? (dose.was.split(" ")[0] === dose.dose ? dose.was : dose.was.split(" ")[0]) : "");
  const feel = dose.words === "by feel";
  part["hold-box"].hidden = !(dose.hold || dose.rhythm || feel);
  write(part["hold-word"], feel ? "stop with" : dose.hold ? "hold" : "one every");
  write(part.hold, feel ? "3 more" : (dose.hold ?? dose.rhythm ?? ""));
  write(part["hold-unit"], feel ? "in you" : dose.hold ? dose.hold_unit : "s");
  part["by-box"].hidden = !dose.by;
  write(part["by-word"], feel ? "stop by" : "finish by");
  write(part.by, dose.by ? inMinutes(dose.by) : "");
  const change = dose.was ? `Your coach changed this: ${dose.dose} ${dose.unit ?? ""}, was ${dose.was}`.replace(" ,", ",") : "";
  write(part.note, [change, dose.note, before && dose.setting].filter(Boolean)[0] ?? "");
  part.note.classList.toggle("is-coach", Boolean(change));
}

function thenWords(own, { mine, next, phase }, step, shape) {
  if (next === null) return phase === "work" ? "the last one" : "";
  if (phase === "ready" || !mine) return thenAfter(own, shape, step);
  return `then ${oneLine(own, next, roundAt(shape, step))}`;
}

// What follows the interval that comes next.
function thenAfter(own, shape, step) {
  const after = step === null ? null : step + shape.partners;
  const stations = shape.windows_s.length;
  if (after === null || roundAt(shape, after) > run.shape.rounds) return "";
  const station = (own.group + Math.floor(after / shape.partners)) % stations;
  return `then ${oneLine(own, station, roundAt(shape, after))}`;
}

function oneLine(own, station, round) {
  const { movement, dose, unit = "", words } = doseIn(own, station, round);
  const amount = dose ? `${dose} ${unit}` : movement === "Rest" ? "" : words;
  return `${station + 1} ${movement} ${amount}`.trim();
}

// Which part of the class is on, and which comes then.
function partWords(at) {
  if (!plan.parts || at.phase === "over") return "";
  const next = partAt(at, 1);
  return `${partAt(at)?.heading ?? ""}${next ? `, then ${next.heading}` : ""}`;
}

// The interval as a ruler: thick to one's own finish, and marked in what one counts.
function ruler(by, spent, interval, dose) {
  part.rule.style.setProperty("--by", by / interval);
  part.rule.style.setProperty("--at", Math.min(1, spent));
  const look = `${by} ${dose.dose} ${dose.unit} ${interval}`;
  if (ruled === look) return;
  ruled = look;
  part.rule.querySelectorAll("b").forEach((mark) => mark.remove());
  const counts = marksOf(dose, by);
  for (const [share, words] of counts) {
    const mark = Object.assign(document.createElement("b"), { textContent: words });
    mark.style.setProperty("--x", (share * by) / interval);
    part.rule.append(mark);
  }
}

// [share of the way to the finish, words]
function marksOf({ dose, unit = "" }, by) {
  const count = Number(dose);
  if (!by || !dose || !Number.isInteger(count) || count < 2 || unit === "s") return [];
  const pieces = Math.min(MARKS, count);
  const values = [...new Set([...Array(pieces).keys()].map((n) => Math.round((count * (n + 1)) / pieces)))];
  return values.map((value) => [value / count, String(value)]);
}

function boxes(at, shape) {
  const count = onTheClock(shape) && at.phase !== "over" ? at.rounds : 0;
  while (part.boxes.children.length > count) part.boxes.lastChild.remove();
  while (part.boxes.children.length < count) part.boxes.append(document.createElement("li"));
  [...part.boxes.children].forEach((box, n) => {
    box.className = n + 1 < at.round ? "is-done" : n + 1 === at.round && at.phase !== "ready" ? "is-now" : "";
  });
}

function state(name) {
  if (live.dataset.phase !== name) live.dataset.phase = name;
}

function inMinutes(seconds) {
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

function timeOf(ms) {
  const zone = document.body.dataset.zone;
  return new Intl.DateTimeFormat("en-GB", { timeZone: zone, hour: "2-digit", minute: "2-digit" }).format(ms);
}

// ---- kept on this phone, for a reload without a network ----

function remember() {
  try {
    const aheadMs = follower.now() - Date.now();
    localStorage.setItem(store, JSON.stringify({ run, plan, planOf, aheadMs, keptMs: Date.now() }));
  } catch {
    // a browser that keeps nothing
  }
}

function remembered() {
  try {
    const kept = JSON.parse(localStorage.getItem(store)) ?? {};
    return Date.now() - kept.keptMs < KEPT_MS ? kept : {};
  } catch {
    return {};
  }
}
