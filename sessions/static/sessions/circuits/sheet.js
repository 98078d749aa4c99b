// The sheet: a text field, and under each of its lines how the server read it. The lines of the readings are laid out like
// those of the field, invisible, so that everything stands where it belongs; until an answer comes they follow the keys.
// "typed" asks for the readings, "edited" for the room; what is written is kept as a draft by itself.

const form = document.getElementById("circuit");
const sheet = document.getElementById("sheet");
const fields = document.getElementById("fields");
const readings = document.getElementById("readings");
const mode = form.elements.mode;
const text = () => document.getElementById("text");
const READ_MS = 120;
const ROOM_MS = 250;
const DRAFT_MS = 2000;
const MOST_ROWS = 4; // of a reading, as in sheet.css
const timers = {};
const firstText = text().value;
let keptText = firstText; // what the server has, saved or as a draft
let drafting = null; // to call off a draft that is on its way
let leaving = false;

function later(name, wait, act) {
  clearTimeout(timers[name]);
  timers[name] = setTimeout(() => {
    delete timers[name];
    act();
  }, wait);
}

function changed() {
  later("typed", READ_MS, () => form.dispatchEvent(new Event("typed")));
  later("edited", ROOM_MS, () => form.dispatchEvent(new Event("edited")));
  later("draft", DRAFT_MS, keepDraft);
}

// --- lines ---

const lines = () => text().value.split("\n");
const shown = () => [...readings.querySelectorAll(".sheet-line")];
const startOf = (line) => lines().slice(0, line).reduce((sum, one) => sum + one.length + 1, 0);
const lineAt = (place) => text().value.slice(0, place).split("\n").length - 1;
const here = () => lineAt(text().selectionStart);

// Until the answer comes: the lines as they are now, each with what was last said of the same words.
function follow() {
  const list = readings.querySelector("ol");
  const kept = new Map();
  for (const line of shown()) {
    const key = line.dataset.line;
    kept.set(key, [...(kept.get(key) ?? []), line]);
  }
  list.replaceChildren(...lines().map((words) => kept.get(words)?.shift() ?? fresh(words)));
  mark();
}

function fresh(words) {
  const line = document.createElement("li");
  line.className = "sheet-line is-waiting";
  line.dataset.line = words;
  for (const name of ["sheet-numbers", "sheet-ghost", "sheet-said"]) {
    const part = document.createElement("span");
    part.className = name;
    part.textContent = name === "sheet-ghost" ? words : "";
    line.append(part);
  }
  return line;
}

function mark() {
  const current = document.activeElement === text() ? here() : -1;
  shown().forEach((line, number) => line.classList.toggle("is-here", number === current));
  if (current >= 0) {
    sayWhole(current);
  }
}

// As many rows for the readings as the longest one needs, as long as all lines are to be seen.
function giveRoom() {
  if (shown().some(isLong)) {
    sheet.closest(".desk").classList.add("is-wide"); // and stays so: nothing moves to and fro
  }
  const paper = sheet.querySelector(".sheet-paper");
  const all = [...readings.querySelectorAll(".sheet-said")];
  for (let rows = 1; rows <= MOST_ROWS; rows += 1) {
    setRows(rows);
    if (rows > 1 && paper.scrollHeight > paper.parentElement.clientHeight) {
      setRows(rows - 1);
      return;
    }
    if (all.every((said) => said.scrollHeight <= said.clientHeight)) {
      return;
    }
  }
}

function isLong(line) {
  const ghost = line.querySelector(".sheet-ghost");
  return ghost.offsetHeight > 1.5 * parseFloat(getComputedStyle(ghost).lineHeight);
}

function setRows(rows) {
  for (let other = 2; other <= MOST_ROWS; other += 1) {
    sheet.classList.toggle(`is-said-${other}`, other === rows);
  }
}

// The whole reading of a line at the foot of the sheet, where it is longer than the line has room for.
function sayWhole(number) {
  const said = shown()[number]?.querySelector(".sheet-said");
  const whole = document.getElementById("sheet-now");
  whole.hidden = !said || said.scrollHeight <= said.clientHeight;
  whole.dataset.line = number;
  whole.replaceChildren(...(whole.hidden ? [] : [...said.cloneNode(true).childNodes]));
}

// Through the browser's own editing, so that its undo takes it back.
function put(start, end, words) {
  const field = text();
  field.focus();
  field.setSelectionRange(start, end);
  if (!document.execCommand("insertText", false, words)) {
    field.setRangeText(words, start, end, "end");
    field.dispatchEvent(new Event("input", { bubbles: true }));
  }
}

function rewrite(all, line) {
  const column = text().selectionStart - startOf(here());
  put(0, text().value.length, all.join("\n"));
  const place = startOf(line) + Math.min(column, all[line].length);
  text().setSelectionRange(place, place);
  mark();
}

function moveLine(by) {
  const all = lines();
  const from = here();
  const to = from + by;
  if (to >= 0 && to < all.length) {
    [all[from], all[to]] = [all[to], all[from]];
    rewrite(all, to);
  }
}

