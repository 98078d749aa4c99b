// The log: how hard it was is asked first, and everything is as planned until something else is said, so that two taps
// are often all. Kept on this phone first; app.js sends it.

import { latest, logs, sayLogged, send, stands, today } from "./app.js";
import { listOutbox } from "./unsent.js";

const POUND_KG = 0.45359237;
const form = document.querySelector("[data-form]");
const part = (name) => form.querySelector(`[data-part="${name}"]`);
const groups = form ? [...form.querySelectorAll("[data-stations]")] : []; // the latest session first
const query = new URLSearchParams(location.search);
const wanted = query.get("on");
const SETTLE_MS = 400; // the finger that rated does not save
let ratedMs = -SETTLE_MS;
let chosen = groups.find((group) => !group.disabled);
let logged = false; // a log of the chosen session stands

listOutbox(document.querySelector("[data-outbox]"));
form?.addEventListener("submit", keep);
const begun = form ? begin() : null;

async function begin() {
  const records = await logs.all();
  const known = groups.filter((group) => group.dataset.date <= today);
  choose(known.find((group) => `${group.dataset.date}.${group.dataset.key}` === wanted) ?? known[0], records);
  document.querySelectorAll("[data-choice]").forEach((choice) => (choice.hidden = choice.dataset.date > today));
  form.querySelectorAll("[data-step]").forEach((button) => {
    button.hidden = false;
    button.addEventListener("click", () => step(button));
  });
  form.addEventListener("input", say);
  for (const key of form.elements.rpe) key.addEventListener("change", () => (ratedMs = performance.now()));
  part("without").addEventListener("click", () => [...form.elements.rpe].forEach((key) => (key.checked = false)));
  const said = query.get("rpe"); // on the card of the class that is over
  if (said !== null && !logged) [...form.elements.rpe].forEach((key) => (key.checked = key.value === said));
  say();
  form.elements.stopped.addEventListener("change", () => (part("did").open ||= form.elements.stopped.checked));
  logs.changed(sayState);
}

// The page may have been made for another day than the one it is opened on.
function choose(group, records) {
  form.hidden = !group;
  document.querySelector("[data-early]").hidden = Boolean(group);
  if (!group) return;
  const made = group === chosen;
  groups.forEach((other) => (other.hidden = other.disabled = other !== group));
  chosen = group;
  part("did").open ||= Boolean(group.querySelector("[data-whole], [data-feel]"));
  part("name").textContent = group.dataset.name;
  part("when").textContent = group.dataset.when;
  const own = latest(records, group.dataset.key, group.dataset.date);
  const newer = own && !(Date.parse(group.dataset.doneAt) > Date.parse(own.log.done_at)) ? own : null;
  if (newer) fill(newer.log);
  else if (!made) fillShared(group.dataset);
  logged = Boolean(newer || group.dataset.doneAt);
  if (newer) part("state").textContent = stands(newer);
  else if (!made) part("state").textContent = logged ? "Logged. Save it again to correct it." : "Not logged yet.";
  say();
}

// A quick thumb is before the store is read: what was typed or ticked by then stays.
function fillShared({ rpe, pain, stopped, note }) {
  const { elements } = form;
  const rated = [...elements.rpe].some(touched);
  for (const choice of rated ? [] : elements.rpe) choice.checked = rpe !== "" && Number(choice.value) === Number(rpe);
  if (!touched(elements.pain)) elements.pain.checked = Boolean(pain);
  if (!touched(elements.stopped)) elements.stopped.checked = Boolean(stopped);
  put(elements.note, note);
}

function touched({ checked, defaultChecked, value, defaultValue }) {
  return checked !== defaultChecked || value !== defaultValue;
}

function put(input, value) {
  if (!touched(input)) input.value = value;
}

function fill({ rpe, pain, stopped, note, time_s, repetitions, entries }) {
  fillShared({ rpe: rpe ?? "", pain, stopped, note });
  const [time, more] = ["time", "repetitions"].map((name) => chosen.querySelector(`input[name=${name}]`));
  if (time && time_s) put(time, `${Math.floor(time_s / 60)}:${String(time_s % 60).padStart(2, "0")}`);
  if (more) put(more, repetitions ?? "");
  for (const { station, rounds, dose, load_kg, open_last } of entries) {
    const box = chosen.querySelector(`[data-station="${station}"]`);
    if (!box) continue;
    put(field(box, "rounds"), rounds);
    put(field(box, "dose"), dose);
    if (field(box, "last")) put(field(box, "last"), open_last ?? "");
    if (load_kg && field(box, "load")) put(field(box, "load"), inPounds(box) ? Math.round((2 * load_kg) / POUND_KG) / 2 : load_kg);
  }
}

