// Keeps a screen with its class: asks the server what was pressed, and knows the server's time, so that all screens
// show the same second. What is known stays known without a connection, and the clock goes on by itself.

import { overMs } from "./clock.js";

const SAMPLES = 8;
const FIRST_SAMPLES = 4; // asked for quickly, so that the time is right from the beginning
const QUICK_MS = 250;
const PATIENCE_MS = 6_000;
const LONGEST_MS = 15_000;
const SIGNED_OUT = "signed out";
const MOVED_MS = 250; // the device's own clock was set, or slept: what was measured before is worth nothing

// `fastMs` while a class runs, `slowMs` otherwise, both give or take a quarter, so that a room of phones does not ask
// in step. `heard(run, connected, signedOut, seen)` comes after every answer and every failure. `aheadMs`: a first idea of
// how far the server's time is ahead, until the first answer.
export function follow(url, { fastMs, slowMs, heard, aheadMs = 0 }) {
  let run = null;
  let seen; // the version of what else is shown of the class
  let tag = "";
  let failures = 0;
  let signedOut = false;
  let turn = 0; // what was asked before a press of this page was answered is older than that answer
  let asking = false;
  let wait;
  const time = serverTime(aheadMs);

  async function ask() {
    if (asking) return;
    clearTimeout(wait);
    asking = true;
    const mine = turn;
    try {
      const answer = await timed(url, { headers: tag ? { "If-None-Match": tag } : {} }, time);
      if (answer.status === 410) return location.reload(); // the page says what to do about a link that is gone
      if (answer.status === 200 && mine === turn) learn(await answer.json(), answer.headers.get("ETag"));
      failures = 0;
      signedOut = false;
    } catch (error) {
      failures += 1;
      signedOut = error.message === SIGNED_OUT;
    }
    asking = false;
    try {
      heard(run, failures === 0, signedOut, seen);
    } finally {
      schedule(); // whatever the page makes of it, it asks again
    }
  }

  function learn(fresh, freshTag = "") {
    run = fresh.run;
    seen = fresh.seen ?? seen;
    tag = freshTag ?? "";
  }

  function schedule() {
    clearTimeout(wait);
    if (!document.hidden) wait = setTimeout(ask, pause() * (0.75 + Math.random() / 2));
  }

  function pause() {
    if (failures) return Math.min(fastMs * 2 ** failures, LONGEST_MS);
    if (time.samples() < FIRST_SAMPLES) return QUICK_MS;
    return run && overMs(run.shape, run.starts_ms, run.changes) > time.now() ? fastMs : slowMs;
  }

  addEventListener("online", ask);
  document.addEventListener("visibilitychange", () => document.hidden || ask());
  ask();
  return {
    now: time.now,
    time,
    ask,
    // What the server answered to a press of this page.
    take(fresh) {
      turn += 1;
      learn(fresh);
      heard(run, true, false, seen);
    },
  };
}

// The server's time, from the answer that took the shortest way: its own moment lies halfway (Cristian 1989).
export function serverTime(aheadMs = 0) {
  let samples = [];
  let offset = aheadMs;
  return {
    now: () => Date.now() + offset,
    samples: () => samples.length,
    learn(sentMs, receivedMs, serverMs) {
      const against = Date.now() - performance.now();
      samples = samples.filter((sample) => Math.abs(sample.against - against) < MOVED_MS);
      samples.push({ trip: receivedMs - sentMs, offset: serverMs - (sentMs + receivedMs) / 2, against });
      samples = samples.slice(-SAMPLES);
      offset = samples.reduce((best, sample) => (sample.trip < best.trip ? sample : best)).offset;
    },
  };
}

// A request that gives up, never waits for a page to sign in at, and tells `time` what it saw of the server's.
export async function timed(url, options, time) {
  const control = new AbortController();
  const patience = setTimeout(() => control.abort(), PATIENCE_MS);
  try {
    const sent = Date.now();
    const answer = await fetch(url, { cache: "no-store", redirect: "manual", signal: control.signal, ...options });
    const served = Number(answer.headers.get("Clock-Now"));
    if (served) time.learn(sent, Date.now(), served);
    if (answer.type === "opaqueredirect" || answer.status === 403) throw new Error(SIGNED_OUT);
    if (answer.status >= 500) throw new Error("no answer");
    return answer;
  } finally {
    clearTimeout(patience);
  }
}

// Calls `draw` whenever the shown second changes; it gives the milliseconds until then, or 0 to wait for news.
export function everySecond(draw) {
  let wait;
  return function again() {
    clearTimeout(wait);
    const ms = draw();
    if (ms) wait = setTimeout(again, ms);
  };
}

// Only what changed, so that a screen reader is told of changes alone, and a wall makes nothing new for a day.
export function write(node, words) {
  if (node.textContent !== String(words)) node.textContent = words;
}
