// Where a class stands, from the shape of its parts, its start and the changes since: sessions/clock/moment.py once more, so
// that screens go on alone when the network drops. Both are held to tests/clock/clock_cases.json.
//
// shape: {windows_s, interval_s, rounds, partners, ready_s, kind, parts, main}; changes: [[at_ms, kind, value], …]; all
// moments in whole milliseconds since 1970.

const FORGOTTEN_MS = 3_600_000;
const CIRCUIT = "every";

export function moment(shape, startMs, changes, nowMs) {
  const now = Math.floor(nowMs);
  const course = on(courseOf(shape, startMs, changes.filter(([at]) => at <= now)), now);
  const part = course.parts[course.part];
  const position = course.positions[course.part];
  const interval = 1000 * part.interval_s;
  const steps = roundSteps(part);
  const over = isOver(course);
  const step = Math.min(Math.floor(position / interval), part.rounds * steps - 1); // when done, the last one
  const spent = over || course.leadMs ? 0 : position - step * interval;
  const phase = over ? "over" : course.leadMs ? "ready" : phaseAt(part, spent);
  return {
    state: over || (course.running && course.leadMs) ? phase : course.running ? "running" : "paused",
    phase,
    round: roundAt(part, step),
    rounds: part.rounds,
    step,
    shift: Math.floor((step % steps) / part.partners),
    turn: step % part.partners,
    second: Math.floor(spent / 1000),
    left_ms: over ? 0 : course.leadMs || interval - spent,
    part: course.part,
    length_s: part.interval_s,
  };
}

// When the class is over if nothing more is pressed.
export function overMs(shape, startMs, changes) {
  const course = courseOf(shape, startMs, changes);
  if (course.ended) return course.atMs;
  if (!course.running) return course.atMs + allMs(course) + FORGOTTEN_MS;
  const coming = course.parts.slice(course.part + 1);
  const later = coming.reduce((sum, part) => sum + totalMs(part) + 1000 * part.ready_s, 0);
  return course.atMs + course.leadMs + totalMs(course.parts[course.part]) - course.positions[course.part] + later;
}

// The parts of a class in order; a circuit alone is one part.
export function partsOf(shape) {
  return shape.parts?.length ? shape.parts : [shape];
}

// Whether half the intervals of the circuit have begun: the next start is the next wave's, not the same again.
export function isHalfDone(shape, at) {
  const main = shape.main ?? 0;
  return at.part > main || (at.part === main && 2 * (at.step + 1) >= at.rounds * roundSteps(partsOf(shape)[at.part]));
}

// The shape of the part that is on.
export function shapeAt(shape, at) {
  return { ...partsOf(shape)[at.part], interval_s: at.length_s };
}

// The shape of a class in which everyone has `readyS` seconds to get ready before a circuit.
export function withReady(shape, readyS) {
  const spare = (part) => (part.ready_s > shape.ready_s ? Math.max(part.ready_s, readyS) : readyS);
  const parts = (shape.parts ?? []).map((part) => (part.ready_s ? { ...part, ready_s: spare(part) } : part));
  return { ...shape, ready_s: readyS, parts };
}

// Seconds to get ready in before the class begins.
export function leadSeconds(shape) {
  return partsOf(shape)[0].ready_s;
}

// Seconds left: the last one is 1.
export function leftSeconds(at) {
  return Math.ceil(at.left_ms / 1000);
}

// Whether stations change by the clock; words, and what is for time or as many rounds as fit, have one interval.
export function onTheClock(shape) {
  return (shape.kind ?? CIRCUIT) === CIRCUIT;
}

// What every clock shows: the time since the interval began, 0:33, and before it −9, −8, … so that it counts one way,
// and "finish by 0:42" is a moment on it.
export function clockWords(at) {
  if (at.phase === "over") return "";
  return at.phase === "ready" ? `−${leftSeconds(at)}` : inWords(at.second);
}

// When a class begins, from the milliseconds until then: in 6 min, now, or the `day` where it is not soon.
export function untilStart(ms, day) {
  const minutes = Math.ceil(ms / 60_000);
  if (minutes <= 0) return "now";
  return minutes <= 90 ? `in ${minutes} min` : day;
}

// What a part that is neither on the clock nor words is called, and how long it goes on.
export function formatWords(shape) {
  const limit = inWords(shape.interval_s);
  return shape.kind === "for_time" ? `For time, cap ${limit}` : `As many rounds as fit in ${limit}`;
}

