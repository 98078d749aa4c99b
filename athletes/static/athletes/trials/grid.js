// The entry grid of a test day: every cell saves by itself; what others enter appears within seconds.

import { inputOf, isDirty, show, take, typedIn } from "./cells.js";
import { listen } from "./keys.js";
import { lookOf } from "./look.js";
import { orderOf } from "./order.js";
import { queueOf } from "./queue.js";
import { watchOf } from "./stopwatch.js";

const ASK_MS = 3_000;
const ASKS_UNTIL_ALL = 20; // once a minute the whole day is told again
const MOST_UNDO = 50;

const box = document.querySelector("[data-grid]");
if (box) start();

function start() {
  const { url, store } = box.dataset;
  const cells = new Map([...box.querySelectorAll("[data-cell]")].map((cell) => [cell.dataset.cell, cell]));
  const queue = queueOf(store, url, { answered, changed: draw });
  const done = []; // places of this page's own kept results with what stood there before, the last one at the end
  let tag = ""; // of what was seen last …
  let at = ""; // … and when, by the server's clock
  let asks = 0;
  let asked = true; // the last look at the server got an answer

  const waitingFor = (cell) => queue.list().findLast(({ place }) => place === cell.dataset.cell);

  // `base`: the effort that stood there when the typing began, so that nobody's entry is written over unseen.
  function write(cell, typed, { base = Number(cell.dataset.base ?? cell.dataset.effort), confirmed = false, undo = null } = {}) {
    const { cell: place, athlete, benchmark, kept } = cell.dataset;
    delete cell.dataset.base;
    const before = { typed: kept, effort: Number(cell.dataset.effort) };
    queue.add({ place, athlete: Number(athlete), benchmark: Number(benchmark), typed, base, confirmed, undo, before });
  }

  // ---- what a person does ----

  const act = {
    keep(cell) {
      const entry = waitingFor(cell);
      if (entry?.held && entry.typed === typedIn(cell)) choose(cell, "keep");
      else act.left(cell);
    },
    left(cell) {
      const entry = waitingFor(cell);
      const typed = typedIn(cell);
      if (entry ? entry.typed === typed : !isDirty(cell)) return;
      if (entry && typed === cell.dataset.kept && entry.held) return back(cell);
      write(cell, typed, entry?.held ? { base: entry.base } : {});
    },
    back,
    look: (cell) => look.next(cell),
    undo() {
      const last = done.pop();
      if (!last) return say("Nothing to take back.");
      const cell = cells.get(last.place);
      inputOf(cell).value = last.before.typed;
      write(cell, last.before.typed, { base: last.effort, confirmed: true, undo: { to: last.before.effort } });
      inputOf(cell).focus();
      const { name } = cell.closest("tr").dataset;
      say(last.before.typed ? `${name}: back to ${last.before.typed}.` : `${name}: taken back.`);
    },
  };

  function back(cell) {
    queue.drop(cell.dataset.cell);
    tag = at = ""; // what others entered here meanwhile was passed over
    delete cell.dataset.base;
    inputOf(cell).value = waitingFor(cell)?.typed ?? cell.dataset.kept;
    inputOf(cell).select();
    draw();
  }

  // A question or somebody else's entry, decided.
  function choose(cell, decision) {
    const entry = waitingFor(cell);
    if (decision === "back" && entry.held.state === "changed") back(cell);
    else if (decision === "keep" && entry.held.state !== "refused") {
      write(cell, entry.typed, { base: entry.base, confirmed: entry.held.state === "questioned" });
    }
    inputOf(cell).focus();
    inputOf(cell).select();
  }

  // ---- what the server says ----

  function answered(entry, answer) {
    const cell = cells.get(entry.place);
    if (!cell) return;
    if (answer.entry) take(cell, answer.entry);
    if (answer.state !== "saved") return say(`${nameOf(cell)}: ${answer.words}`);
    const now = waitingFor(cell);
    if (!now && document.activeElement !== inputOf(cell)) inputOf(cell).value = cell.dataset.kept;
    if (entry.undo) return undone(entry, answer.entry.effort);
    done.push({ place: entry.place, before: entry.before, effort: answer.entry.effort });
    if (done.length > MOST_UNDO) done.shift();
    say(`${nameOf(cell)}: ${answer.entry.shown || "taken back"}${answer.entry.best ? ", personal best" : ""}.`);
  }

  // What stands there again is a new effort: what was kept before it can be taken back too.
  function undone({ place, undo }, effort) {
    for (const earlier of done) if (earlier.place === place && earlier.effort === undo.to) earlier.effort = effort;
  }

  async function ask() {
    if (document.hidden) return;
    const before = JSON.stringify(queue.list());
    if (++asks % ASKS_UNTIL_ALL === 0) tag = at = ""; // nothing that was missed stays missed
    try {
      const answer = await fetch(`${url}?${new URLSearchParams({ tag, at, device: look.device })}`, { cache: "no-store", redirect: "manual" });
      asked = answer.ok;
      // What was sent meanwhile is newer than this answer.
      const told = answer.ok ? await answer.json() : {};
      if (answer.ok) look.elsewhere(told.elsewhere);
      if (told.cells && before === JSON.stringify(queue.list())) {
        seen(told.cells, told.all);
        ({ tag, at } = told);
      }
    } catch {
      asked = false;
    }
    if (asked) queue.send();
    draw();
  }

  // `all`: a cell that is not among the entries is empty; else it is as it was.
  function seen(entries, all) {
    const now = new Map(entries.map((entry) => [`${entry.athlete}-${entry.benchmark}`, entry]));
    const nothing = { effort: 0, typed: "", shown: "", by: "", best: false };
    for (const [place, cell] of cells) {
      const entry = now.get(place) ?? (all ? nothing : null);
      if (!entry || waitingFor(cell) || Number(cell.dataset.effort) === entry.effort) continue;
      const untouched = !isDirty(cell);
      if (!untouched) cell.dataset.base ??= cell.dataset.effort;
      take(cell, entry);
      if (untouched) inputOf(cell).value = entry.typed;
    }
  }

  // ---- what is seen ----

  function draw() {
    const waiting = queue.list();
    const last = new Map(waiting.map((entry) => [entry.place, entry]));
    for (const [place, cell] of cells) show(cell, last.get(place), choose);
    const entered = ({ dataset }) => Number(dataset.effort) !== 0;
    const wanted = [...cells.values()].filter((cell) => cell.dataset.heat !== "" || entered(cell));
    box.querySelector("[data-done]").textContent = wanted.filter(entered).length;
    box.querySelector("[data-wanted]").textContent = wanted.length;
    const link = box.querySelector("[data-link]");
    const words = linkWords(waiting.filter((entry) => !entry.held).length);
    if (link.textContent !== words) link.textContent = words;
    look.draw();
  }

  // What waits for a person, and what the server may never hear of: without a connection, all of it.
  function open() {
    const reached = asked && queue.connected() && !queue.signedOut();
    return [...new Set(queue.list().filter((entry) => entry.held || !reached).map(({ place }) => place))];
  }

  function linkWords(count) {
    const waits = count ? `${count} result${count > 1 ? "s wait" : " waits"} on this device.` : "";
    if (queue.signedOut()) return `You are signed out. Sign in on another tab. ${waits}`;
    return asked && queue.connected() ? "" : `No connection. ${waits || "What you type waits on this device."}`;
  }

  function say(words) {
    box.querySelector("[data-said]").textContent = words;
  }

  function nameOf(cell) {
    return cell.closest("tr").dataset.name;
  }

  // What waited when the page was left stands in its cell again.
  for (const entry of queue.list()) {
    const cell = cells.get(entry.place);
    if (cell) inputOf(cell).value = entry.typed;
  }
  box.addEventListener("input", ({ target }) => {
    const cell = target.closest?.("[data-cell]");
    if (cell) cell.dataset.base ??= cell.dataset.effort;
  });
  const order = orderOf(box, cells);
  const look = lookOf(box, cells, order, open);
  listen(box, order, act);
  watchOf(box, cells, (cell, typed) => {
    inputOf(cell).value = typed;
    act.left(cell);
  });
  for (const event of ["offline", "online"]) addEventListener(event, event === "online" ? ask : draw);
  document.addEventListener("visibilitychange", ask);
  setInterval(ask, ASK_MS * (0.9 + Math.random() / 5));
  draw();
  queue.send();
  // Ready to type; not where that brings up a keyboard over half the screen, nor while keys stop the lanes of a watch.
  const timing = box.querySelector("[data-watch]:not([hidden])");
  if (!timing && matchMedia("(hover: hover) and (pointer: fine)").matches) order.first();
}
