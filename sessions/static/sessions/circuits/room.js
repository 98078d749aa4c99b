// The room: one cursor that walks over its figures by mouse and arrow keys, and beside it why, and by hand for whoever is
// marked. The table comes anew from the server with every change; cursor, marks, order and filter stay.

const room = document.querySelector(".room");
const side = document.getElementById("side");
const part = (name) => side.querySelector(`[data-${name}]`);
const NOBODY = "00000000-0000-4000-8000-000000000000";
const marked = new Set();
let panel = null;
let cursor = { athlete: "", station: 0 };
let sorting = "name";
let filter = "";
let handKey = crypto.randomUUID();

const table = () => document.getElementById("room-table");
const people = () => document.getElementById("room-people");
const rows = () => (people() ? [...people().rows].filter((row) => row.offsetParent !== null) : []);
const cells = (row) => [...row.querySelectorAll("td[tabindex]")];
const target = () => panel?.people[cursor.athlete]?.at[cursor.station];

function begin() {
  const values = document.getElementById("room-panel");
  panel = values ? JSON.parse(values.textContent) : null;
  if (!panel || !people()) {
    return;
  }
  const wanted = room.querySelector(`[name="rows"][value="${filter}"]`);
  if (wanted) {
    wanted.checked = true;
  }
  order();
  for (const row of people().rows) {
    tick(row);
  }
  const row = people().querySelector(`[data-athlete="${cursor.athlete}"]`) ?? people().rows[0];
  place(row, Math.min(cursor.station, panel.stations.length - 1), false);
}

// --- the cursor ---

function place(row, station, focus = true) {
  people().querySelectorAll("td[tabindex='0'], .is-cursor, .is-under").forEach((old) => {
    old.classList.remove("is-cursor", "is-under");
    if (old.matches("td[tabindex]")) {
      old.tabIndex = -1;
    }
  });
  const cell = cells(row)[station];
  cursor = { athlete: row.dataset.athlete, station };
  cell.tabIndex = 0;
  cell.classList.add("is-cursor");
  row.classList.add("is-under");
  if (focus) {
    cell.focus();
    cell.scrollIntoView({ block: "nearest" });
  }
  fill();
}

function walk(down, across) {
  const all = rows();
  const now = all.findIndex((row) => row.dataset.athlete === cursor.athlete);
  const next = Math.min(Math.max(now + down, 0), all.length - 1);
  const station = Math.min(Math.max(cursor.station + across, 0), panel.stations.length - 1);
  if (all[next]) {
    place(all[next], station);
  }
}

function toggle(row) {
  const athlete = row.dataset.athlete;
  if (!marked.delete(athlete)) {
    marked.add(athlete);
  }
  tick(row);
  fill();
}

function tick(row) {
  row.classList.toggle("is-ticked", marked.has(row.dataset.athlete));
  row.setAttribute("aria-selected", marked.has(row.dataset.athlete));
}

// --- order ---

function value(row) {
  if (sorting === "name") {
    return [0, 0, 0];
  }
  const at = panel.people[row.dataset.athlete].at[Number(sorting) - 1];
  return [at.rung < 0 ? 99 : at.rung, -at.dose, -(at.load ?? 0)];
}

function order() {
  const list = [...people().rows];
  list.forEach((row, n) => {
    row.dataset.place ??= n;
  });
  const compare = (a, b) => {
    const [one, other] = [value(a), value(b)];
    const first = one.findIndex((figure, n) => figure !== other[n]);
    return first < 0 ? a.dataset.place - b.dataset.place : one[first] - other[first];
  };
  people().append(...list.sort(compare));
  table().querySelectorAll("[data-sort]").forEach((button) => {
    button.closest("th").setAttribute("aria-sort", button.dataset.sort === sorting ? "ascending" : "none");
  });
}

function sortBy(what) {
  sorting = sorting === what ? "name" : what;
  order();
}

// --- the panel ---

function fill() {
  const person = panel.people[cursor.athlete];
  const at = target();
  side.querySelector(".side-empty").hidden = true;
  side.querySelector(".side-body").hidden = false;
  part("name").textContent = person.name;
  part("name").href = side.dataset.athlete.replace("/0/", `/${cursor.athlete}/`);
  part("number").textContent = cursor.station + 1;
  part("movement").textContent = at.movement ?? "";
  part("dose").textContent = at.says ?? "–";
  part("hold").textContent = [at.hold && `hold ${at.hold}`, at.by && `done by ${at.by} s`, at.rounds].filter(Boolean).join(", ");
  part("why").textContent = (at.why ?? []).join(" ") || (at.rung < 0 ? "" : "As prescribed.");
  part("ladder").replaceChildren(...panel.stations[cursor.station].map((rung, n) => ladderLine(rung, n === at.rung)));
  part("known").replaceChildren(
    ...facts([
      ["left in the last round", at.left && `${at.left} %`],
      ["holds every round", at.chance],
      ["known", at.firm && [at.firm, at.known].filter(Boolean).join(": ")],
      ["by hand", at.hand],
    ]),
  );
  if (side.dataset.target) {
    const published = part("published");
    published.hidden = !panel.published;
    published.querySelector("a").href = side.dataset.target
      .replace(NOBODY, panel.key)
      .replace("/0/1/", `/${cursor.athlete}/${cursor.station + 1}/`);
  }
  fillHand(at);
}

