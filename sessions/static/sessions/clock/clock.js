// Where a class stands, from the shape of its circuit, its start and the changes since: sessions/clock/moment.py once more, so
// that screens go on alone when the network drops. Both are held to tests/clock/clock_cases.json.
//
// shape: {windows_s, interval_s, rounds, partners, ready_s}; changes: [[at_ms, kind, value], …]; all moments in whole
// milliseconds since 1970.

const FORGOTTEN_MS = 3_600_000;

export function moment(shape, startMs, changes, nowMs) {
  const now = Math.floor(nowMs);
  const course = on(shape, courseOf(shape, startMs, changes.filter(([at]) => at <= now)), now);
  const interval = 1000 * shape.interval_s;
  const steps = roundSteps(shape);
  const over = isOver(shape, course);
  const step = Math.min(Math.floor(course.positionMs / interval), course.rounds * steps - 1); // when done, the last one
  const spent = over || course.leadMs ? 0 : course.positionMs - step * interval;
  const phase = over ? "over" : course.leadMs ? "ready" : phaseAt(shape, spent);
  return {
    state: over || (course.running && course.leadMs) ? phase : course.running ? "running" : "paused",
    phase,
    round: roundAt(shape, step),
    rounds: course.rounds,
    step,
    shift: Math.floor((step % steps) / shape.partners),
    turn: step % shape.partners,
    second: Math.floor(spent / 1000),
    left_ms: over ? 0 : course.leadMs || interval - spent,
  };
}

// When the class is over if nothing more is pressed.
export function overMs(shape, startMs, changes) {
  const course = courseOf(shape, startMs, changes);
  if (course.ended) return course.atMs;
  if (!course.running) return course.atMs + totalMs(shape, course.rounds) + FORGOTTEN_MS;
  return course.atMs + course.leadMs + totalMs(shape, course.rounds) - course.positionMs;
}

// Seconds left as screens show them: the last one is 1.
export function leftSeconds(at) {
  return Math.ceil(at.left_ms / 1000);
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
export function nextStep(shape, at, partner) {
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
  const ready = 1000 * shape.ready_s;
  let course = { atMs: startMs - ready, positionMs: 0, leadMs: ready, rounds: shape.rounds };
  Object.assign(course, { running: true, ended: false });
  for (const change of [...changes].sort((a, b) => a[0] - b[0])) {
    course = changed(shape, on(shape, course, Math.max(change[0], course.atMs)), change);
  }
  return course;
}

// The same course told from `atMs` on.
function on(shape, course, atMs) {
  const total = totalMs(shape, course.rounds);
  const spent = atMs - course.atMs;
  if (!course.running) return { ...course, atMs, ended: course.ended || spent >= total + FORGOTTEN_MS };
  const positionMs = Math.min(course.positionMs + Math.max(spent - course.leadMs, 0), total);
  return { ...course, atMs, positionMs, leadMs: Math.max(course.leadMs - spent, 0) };
}

function changed(shape, course, [, kind, value]) {
  const over = isOver(shape, course);
  const leadMs = 1000 * shape.ready_s;
  if (kind === "pause" && !over) return { ...course, running: false };
  if (kind === "resume") return { ...course, running: true, ended: false };
  if (kind === "jump") {
    const positionMs = Math.min(value, course.rounds * roundSteps(shape) - 1) * 1000 * shape.interval_s;
    return { ...course, positionMs, ...(over ? { running: true, ended: false, leadMs } : { leadMs: 0 }) };
  }
  if (kind === "rounds") {
    // After the last round a new one begins with time to get ready.
    const again = isFinished(shape, course) && value > course.rounds ? { leadMs } : {};
    return { ...course, rounds: value, ...again };
  }
  return kind === "end" && !over ? { ...course, running: false, ended: true } : course;
}

function isOver(shape, course) {
  return course.ended || isFinished(shape, course);
}

function isFinished(shape, course) {
  return course.positionMs >= totalMs(shape, course.rounds);
}

function totalMs(shape, rounds) {
  return 1000 * shape.interval_s * roundSteps(shape) * rounds;
}

// Work for as long as any station's window is open; a single station's own is for its people to see.
function phaseAt(shape, spentMs) {
  return spentMs < 1000 * Math.max(...shape.windows_s) ? "work" : "rest";
}