function nextToLookAt() {
  const all = shown();
  const wanted = [...all.keys()].filter((n) => all[n].matches(".is-stuck, .is-guess"));
  const next = wanted.find((n) => n > here()) ?? wanted[0];
  if (next !== undefined) {
    const remark = all[next].querySelector("[data-start]");
    const start = startOf(next);
    text().focus();
    text().setSelectionRange(start + Number(remark?.dataset.start ?? 0), start + Number(remark?.dataset.end ?? lines()[next].length));
    all[next].scrollIntoView({ block: "nearest" });
    mark();
  }
}

function take(offer) {
  const line = offer.closest(".sheet-line");
  const remark = offer.closest("[data-start]");
  const start = startOf(line ? shown().indexOf(line) : Number(offer.closest("#sheet-now").dataset.line));
  put(start + Number(remark.dataset.start), start + Number(remark.dataset.end), offer.dataset.offer);
}

// --- a movement that is not there yet ---

async function send(address, values) {
  const body = new FormData();
  body.append("csrfmiddlewaretoken", form.elements.csrfmiddlewaretoken.value);
  Object.entries(values).forEach(([name, value]) => body.append(name, value));
  const answer = await fetch(address, { method: "POST", body });
  return answer.json();
}

const making = document.getElementById("make");
let toMake = null;

// What it would be made as, to be put right before it is.
async function ask(button) {
  const { make: name, kind } = button.dataset;
  const asked = new URLSearchParams({ name, dose_kind: kind });
  const would = await (await fetch(`${form.dataset.make}?${asked}`)).json();
  const remark = button.closest("[data-start]");
  const line = button.closest(".sheet-line");
  const start = startOf(line ? shown().indexOf(line) : Number(button.closest("#sheet-now").dataset.line));
  toMake = { kind, would, start: start + Number(remark.dataset.start), end: start + Number(remark.dataset.end) };
  making.elements.new_name.value = would.name;
  making.elements.new_seconds.value = would.seconds ?? "";
  making.querySelector("[data-timed]").hidden = would.seconds === null;
  making.querySelector("[data-like]").textContent = would.says;
  making.querySelector("[data-wrong]").textContent = "";
  making.hidden = false;
  making.elements.new_name.select();
}

function notNow() {
  making.hidden = true;
  text().focus();
}

async function make() {
  const { kind, would, start, end } = toMake;
  const name = making.elements.new_name.value;
  const made = await send(form.dataset.make, { name, dose_kind: kind, seconds: making.elements.new_seconds.value });
  if (!made.name) {
    making.querySelector("[data-wrong]").textContent = made.says;
    return;
  }
  notNow();
  if (would.mended || made.name !== would.name) {
    put(start, end, made.name);
  }
  const note = document.getElementById("made");
  note.replaceChildren(`${made.says} `);
  note.hidden = false;
  if (made.undo) {
    const undo = document.createElement("button");
    undo.type = "button";
    undo.className = "link";
    undo.textContent = "Undo";
    undo.addEventListener("click", async () => {
      note.textContent = (await send(made.undo, {})).says;
      changed();
    });
    note.append(undo, " ");
  }
  const more = document.createElement("a");
  more.href = made.change;
  more.target = "_blank";
  more.textContent = "change it";
  note.append(more);
  changed();
}

making?.addEventListener("submit", (event) => {
  event.preventDefault();
  make();
});
making?.addEventListener("keydown", (event) => event.key === "Escape" && notNow());
making?.querySelector("[data-not]").addEventListener("click", notNow);

// --- fields and back ---

async function toFields() {
  const station = shown()[here()]?.dataset.station ?? 0;
  const answer = await fetch(form.dataset.fields, { method: "POST", body: new FormData(form) });
  fields.innerHTML = await answer.text();
  show("fields");
  form.dispatchEvent(new Event("fields-shown"));
  const places = fields.querySelectorAll("[data-movement]");
  (fields.querySelector(`[name="stations.${station}.options.0.movement"]`) ?? places[0] ?? fields.querySelector("input:not([type=hidden])")).focus();
}

function toText() {
  show("text");
  fields.replaceChildren();
  follow();
  form.dispatchEvent(new Event("typed"));
  text().focus();
}

function show(what) {
  mode.value = what;
  sheet.hidden = what === "fields";
  fields.hidden = what !== "fields";
  document.querySelector(".fields-back").hidden = what !== "fields";
}

// Back to the text once the server has said what the fields mean.
function leaveFields() {
  clearTimeout(timers.typed);
  document.body.addEventListener("htmx:afterSettle", toText, { once: true });
  form.dispatchEvent(new Event("typed"));
}

// --- the better order ---

