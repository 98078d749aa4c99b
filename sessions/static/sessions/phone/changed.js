// What changed on today's page since it was looked at last on this phone: said in a line, and marked at the station.

import { lately } from "./days.js";

const LOOKED_MS = 3_000; // what was on the screen for so long was seen

const { athlete, zone } = document.body.dataset;
const baselines = new Map(); // what had been seen when this page was opened

export function sayChanges() {
  dropOld();
  for (const section of document.querySelectorAll("main > section[data-session]")) sayOf(section);
}

function sayOf(section) {
  const line = section.querySelector("[data-changed]");
  const rows = [...section.querySelectorAll("tr[data-station]")];
  if (!line || !rows.length) return;
  const store = `seen ${athlete} ${section.dataset.date} ${section.dataset.session}`;
  const now = Object.fromEntries(rows.map((row, n) => [n, `${row.dataset.movement}: ${row.dataset.asked}`]));
  if (!baselines.has(store)) baselines.set(store, read(store));
  const before = baselines.get(store);
  const kept = document.documentElement.dataset.seen; // a page of this phone may be older than what was seen
  const others = before && !kept ? rows.filter((_, n) => before.asked[n] !== undefined && before.asked[n] !== now[n]) : [];
  const words = others.map((row) => `${row.dataset.movement} ${row.dataset.asked}, was ${wasOf(before.asked[rows.indexOf(row)], row)}`);
  line.hidden = !words.length;
  line.replaceChildren();
  if (words.length) {
    const since = Object.assign(document.createElement("b"), { textContent: `Changed since ${lately(before.ms, zone)}:` });
    line.append(since, ` ${words.join("; ")}`);
  }
  rows.forEach((row) => row.classList.toggle("is-changed", others.includes(row)));
  clearTimeout(section.looked);
  section.looked = setTimeout(() => document.hidden || kept || keep(store, now), LOOKED_MS);
}

// What was said stays on the page until it is opened again; then it has been seen.
function keep(store, asked) {
  const seen = { ms: Date.now(), asked };
  if (!baselines.get(store)) baselines.set(store, seen);
  try {
    localStorage.setItem(store, JSON.stringify(seen));
  } catch {
    // a browser that keeps nothing
  }
}

// What was seen of days that are over tells nothing any more.
function dropOld() {
  const own = `seen ${athlete} `;
  const old = (name) => name.startsWith(own) && name.slice(own.length, own.length + 10) < document.body.dataset.day;
  try {
    for (const name of Object.keys(localStorage).filter(old)) localStorage.removeItem(name);
  } catch {
    // a browser that keeps nothing
  }
}

function read(store) {
  try {
    return JSON.parse(localStorage.getItem(store));
  } catch {
    return null;
  }
}

function wasOf(before, { dataset }) {
  return before.startsWith(`${dataset.movement}: `) ? before.slice(dataset.movement.length + 2) : before;
}
