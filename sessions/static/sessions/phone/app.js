// Every page of the app: keeps it on this phone for later, says how old it is, and how the logs on this phone stand.
// The page's own facts stand on <body>; `outbox` comes from outbox.js before it.

import { dayIn, lately } from "./days.js";

const { home, athlete, token, api, zone, day, page } = document.body.dataset;
const FIRST_WAIT_MS = 5_000;
const LONGEST_WAIT_MS = 300_000;
const OLD_MS = 600_000;
let shownSince = Number(document.documentElement.dataset.seen) || Date.now();
let kept = Boolean(document.documentElement.dataset.seen); // this page comes from the phone, not from the network
const line = document.querySelector("[data-seen-line]");
const unsent = document.querySelector("[data-unsent]");

// The whole link opens without a network too: what stands above the page has no key all the same.
if (kept) history.replaceState(null, "", page === "today" ? home : `${home}${page}/${location.search}`);

export const today = dayIn(zone);
export const addresses = { home, athlete };
export const logs = outbox.of({ athlete, token, api });
let wait = FIRST_WAIT_MS;
let timer;

// ---- how old this page is ----

function sayAge() {
  line.hidden = !kept && navigator.onLine;
  const seen = lately(shownSince, zone);
  line.firstElementChild.textContent = navigator.onLine
    ? `Seen ${seen}; the network does not answer.`
    : `Seen ${seen}, you are offline.`;
  line.lastElementChild.hidden = !kept || !navigator.onLine;
}

// The network answered after all.
function isFresh() {
  kept = false;
  shownSince = Date.now();
  sayAge();
  sayLogged();
}

// A page of another day, opened without a network, would call that day today: the week's page knows better.
async function turnToToday() {
  const answer = await caches.match(`${home}week/`);
  if (!answer) return;
  const week = new DOMParser().parseFromString(await answer.text(), "text/html");
  const sessions = [...week.querySelectorAll("section[data-session]")].filter((part) => part.dataset.date >= today);
  const next = sessions.filter((part) => part.dataset.date === sessions[0].dataset.date);
  document.querySelectorAll("main > section[data-session], main > [data-nothing]").forEach((part) => part.remove());
  document.querySelector("main").prepend(...next);
  const live = document.querySelector("[data-live]");
  if (live) live.hidden = true; // not taken out: its own script may still be on the way
  const words = next[0]?.dataset.date === today ? "Today" : next.length ? "Next session" : "No session yet";
  const title = document.querySelector("[data-day-title]");
  title.textContent = words;
  title.hidden = false;
}

// ---- how the logs stand ----

// Of each session on the page: what the server said, unless this phone knows of a later log.
export async function sayLogged() {
  const records = await logs.all();
  for (const part of document.querySelectorAll("[data-logged]")) {
    const { session, date } = part.dataset;
    const own = latest(records, session, date);
    const [words, link] = part.querySelectorAll("[data-words], [data-link]");
    if (own) text(words, stands(own));
    if (own) text(link, "Correct it");
    part.hidden = date > today;
  }
  const waiting = records.filter((record) => record.state !== "sent");
  const many = waiting.length === 1 ? "log is" : "logs are";
  unsent.hidden = !waiting.length;
  text(unsent.firstElementChild, `${waiting.length} ${many} not sent yet.`);
  return records;
}

// The log of a session that this phone made last.
export function latest(records, session, date) {
  return records.filter((one) => one.log.session_key === session && one.log.date === date).pop();
}

export function stands({ state, log, sent_ms, why }) {
  const rpe = log.rpe === null ? "" : `, RPE ${log.rpe}`;
  if (state === "sent") return `Logged${rpe}. Sent ${lately(sent_ms, zone)}.`;
  if (state === "refused") return `Kept on this phone${rpe}, but not taken: ${why}`;
  return `Kept on this phone${rpe}, not sent yet.`;
}

// ---- sending ----

export async function send() {
  clearTimeout(timer);
  if (await logs.send().catch(() => false)) {
    wait = FIRST_WAIT_MS;
    return true;
  }
  timer = setTimeout(send, wait * (0.75 + Math.random() / 2));
  wait = Math.min(2 * wait, LONGEST_WAIT_MS);
  // Where the browser can, it sends when this page is closed too.
  const registration = await navigator.serviceWorker?.getRegistration(home);
  await registration?.sync?.register("logs").catch(() => null);
  return false;
}

// An app is seldom opened anew, it is only looked at again: then it shows the newest, unless something is being typed.
function comeBack() {
  const old = Date.now() - shownSince > OLD_MS || dayIn(zone) !== today;
  if (old && page !== "log" && (navigator.onLine || dayIn(zone) !== today)) location.reload();
  else send();
}

function text(node, words) {
  if (node.textContent !== words) node.textContent = words;
}

// ---- begin ----

addEventListener("online", () => (sayAge(), send()));
addEventListener("offline", sayAge);
document.addEventListener("visibilitychange", () => document.hidden || comeBack());
logs.changed(sayLogged);
document.addEventListener("fresh-page", isFresh);
sayAge();
const turned = kept && page === "today" && day !== today ? turnToToday() : Promise.resolve();
turned.then(sayLogged).then(send);
if (navigator.serviceWorker) {
  const options = { scope: home.slice(0, -1), updateViaCache: "none" }; // the whole link too: it has no slash there
  const register = () => navigator.serviceWorker.register(`${home}worker.js`, options).catch(() => null);
  if (document.readyState === "complete") register();
  else addEventListener("load", register);
}
performance.mark("interactive");
