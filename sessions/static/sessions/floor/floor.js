// The floor sheet: a class on one page. What is tapped is kept on this device until the server has answered; rows come
// from the server alone, with every answer and every few seconds, so that several tablets show the same.

import { request } from "../../js/waiting.js";
import { follow } from "../clock/follow.js";
import { filterOf } from "./filter.js";
import { menuOf } from "./menu.js";
import { queueOf } from "./queue.js";
import { rowsOf } from "./rows.js";

const ASK_MS = 15_000;
const FAST_MS = 2_000;
const SLOW_MS = 2_500; // what another device changes is here in five seconds
const SAID_MS = 8_000;

const sheet = document.querySelector("[data-floor]");
if (sheet) begin();
document.querySelector("[data-print]")?.addEventListener("click", () => print());

function begin() {
  const { url, hour, plan, store, now } = sheet.dataset;
  const query = `hour=${encodeURIComponent(hour)}`;
  const ahead = Number(now) - Date.now(); // of this device's clock
  const queue = queueOf(store, { answered, changed: show });
  const rows = rowsOf(sheet, () => filter.apply());
  const filter = filterOf(sheet);
  const menu = menuOf(sheet.querySelector("[data-menu]"), { chosen: change, begins, allEasier });
  const offers = sheet.querySelector("[data-offers]");
  const said = sheet.querySelector("[data-said]");
  let connected = true;
  let turn = 0; // what was asked before a tap was answered is older than that answer
  let silence;

  // ---- taps ----

  // `pin`: what is taken back, by default what stands there.
  function change(cell, act, pin = cell.dataset.pin) {
    const { station, basis } = cell.dataset;
    tap("doses", cell.closest("[data-athlete]"), { station: Number(station), act, basis: JSON.parse(basis), pin });
  }

  // Where the tapped dose is, somebody begins.
  function begins(cell) {
    tap("starts", cell.closest("[data-athlete]"), { group: Number(cell.dataset.station) - 1 });
  }

  function allEasier(cell) {
    change(cell, "all-easier");
  }

  offers.addEventListener("click", ({ target }) => {
    const act = target.closest("[data-offer]")?.dataset.offer;
    if (!act) return;
    const box = target.closest("[data-athlete-of]");
    const athlete = Number(box.dataset.athleteOf);
    for (const button of box.querySelectorAll("button")) button.disabled = true;
    queue.add(`${url}offers/`, { hour, athlete, act }, { kind: "offers", who: box.dataset.who, plan });
  });

  // Who has no place for want of machines: asked for anew whenever the class has moved.
  async function askOffers() {
    const answer = await fetch(`${url}places/?${query}`, { cache: "no-store", redirect: "manual" }).catch(() => null);
    if (!answer?.ok) return;
    const html = await answer.text();
    if (html !== offers.dataset.html) offers.innerHTML = html;
    offers.dataset.html = html;
  }

  function keepLog(row) {
    const rpe = row.querySelector("[data-rpe]").value;
    tap("logs", row, { rpe: rpe === "" ? null : Number(rpe), at_ms: Math.round(Date.now() + ahead) });
  }

  function tap(kind, row, body) {
    const athlete = Number(row.dataset.athlete);
    queue.add(`${url}${kind}/`, { hour, athlete, ...body }, { kind, who: row.dataset.who, plan });
  }

  sheet.addEventListener("click", (event) => {
    const button = event.target.closest("[data-act]");
    if (!button || button.getAttribute("aria-disabled") === "true") return;
    const row = button.closest("[data-athlete]");
    if (button.dataset.act === "menu") menu.open(button);
    if (button.dataset.act === "came") tap("attendance", row, { came: button.getAttribute("aria-pressed") !== "true" });
    if (button.dataset.act === "log") logAndGoOn(row, event.detail === 0);
  });

  sheet.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches("[data-rpe]")) return;
    event.preventDefault();
    const row = event.target.closest("[data-athlete]");
    if (row.dataset.waiting !== "logs") logAndGoOn(row, true);
  });

  // With the keyboard on to the next athlete who has not logged: a class is logged without a hand off it.
  function logAndGoOn(row, goesOn) {
    const open = [...sheet.querySelectorAll("[data-athlete]:not([hidden]) [data-rpe]")];
    const next = open[open.findIndex((select) => row.contains(select)) + 1];
    keepLog(row);
    if (goesOn) next?.focus();
  }

  // ---- answers ----

  function answered({ kind, who, body, plan: tappedOn }, answer) {
    turn += 1;
    if (tappedOn === plan && answer.html !== undefined) rows.take(answer, true);
    if (answer.refused) say(`${who}: ${answer.refused}`, true);
    else say(`${who}: ${wordsOf(kind, body)}`);
    if (!answer.refused && kind === "doses" && !["undo", "back", "all-easier"].includes(body.act)) offerUndo(body);
  }

  function offerUndo({ athlete, station, key }) {
    const undo = document.createElement("button");
    undo.type = "button";
    undo.className = "button button-plain";
    undo.textContent = "Undo";
    undo.addEventListener("click", () => {
      const cell = sheet.querySelector(`[data-athlete="${athlete}"] [data-station="${station}"]`);
      if (cell) change(cell, "back", key);
      else say("That dose is not on this sheet any more.", true);
    });
    said.append(" ", undo);
  }

  function wordsOf(kind, body) {
    if (kind === "doses") return `${["undo", "back"].includes(body.act) ? "as before" : "changed"}. Phone and wall show it within seconds.`;
    if (kind === "logs") return "logged.";
    const place = body.act === "wave" ? "" : rows.place(body.athlete);
    if (kind === "starts" || kind === "offers") return `${place || "in the second wave"}. On phone and wall within seconds.`;
    return body.came ? `here. ${rows.place(body.athlete)}.` : "taken back.";
  }

  async function ask() {
    if (document.hidden) return false;
    const have = [...sheet.querySelectorAll("[data-tag]")].map((row) => row.dataset.tag);
    const mine = turn;
    try {
      const answer = await fetch(`${url}rows/?${query}`, { ...request({ have }), cache: "no-store", redirect: "manual" });
      connected = answer.ok;
      const told = answer.ok && (await answer.json());
      if (told && mine === turn) rows.take(told);
    } catch {
      connected = false;
    }
    if (connected) queue.send();
    show();
    return connected && mine === turn; // else asked again: what came is older than a tap of this page
  }

  // ---- what is seen ----

  function show() {
    const waiting = queue.list();
    rows.mark(waiting.filter((tap) => tap.plan === plan));
    rows.count();
    filter.apply();
    const words = linkWords(waiting.length);
    const link = sheet.querySelector("[data-link]");
    link.hidden = !words;
    if (link.textContent !== words) link.textContent = words;
  }

  function linkWords(count) {
    const taps = count === 1 ? "1 tap waits" : `${count} taps wait`;
    const waits = count ? `${taps} on this device, to be sent as soon as there is a connection.` : "";
    if (queue.signedOut()) return `You are signed out, or may not do this. Sign in on another tab. ${waits}`.trim();
    return connected && navigator.onLine && !queue.stuck() ? "" : `No connection: what you see may be old. ${waits}`.trim();
  }

  function say(words, refused = false) {
    clearTimeout(silence);
    said.textContent = words;
    said.classList.toggle("is-refused", refused);
    if (!refused) silence = setTimeout(() => (said.textContent = ""), SAID_MS);
  }

  for (const mode of sheet.querySelectorAll("[data-mode-of]")) {
    mode.addEventListener("change", () => (sheet.dataset.mode = mode.value));
    if (mode.checked) sheet.dataset.mode = mode.value; // a reload keeps what was chosen
  }
  addEventListener("offline", show);
  addEventListener("online", ask);
  addEventListener("pageshow", (event) => event.persisted && ask());
  document.addEventListener("visibilitychange", ask);
  setInterval(ask, ASK_MS * (0.9 + Math.random() / 5));
  // The version of the class moves with all that is shown of it.
  let { seen } = sheet.dataset;
  async function heard(_, answered, __, news) {
    if (!answered || news === undefined || news === seen) return;
    if (await ask()) seen = news;
    askOffers();
  }
  askOffers();
  if (sheet.dataset.follow) follow(sheet.dataset.clock, { fastMs: FAST_MS, slowMs: SLOW_MS, heard, aheadMs: ahead });
  addEventListener("floor-rows", ({ detail }) => ((turn += 1), rows.take(detail, true), show()));
  show();
  queue.send();
}