export function inWords(seconds) {
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

// The station, from 0, of a group after everyone has moved on `shift` times.
export function stationOf(shape, group, shift) {
  return (group + shift) % shape.windows_s.length;
}

// One athlete's own part in a moment: their station, whether they work, and the station of their next work (or null).
// `partner`: which of two they are, from 0; the other one's interval is rest (`mine` false).
export function placeOf(shape, at, group, partner) {
  const station = stationOf(shape, group, at.shift);
  const mine = at.turn === partner;
  const work = mine && at.second < shape.windows_s[station] ? "work" : "rest";
  const step = nextStep(shape, at, partner);
  const shift = Math.floor((step % roundSteps(shape)) / shape.partners);
  return {
    station,
    mine,
    phase: at.phase === "ready" || at.phase === "over" ? at.phase : work,
    next: step === null ? null : stationOf(shape, group, shift),
    works: step === (at.phase === "ready" ? at.step : at.step + 1), // the next interval is theirs
  };
}

// The next interval in which a partner works, or null when there is none.
export function nextStep(shape, at, whose) {
  const partner = Math.min(whose, shape.partners - 1);
  let step = at.phase === "ready" ? at.step : at.step + 1;
  while (step % shape.partners !== partner) step += 1;
  return at.phase === "over" || step >= at.rounds * roundSteps(shape) ? null : step;
}

// The round, from 1, of an interval.
export function roundAt(shape, step) {
  return Math.floor(step / roundSteps(shape)) + 1;
}

export function roundSteps(shape) {
  return shape.windows_s.length * shape.partners;
}

function courseOf(shape, startMs, changes) {
  const parts = partsOf(shape);
  const leadMs = 1000 * leadSeconds(shape);
  let course = { atMs: startMs - leadMs, part: 0, positions: parts.map(() => 0), leadMs, parts };
  Object.assign(course, { running: true, ended: false });
  for (const change of [...changes].sort((a, b) => a[0] - b[0])) {
    course = changed(on(course, Math.max(change[0], course.atMs)), change);
  }
  return course;
}

// The same course told from `atMs` on: when a part is done, the next one begins.
function on(course, atMs) {
  let spent = atMs - course.atMs;
  if (!course.running) return { ...course, atMs, ended: course.ended || spent >= allMs(course) + FORGOTTEN_MS };
  let { part, leadMs } = course;
  const positions = [...course.positions];
  for (;;) {
    const total = totalMs(course.parts[part]);
    const waited = Math.min(leadMs, spent);
    spent = Math.max(spent - leadMs, 0);
    leadMs -= waited;
    const left = Math.max(total - positions[part], 0);
    if (leadMs || spent < left || part === course.parts.length - 1) {
      positions[part] = Math.min(positions[part] + spent, total);
      return { ...course, atMs, part, positions, leadMs };
    }
    spent -= left;
    positions[part] = total;
    part += 1;
    positions[part] = 0;
    leadMs = 1000 * course.parts[part].ready_s;
  }
}

function changed(course, [, kind, value]) {
  const over = isOver(course);
  const part = course.parts[course.part];
  const leadMs = 1000 * part.ready_s;
  const again = { running: true, ended: false };
  if (kind === "pause" && !over) return { ...course, running: false };
  if (kind === "resume") return { ...course, ...again };
  if (kind === "jump") {
    const position = Math.min(value, part.rounds * roundSteps(part) - 1) * 1000 * part.interval_s;
    return { ...placed(course, course.part, position), ...(over ? { ...again, leadMs } : { leadMs: 0 }) };
  }
  if (kind === "part") {
    const found = placed(course, Math.min(value, course.parts.length - 1), 0);
    return { ...found, leadMs: 1000 * found.parts[found.part].ready_s, ...(over ? again : {}) };
  }
  if (kind === "rounds") {
    // After the last round a new one begins with time to get ready.
    const more = isFinished(course) && value > part.rounds ? { leadMs } : {};
    return { ...withPart(course, { ...part, rounds: value }), ...more };
  }
  if (kind === "length" && (part.kind ?? CIRCUIT) !== CIRCUIT) {
    return withPart(course, { ...part, interval_s: value, windows_s: [value] });
  }
  return kind === "end" && !over ? { ...course, running: false, ended: true } : course;
}

function placed(course, part, position) {
  return { ...course, part, positions: put(course.positions, part, position) };
}

function withPart(course, part) {
  return { ...course, parts: put(course.parts, course.part, part) };
}

function put(list, at, value) {
  return list.map((one, n) => (n === at ? value : one));
}

function isOver(course) {
  return course.ended || isFinished(course);
}

function isFinished(course) {
  const { part, parts, positions } = course;
  return part === parts.length - 1 && positions[part] >= totalMs(parts[part]);
}

function totalMs(part) {
  return 1000 * part.interval_s * roundSteps(part) * part.rounds;
}

function allMs(course) {
  return course.parts.reduce((sum, part) => sum + totalMs(part), 0);
}

// Work for as long as any station's window is open; a single station's own is for its people to see.
function phaseAt(part, spentMs) {
  return spentMs < 1000 * Math.max(...part.windows_s) ? "work" : "rest";
}
