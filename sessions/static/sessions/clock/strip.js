// The clock on an athlete's phone: where to be now and next, while a class of theirs runs.

import { formatWords, leftSeconds, moment, nextStep, onTheClock, overMs, placeOf, roundAt, shapeAt, timeWords } from "./clock.js";
import { everySecond, follow, write } from "./follow.js";

const FAST_MS = 2_000;
const SLOW_MS = 8_000; // so that a class is on the phone before its ten seconds of getting ready are over
const DONE_MS = 60_000; // for as long as it says that the class is over
const WORDS = { ready: "Get ready", work: "Work", rest: "Rest", over: "Done" };

const strip = document.querySelector("[data-strip]");
const part = Object.fromEntries([...strip.querySelectorAll("[data-part]")].map((node) => [node.dataset.part, node]));
let run = null;
let connected = true;
let plan = null;
let planned = ""; // what the plan was asked for
let offered = ""; // for which part the beginnings are offered
let signals;
let cue;

const draw = everySecond(show);
const follower = follow(strip.dataset.url, { fastMs: FAST_MS, slowMs: SLOW_MS, heard });

function heard(fresh, answered) {
  run = fresh;
  connected = answered;
  const wanted = run ? `${run.key} ${run.plan}` : "";
  if (wanted && wanted !== planned && answered) fetchPlan(wanted);
  draw();
}

async function fetchPlan(wanted) {
  const answer = await fetch(`${strip.dataset.url}plan/`, { cache: "no-store" }).catch(() => null);
  if (!answer?.ok) return; // asked for again with the next news
  planned = wanted;
  plan = (await answer.json()).plan;
  offered = "";
  if (!signals) useSignals(await import("./signals.js"));
  draw();
}

function useSignals(module) {
  signals = module;
  cue = signals.cueing();
  signals.switches(strip);
}

// Whoever begins somewhere else than the board says, says so here, for this class.
function offerStarts(at, shape) {
  const key = `${run.key} ${at.part}`;
  if (offered === key) return;
  offered = key;
  const own = partAt(at);
  part.begin.hidden = !own.stations || !onTheClock(shape);
  part.start.dataset.key = key;
  const begin = chosen(key) ?? `${own.group} ${own.turn}`;
  const choices = (own.stations ?? []).flatMap(([movement], group) =>
    [...Array(shape.partners).keys()].map((turn) => {
      const words = `${group + 1} ${movement}${turn ? ", second of two" : ""}`;
      return new Option(words, `${group} ${turn}`, false, `${group} ${turn}` === begin);
    }),
  );
  part.start.replaceChildren(...choices);
}

part.start.addEventListener("change", () => {
  chosen(part.start.dataset.key, part.start.value);
  draw();
});

// The beginning chosen for a class, until the browser is closed; `value` chooses it.
function chosen(key, value) {
  try {
    if (value) sessionStorage.setItem(key, value);
    return sessionStorage.getItem(key);
  } catch {
    return null; // a browser that keeps nothing
  }
}

// Draws this second; the milliseconds until the next one.
function show() {
  const now = follower.now();
  const at = run && plan && moment(run.shape, run.starts_ms, run.changes, now);
  const shown = Boolean(at) && (at.phase !== "over" || now - overMs(run.shape, run.starts_ms, run.changes) < DONE_MS);
  strip.hidden = !shown;
  signals?.keepAwake(shown && at.phase !== "over");
  if (!shown) return 0;
  tell(at);
  return at.left_ms % 1000 || 1000;
}

// What this athlete does in the part that is on: stations, or words alone.
function partAt(at, ahead = 0) {
  return plan.parts ? plan.parts[at.part + ahead] : ahead ? undefined : plan;
}

function tell(at) {
  const shape = shapeAt(run.shape, at);
  offerStarts(at, shape);
  const own = partAt(at);
  if (own.stations && onTheClock(shape)) tellStations(at, shape, own);
  else tellWhole(at, shape, own);
  write(part.part, partWords(at));
  write(part.left, at.phase === "over" ? "" : timeWords(shape, at));
  part.unit.hidden = part.left.textContent.includes(":");
  write(part.link, connected ? "" : "No connection: the clock goes on by itself.");
  write(part.said, [part.phase, part.now, part.dose].map((node) => node.textContent).filter(Boolean).join(", "));
}

// Words alone, or what is done without intervals.
function tellWhole(at, shape, own) {
  const paused = at.state === "paused";
  const over = at.phase === "over";
  strip.dataset.phase = paused ? "paused" : at.phase;
  write(part.phase, paused ? "Paused" : over ? WORDS.over : own.stations ? wholeWords(at, shape) : `part ${at.part + 1} of ${plan.parts.length}`);
  write(part.round, "");
  write(part.now, over ? "The class is over." : own.stations ? (own.expected ?? own.name) : own.title);
  write(part.dose, "");
  write(part.next, over ? "" : own.stations ? stationsWords(own) : own.words);
  cue?.({ phase: at.phase, state: at.state, step: `${at.part}`, left: leftSeconds(at), works: Boolean(partAt(at, 1)) });
}

function wholeWords(at, shape) {
  return at.phase === "ready" ? WORDS.ready : formatWords(shape);
}

function stationsWords(own) {
  return own.stations.map(([movement, dose]) => `${dose} ${movement}`).join(", ");
}

// Which part of the class is on, and which comes then.
function partWords(at) {
  if (!plan.parts || at.phase === "over") return "";
  const next = partAt(at, 1);
  return `${partAt(at).heading}${next ? `, then ${next.heading}` : ""}`;
}

function tellStations(at, shape, own) {
  const [group, partner] = part.start.value.split(" ").map(Number);
  const place = placeOf(shape, at, group, partner);
  const paused = at.state === "paused";
  const over = at.phase === "over";
  const resting = place.phase === "rest" && place.next !== null; // then what comes is what matters
  const shown = resting ? place.next : place.station;
  const [movement] = own.stations[shown];
  const next = nextStep(shape, at, partner);
  const nextRound = next === null ? at.round : roundAt(shape, next);
  strip.dataset.phase = paused ? "paused" : place.phase;
  write(part.phase, paused ? "Paused" : WORDS[place.phase]);
  write(part.round, ` · round ${at.round} of ${at.rounds}`);
  write(part.now, over ? "The class is over." : `${resting ? "Next: " : ""}${shown + 1} ${movement}`);
  write(part.dose, over ? "" : doseIn(own, shown, resting ? nextRound : at.round));
  write(part.next, over ? "" : thenWords(own, place, nextRound));
  const step = `${at.part} ${at.step}`;
  cue?.({ phase: place.phase, state: at.state, step, left: leftSeconds(at), works: place.works });
}

// The dose at a station in a round; whoever does the first rounds only rests after them.
function doseIn(own, station, round) {
  const [, dose, rounds = Infinity] = own.stations[station];
  return round > rounds ? "rest: your rounds here are done" : dose;
}

function thenWords(own, { phase, mine, next }, round) {
  if (phase === "ready") return mine ? "You begin here." : "Your partner begins.";
  if (phase === "rest" && !mine) return "Your partner works now.";
  if (phase === "rest") return next === null ? "That was the last one." : "";
  return next === null ? "The last one." : `then ${next + 1} ${own.stations[next][0]} · ${doseIn(own, next, round)}`;
}
