// The foot of the floor sheet: the clock, and the one thing to do now. Before class it starts the clock, then it pauses,
// and when the class is over it logs everyone who was here and has not logged, in one tap that can be undone.

import { newKey, post } from "../../js/waiting.js";
import { clockWords, formatWords, isHalfDone, moment, onTheClock, shapeAt, untilStart } from "../clock/clock.js";
import { everySecond, follow, write } from "../clock/follow.js";
import { asPressed, presses } from "../clock/presses.js";
import { partWords } from "../clock/steering.js";

const FAST_MS = 1_000;
const SLOW_MS = 2_500;
const READY_S = 10;
const TWICE_MS = 500; // a wet finger presses twice
const WORDS = { ready: "Get ready", work: "Work", rest: "Rest", over: "Over" };

const dock = document.querySelector("[data-dock]");
const sheet = document.querySelector("[data-floor]");
if (dock) begin();

function begin() {
  const part = Object.fromEntries([...dock.querySelectorAll("[data-part]")].map((node) => [node.dataset.part, node]));
  const [start, toggle] = ["start", "toggle"].map((name) => dock.querySelector(`[data-press=${name}]`));
  const log = dock.querySelector("[data-class-log]");
  const planned = JSON.parse(dock.dataset.shape);
  const parts = JSON.parse(dock.dataset.parts);
  const aheadMs = Number(dock.dataset.now) - Date.now();
  let run = null;
  let connected = true;
  let pressedMs = -TWICE_MS; // the first press counts, however soon it comes
  const logStore = `${dock.dataset.store}-logged`;
  let undoable = keptKey("done"); // key of the class log that can be taken back
  const draw = everySecond(show);
  const follower = follow(dock.dataset.url, { fastMs: FAST_MS, slowMs: SLOW_MS, heard, aheadMs });
  const queue = presses(dock, follower, draw);

  function heard(fresh, answered) {
    run = fresh;
    connected = answered;
    if (answered) queue.send();
    draw();
  }

  function standing() {
    const found = asPressed(run, queue.waiting(), planned);
    return { found, at: found && moment(found.shape, found.starts_ms, found.changes, follower.now()) };
  }

  dock.addEventListener("click", ({ target, detail }) => {
    const press = target.closest("[data-press]")?.dataset.press;
    if (!press || (detail > 0 && performance.now() - pressedMs < TWICE_MS)) return;
    pressedMs = performance.now();
    const { found, at } = standing();
    if (press === "start") queue.add("start", READY_S);
    else if (at) queue.add(at.state === "paused" ? "resume" : "pause", 0, found.key);
    draw();
  });

  log.addEventListener("click", async () => {
    const undo = undoable !== null;
    const key = undoable ?? keptKey("sent") ?? newKey(); // sent again after an answer that was lost, it is the same log
    if (!undo) keepKey("sent", key);
    log.disabled = true;
    const body = { hour: dock.dataset.hour, key, undo, at_ms: Math.floor(follower.now()) };
    const { said } = await post(`${sheet.dataset.url}class-log/`, body).catch(() => ({}));
    log.disabled = false;
    const words = dock.querySelector("[data-said]");
    if (!said) {
      words.textContent = "No connection: whether it was logged is not known. Tap again when there is one.";
      return;
    }
    undoable = undo || said.refused ? null : key;
    keepKey("sent", null);
    keepKey("done", undoable);
    if (said.html !== undefined) dispatchEvent(new CustomEvent("floor-rows", { detail: said }));
    words.textContent = said.refused || (undo ? "Taken back: they can log themselves." : loggedWords(said.count));
    draw();
  });

  // Draws this second; the milliseconds until the next one.
  function show() {
    const { found, at } = standing();
    const on = Boolean(at) && at.phase !== "over";
    const over = at?.phase === "over";
    dock.dataset.state = !at ? "none" : at.state === "paused" ? "paused" : at.phase;
    const next = over && run && isHalfDone(found.shape, at) && rowsOf(run.wave + 1).length > 0;
    if (start) {
      start.hidden = Boolean(at) && !next;
      write(start, next ? "Start the second wave" : "Start the clock");
    }
    if (toggle) {
      toggle.hidden = !on;
      write(toggle, at?.state === "paused" ? "Go on" : "Pause");
    }
    showLog(over || (!start && !at));
    write(part.link, queue.refused() || (connected ? "" : "No connection. The clock goes on by itself."));
    if (on) {
      const shape = shapeAt(found.shape, at);
      write(part.left, clockWords(at));
      write(part.phase, at.state === "paused" ? "Paused" : shape.kind === "words" && at.phase === "work" ? (parts[at.part]?.title ?? "") : WORDS[at.phase]);
      const where = onTheClock(shape) ? `round ${at.round} of ${at.rounds}` : shape.kind === "words" ? "" : formatWords(shape);
      write(part.where, [where, partWords(parts, at)].filter(Boolean).join(" · "));
      return at.left_ms % 1000 || 1000;
    }
    before(over);
    return at ? 0 : 1000;
  }

  function before(over) {
    const starts = Number(dock.dataset.starts);
    const here = document.querySelector("[data-came]")?.textContent ?? "0";
    const logged = sheet.querySelector("[data-logged]")?.textContent ?? "0";
    write(part.left, over ? here : "");
    write(part.phase, over ? "were here" : starts ? untilStart(starts - follower.now(), "ready when you are") : "ready when you are");
    write(part.where, over ? `${logged} logged` : "tap a number to change it");
  }

  function keptKey(name) {
    try {
      return sessionStorage.getItem(`${logStore}-${name}`);
    } catch {
      return null; // a browser that keeps nothing
    }
  }

  function keepKey(name, key) {
    try {
      if (key) sessionStorage.setItem(`${logStore}-${name}`, key);
      else sessionStorage.removeItem(`${logStore}-${name}`);
    } catch {
      // for this page only, then
    }
  }

  // Those who begin in a wave.
  function rowsOf(wave) {
    return [...sheet.querySelectorAll(`tr[data-athlete][data-wave="${wave}"]:not(.is-away)`)];
  }

  // Who came and has no log.
  function unlogged() {
    return [...sheet.querySelectorAll("tr[data-athlete]:not(.is-away):not([data-logged])")];
  }

  function loggedWords(count) {
    const left = unlogged().map((row) => row.dataset.who);
    return `${count} logged as planned.${left.length ? ` To enter one by one: ${left.join(", ")}.` : ""}`;
  }

  function showLog(over) {
    const rows = unlogged();
    log.hidden = !over || (!rows.length && undoable === null);
    log.classList.toggle("button-plain", undoable !== null);
    write(log, undoable === null ? `Log the ${rows.length === 1 ? "one" : rows.length} left as planned` : "Undo");
  }

  draw();
}
