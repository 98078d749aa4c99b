// What a coach may do with a class at a moment, where it stands in words, and where it can go.

import { onTheClock, partsOf, roundSteps, shapeAt, stationOf } from "./clock.js";

const LEAST_LEFT_MS = 60_000; // of a part, so that a minute less does not end it

export function may(name, at, whole) {
  const shape = shapeAt(whole, at);
  if (name === "after") return at.part + 1 < partsOf(whole).length;
  if (name === "shorter") return at.phase !== "over" && at.left_ms > LEAST_LEFT_MS && at.length_s > 60;
  if (name === "back") return at.step > 0 || at.phase === "over";
  if (name === "next") return at.phase === "ready" || at.step + 1 < at.rounds * roundSteps(shape);
  return name === "less" ? at.rounds > at.round : true;
}

// none: not begun; on; ended: by hand, so that it can go on; over: all rounds are done.
export function whenOf(found, at) {
  if (!at) return "none";
  if (at.phase !== "over") return "on";
  const changes = [...found.changes].sort((a, b) => a[0] - b[0]);
  return changes.at(-1)?.[1] === "end" ? "ended" : "over";
}

export function whereWords(shape, at) {
  const partner = shape.partners > 1 ? (at.turn ? ", second of two" : ", first of two") : "";
  return `Round ${at.round} of ${at.rounds}, interval ${at.shift + 1} of ${shape.windows_s.length}${partner}`;
}

// Which part of the class is on, and which comes then.
export function partWords(parts, at) {
  if (parts.length < 2 || at.phase === "over") return "";
  const next = parts[at.part + 1];
  return `Part ${at.part + 1} of ${parts.length}: ${parts[at.part]?.heading}${next ? `, then ${next.heading}` : ""}`;
}

export function offerParts(goal, parts, at) {
  fill(goal, parts.length, (n) => [n, `${n + 1} ${parts[n].heading}`]);
  const shown = String(at.part);
  if (goal.dataset.on !== shown) {
    goal.dataset.on = shown;
    goal.value = shown;
  }
}

// Rounds and intervals to go to; made again only when their number or the part changes, so that an open list stays.
export function offerGoals(round, interval, stations, shape, at) {
  if (!onTheClock(shape)) return;
  if (interval.dataset.of !== String(at.part)) {
    interval.dataset.of = at.part;
    interval.replaceChildren();
  }
  fill(round, at.rounds, (n) => [n + 1, `Round ${n + 1}`]);
  fill(interval, roundSteps(shape), (n) => {
    const station = stationOf(shape, 0, Math.floor(n / shape.partners));
    const partner = shape.partners > 1 ? (n % 2 ? ", second of two" : ", first of two") : "";
    return [n, `Interval ${station + 1}${partner}: group 1 at ${stations[station]}`];
  });
}

function fill(select, count, entry) {
  if (select.options.length === count) return;
  const chosen = select.value;
  const entries = [...Array(count).keys()].map(entry);
  select.replaceChildren(...entries.map(([value, words]) => new Option(words, value, false, String(value) === chosen)));
}