function ladderLine(rung, chosen) {
  const line = document.createElement("li");
  line.classList.toggle("is-chosen", chosen);
  line.append(...["mark", "name", "written"].map((name) => {
    const word = document.createElement("span");
    word.textContent = rung[name];
    return word;
  }));
  if (chosen) {
    line.setAttribute("aria-current", "true");
  }
  return line;
}

function facts(pairs) {
  return pairs.filter(([, words]) => words).map(([label, words]) => {
    const line = document.createElement("div");
    const term = document.createElement("dt");
    const said = document.createElement("dd");
    term.textContent = label;
    said.textContent = words;
    line.append(term, said);
    return line;
  });
}

function fillHand(at) {
  const hand = part("hand");
  if (!hand) {
    return;
  }
  hand.hidden = Boolean(panel.noHand);
  part("no-hand").hidden = !panel.noHand;
  part("no-hand").textContent = panel.noHand;
  if (panel.noHand && panel.plan) {
    const plan = document.createElement("a");
    plan.href = panel.plan;
    plan.textContent = "Plan it";
    part("no-hand").append(" ", plan);
  }
  const others = [...marked].filter((athlete) => athlete !== cursor.athlete && panel.people[athlete]).length;
  const name = panel.people[cursor.athlete].name.split(" ")[0];
  part("for").textContent = `for ${name}${others ? ` and ${others} marked` : ""}`;
  part("set").textContent = others ? `Set for ${others + 1}` : "Set";
  if (hand.contains(document.activeElement)) {
    return;
  }
  const rung = hand.elements.rung;
  rung.replaceChildren(
    ...panel.stations[cursor.station].map((step, n) => new Option(step.name, n)),
    new Option("rest", "rest"),
  );
  rung.value = at.rung < 0 ? "rest" : String(at.rung);
  hand.elements.dose.value = at.rung < 0 ? "" : at.dose;
  hand.elements.load_kg.value = at.load ?? "";
  side.querySelector(".side-load").hidden = !panel.stations[cursor.station].some((step) => step.load);
}

async function send(address, values) {
  const body = new FormData();
  body.append("csrfmiddlewaretoken", document.querySelector("[name=csrfmiddlewaretoken]").value);
  Object.entries(values).forEach(([name, words]) => body.append(name, words));
  const answer = await fetch(address, { method: "POST", body });
  return [answer.ok, await answer.json()];
}

async function setByHand(hand) {
  const athletes = [cursor.athlete, ...[...marked].filter((athlete) => athlete !== cursor.athlete)];
  const values = { ...Object.fromEntries(new FormData(hand)), key: handKey, athletes: athletes.join(","), station: cursor.station + 1 };
  const [good, answer] = await send(side.dataset.pins.replace(NOBODY, panel.key), values);
  const wrong = part("hand-error");
  wrong.hidden = good;
  wrong.textContent = good ? "" : answer.says;
  if (good) {
    handKey = crypto.randomUUID();
    marked.clear();
    hand.elements.reason.value = "";
    say(answer);
    document.body.dispatchEvent(new Event("room-changed"));
    table().querySelector("td[tabindex='0']").focus();
  }
}

function say(answer) {
  const said = part("said");
  said.hidden = false;
  said.replaceChildren(`${answer.says} `);
  if (answer.undo) {
    const undo = document.createElement("button");
    undo.type = "button";
    undo.className = "link";
    undo.textContent = "Undo";
    undo.addEventListener("click", async () => {
      say((await send(answer.undo, { pins: answer.pins }))[1]);
      document.body.dispatchEvent(new Event("room-changed"));
    });
    said.append(undo);
  }
}

// --- what is pressed ---

const KEYS = {
  ArrowDown: () => walk(1, 0),
  ArrowUp: () => walk(-1, 0),
  ArrowRight: () => walk(0, 1),
  ArrowLeft: () => walk(0, -1),
  Home: () => walk(-10_000, 0),
  End: () => walk(10_000, 0),
  PageDown: () => walk(10, 0),
  PageUp: () => walk(-10, 0),
  " ": () => toggle(people().querySelector(`[data-athlete="${cursor.athlete}"]`)),
  w: () => side.focus(),
  h: () => !part("hand")?.hidden && part("hand").elements.dose.select(),
  s: () => sortBy(String(cursor.station + 1)),
  f: () => room.querySelector("[name='rows']:checked").focus(),
};

room.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || !people()?.contains(event.target)) {
    return;
  }
  const act = KEYS[event.key.length === 1 ? event.key.toLowerCase() : event.key];
  if (act) {
    event.preventDefault();
    act();
  }
});
room.addEventListener("click", (event) => {
  const sort = event.target.closest("[data-sort]");
  const row = event.target.closest("#room-people tr");
  if (sort) {
    sortBy(sort.dataset.sort);
  } else if (row && !event.target.closest("a")) {
    const station = cells(row).indexOf(event.target.closest("td"));
    if (station >= 0) {
      place(row, station);
    } else if (event.target.closest("th")) {
      toggle(row);
    }
  }
});
room.addEventListener("change", (event) => {
  if (event.target.name === "rows") {
    filter = event.target.value;
  }
});
side.addEventListener("keydown", (event) => {
  if (event.key === "Escape") {
    table()?.querySelector("td[tabindex='0']")?.focus();
  }
});
part("hand")?.addEventListener("submit", (event) => {
  event.preventDefault();
  setByHand(event.target);
});
document.body.addEventListener("htmx:afterSettle", (event) => event.target.id === "room" && begin());
begin();