function step(button) {
  const input = button.parentElement.querySelector("input");
  const value = Number(input.value || input.placeholder || 0) + Number(button.dataset.step);
  input.value = Math.min(Math.max(value, Number(input.min)), Number(input.max));
  input.dispatchEvent(new Event("input", { bubbles: true }));
}

// What is kept, in the words of the summary and of the button.
function say() {
  if (!chosen) return;
  const feel = Boolean(chosen.querySelector("[data-feel]"));
  const changed = inputs().some((input) => input.value !== input.dataset.asked);
  const words = feel ? "by feel" : changed ? "not all as planned" : "all as planned";
  part("planned").textContent = words;
  const rated = form.elements.rpe.value !== "";
  part("keep").textContent = logged ? "Save the correction" : changed ? "Save" : `Save: ${words}`;
  part("keep").hidden = !rated && !logged;
  part("without").hidden = rated || logged;
  part("hurt").hidden = !form.elements.pain.checked && !form.elements.stopped.checked;
}

async function keep(event) {
  event.preventDefault();
  if (event.submitter === part("keep") && performance.now() - ratedMs < SETTLE_MS) return;
  await begun; // a quick thumb is before the store is read
  const { key, date, name } = chosen.dataset;
  const same = ({ state, log }) => state === "refused" && log.session_key === key && log.date === date;
  try {
    await logs.keep({ session_key: key, date, ...said() }, name);
  } catch {
    return form.submit(); // a browser that keeps nothing: the form goes on its own
  }
  const mended = (await logs.all()).filter(same);
  for (const { key: refused } of mended) await logs.discard(refused);
  part("did").open = false;
  await send();
  scrollTo({ top: 0 });
}

function said() {
  const { rpe, pain, stopped, note } = form.elements;
  const counted = [...chosen.querySelectorAll("[data-station]")].filter((box) => field(box, "dose").value !== "");
  const entries = counted.map((box) => ({
    station: Number(box.dataset.station),
    rounds: Number(field(box, "rounds").value),
    dose: Number(field(box, "dose").value),
    load_kg: loadOf(box),
    open_last: lastOf(box),
  }));
  const hard = rpe.value === "" ? null : Number(rpe.value);
  return { rpe: hard, pain: pain.checked, stopped: stopped.checked, note: note.value.trim(), ...whole(), entries };
}

// What is not on the clock came to a time, or to repetitions beyond whole rounds; nothing where that is not said.
function whole() {
  const time = chosen.querySelector("input[name=time]")?.value.trim();
  const repetitions = chosen.querySelector("input[name=repetitions]")?.value;
  const [, minutes, seconds] = time?.match(/^(\d+)[:.](\d{2})$/) ?? [];
  return {
    ...(minutes ? { time_s: 60 * Number(minutes) + Number(seconds) } : {}),
    ...(repetitions ? { repetitions: Number(repetitions) } : {}),
  };
}

// Kilograms; nothing where the figure is the one asked for, which was rounded to be shown.
function loadOf(box) {
  const input = field(box, "load");
  if (!input || input.value === input.dataset.asked) return null;
  return Number(input.value) * (inPounds(box) ? POUND_KG : 1);
}

// What an open last round came to; nothing where that was not asked, or not said.
function lastOf(box) {
  const input = field(box, "last");
  return input && input.value !== "" ? Number(input.value) : null;
}

async function sayState() {
  const own = latest(await logs.all(), chosen.dataset.key, chosen.dataset.date);
  if (own) part("state").textContent = stands(own);
  logged ||= Boolean(own);
  say();
}

function field(box, name) {
  return box.querySelector(`[name="${name}-${box.dataset.station}"]`);
}

function inputs() {
  return [...chosen.querySelectorAll("input[data-asked]")];
}

function inPounds(box) {
  return box.dataset.loadUnit === "lb";
}