function takeOrder(order) {
  const placed = shown().flatMap((line, n) => (line.dataset.station === undefined ? [] : [n]));
  if (mode.value === "text" && placed.length === order.length) {
    const all = lines();
    const words = placed.map((n) => all[n]);
    placed.forEach((n, place) => {
      all[n] = words[order[place] - 1];
    });
    rewrite(all, here());
  } else if (mode.value === "fields") {
    const list = document.getElementById("stations");
    const items = [...list.children];
    list.append(...order.map((number) => items[number - 1]));
    form.dispatchEvent(new Event("reordered"));
  }
}

// --- drafts ---

async function keepDraft() {
  const words = text().value;
  if (leaving || (words === keptText && mode.value === "text")) {
    return;
  }
  drafting?.abort();
  const mine = (drafting = new AbortController());
  const said = document.getElementById("draft-said");
  try {
    const answer = await fetch(form.dataset.draft, { method: "POST", body: new FormData(form), keepalive: true, signal: mine.signal });
    const kept = await answer.json();
    const time = new Date().toTimeString().slice(0, 5);
    said.textContent = answer.ok ? `${kept.says} ${time}` : kept.says;
    if (answer.ok) {
      keptText = words;
    }
    if (kept.page && location.pathname.endsWith("/new/")) {
      history.replaceState(null, "", kept.page);
    }
  } catch {
    if (!mine.signal.aborted) {
      said.textContent = "Not kept: no connection. It is tried again with the next key.";
    }
  }
}

// --- what is pressed ---

const WITH_ALT = {
  Enter: () => (mode.value === "fields" ? leaveFields() : toFields()),
  ArrowUp: () => moveLine(-1),
  ArrowDown: () => moveLine(1),
  KeyJ: nextToLookAt,
  KeyG: () => pressed("[data-offer]"),
  KeyM: () => pressed("[data-make]"),
  KeyO: () => document.querySelector("[data-order]")?.click(),
};

function pressed(buttons) {
  const own = shown()[here()]?.querySelector(buttons);
  (own ?? readings.querySelector(buttons))?.click();
}

document.addEventListener("keydown", (event) => {
  if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "s") {
    event.preventDefault();
    form.requestSubmit();
  } else if (event.altKey && !event.ctrlKey && !event.metaKey) {
    const act = WITH_ALT[event.key === "Enter" ? "Enter" : event.code];
    const inText = document.activeElement === text();
    if (act && (inText || !event.code.startsWith("Arrow")) && !text().readOnly) {
      event.preventDefault();
      act();
    }
  } else if (event.key === "F6") {
    event.preventDefault();
    nextRegion(event.shiftKey ? -1 : 1);
  } else if (event.key === "?" && !event.target.matches("input, textarea, select")) {
    document.getElementById("all-keys").showModal();
  }
});

function nextRegion(by) {
  const regions = [mode.value === "fields" ? fields : sheet, document.querySelector(".room"), document.getElementById("side")];
  const now = regions.findIndex((region) => region.contains(document.activeElement));
  const next = regions[(now + by + regions.length) % regions.length];
  const first = next === sheet ? text() : (next.querySelector("td[tabindex='0']") ?? next.querySelector("select, input:not([type=hidden])"));
  (first ?? next).focus();
}

form.addEventListener("input", (event) => {
  document.querySelector(".desk-page > .messages")?.remove();
  if (event.target === text()) {
    follow();
  }
  changed();
});
form.addEventListener("change", (event) => event.target !== text() && changed());
form.addEventListener("changed-fields", changed);
form.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (button?.matches("[data-offer]")) {
    take(button);
  } else if (button?.matches("[data-make]")) {
    ask(button);
  } else if (button?.matches("[data-to-fields]")) {
    toFields();
  } else if (button?.matches("[data-to-text]")) {
    leaveFields();
  }
});
form.addEventListener("submit", () => {
  leaving = true;
  clearTimeout(timers.draft);
  delete timers.draft;
  drafting?.abort();
});
document.addEventListener("click", (event) => {
  const order = event.target.closest("[data-order]");
  if (order) {
    takeOrder(order.dataset.order.split(",").map(Number));
  } else if (event.target.closest("[data-all-keys]")) {
    document.getElementById("all-keys").showModal();
  }
});
document.addEventListener("selectionchange", mark);
form.addEventListener("focusout", mark);
readings.addEventListener("htmx:afterSwap", () => {
  if (mode.value === "text" && shown().length !== lines().length) {
    follow();
  }
  giveRoom();
  shown().forEach((line) => line.classList.toggle("is-long", isLong(line)));
  mark();
  // What a screen reader says: how the line that is being written is read.
  const said = shown()[here()]?.querySelector(".sheet-said").textContent.trim().replace(/\s+/g, " ") ?? "";
  const heard = document.getElementById("sheet-heard");
  if (heard.textContent !== said) {
    heard.textContent = said;
  }
});
addEventListener("pagehide", () => {
  if (timers.draft) {
    keepDraft();
  }
});
// A page that came back shows what is in its field; out of the browser's memory it is as it was left.
addEventListener("pageshow", (event) => {
  leaving = false;
  follow();
  giveRoom();
  if (!event.persisted && text().value !== firstText) {
    changed();
  }
});
