// The week by hand and by keys: a session is dragged, or picked up (M), carried (arrows) and put down (Enter). What a
// move does is done by the server; its message carries the way back, and Ctrl Z presses it.

const week = document.querySelector("[data-week]");
const days = [...week.querySelectorAll("[data-day]")];
const move = document.getElementById("move");
const held = document.getElementById("held");
const ticks = [...week.querySelectorAll("[data-tick]")];
let carried = null; // the session that is picked up
let target = null; // the day it would go to

function dayOf(element) {
  return element?.closest("[data-day]");
}

function mark(day) {
  target?.classList.remove("day-target");
  target = day;
  target?.classList.add("day-target");
}

function pickUp(card) {
  carried = card;
  card.classList.add("is-held");
  mark(dayOf(card));
  say(`${card.dataset.name} is picked up. Choose a day with the arrows, then Enter; Esc leaves it.`);
}

function leave() {
  carried?.classList.remove("is-held");
  carried = null;
  mark(null);
}

function putDown(day) {
  const card = carried;
  const same = day === dayOf(card);
  leave();
  if (!same) {
    move.action = card.dataset.move;
    move.elements.day.value = day.dataset.day;
    move.requestSubmit();
  }
}

function carry(step) {
  const next = days[days.indexOf(target) + step];
  if (next) {
    mark(next);
    say(`${carried.dataset.name} on ${next.querySelector(".day-name").textContent.trim()}?`);
  }
}

function say(words) {
  held.textContent = words;
}

// Focus goes to the first session of the next day that way, or to where one is added.
function go(from, step) {
  for (let at = days.indexOf(dayOf(from)) + step; days[at]; at += step) {
    const place = days[at].querySelector("[data-session]") ?? days[at].querySelector("[data-add]");
    if (place) {
      place.focus();
      return;
    }
  }
}

function goWithin(card, step) {
  const own = [...dayOf(card).querySelectorAll("[data-session], [data-add]")];
  own[own.indexOf(card) + step]?.focus();
}

function tick(card) {
  const box = card.querySelector("[data-tick]");
  box.checked = !box.checked;
  count();
}

function count() {
  const number = ticks.filter((box) => box.checked).length;
  document.querySelector("[data-count]").textContent = number ? `${number} ticked` : "Tick sessions";
}

const KEYS = {
  ArrowLeft: (card) => go(card, -1),
  ArrowRight: (card) => go(card, 1),
  ArrowUp: (card) => goWithin(card, -1),
  ArrowDown: (card) => goWithin(card, 1),
  m: (card) => card.dataset.session && pickUp(card),
  x: (card) => card.dataset.session && tick(card),
  Enter: (card) => card.dataset.session && location.assign(card.dataset.change),
};
const CARRYING = {
  ArrowLeft: () => carry(-1),
  ArrowRight: () => carry(1),
  Enter: () => putDown(target),
  Escape: leave,
};
const ANYWHERE = {
  "/": () => document.getElementById("find").focus(),
  c: () => document.querySelector("#copy [name=into]").focus(),
  p: () => document.querySelector("[data-review]")?.click(),
  n: () => (dayOf(document.activeElement) ?? days[0]).querySelector("[data-add]").click(),
};

document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input:not([type=checkbox]), select, textarea");
  if (event.key.toLowerCase() === "z" && (event.ctrlKey || event.metaKey) && !typing) {
    document.querySelector("[data-undo]")?.click();
    return;
  }
  if (typing || event.ctrlKey || event.metaKey || event.altKey) {
    return;
  }
  // On a link or the tick of a card its keys act on the card; on nothing, arrows go to the first one.
  const place = event.target.closest("[data-session], [data-add]");
  if (!place && !carried && event.target === document.body && event.key.startsWith("Arrow")) {
    (week.querySelector("[data-session]") ?? week.querySelector("[data-add]")).focus();
    event.preventDefault();
    return;
  }
  const act = carried ? CARRYING[event.key] : ((place && KEYS[event.key]) ?? ANYWHERE[event.key]);
  if (act && !(event.key === "Enter" && !carried && !event.target.dataset.session)) {
    event.preventDefault();
    act(place ?? event.target);
  }
});

week.addEventListener("dragstart", (event) => {
  const card = event.target.closest("[data-session]");
  if (card) {
    event.dataTransfer.effectAllowed = "move";
    event.dataTransfer.setData("text/plain", card.dataset.name);
    carried = card;
    card.classList.add("is-held");
  }
});
week.addEventListener("dragover", (event) => {
  if (carried && dayOf(event.target)) {
    event.preventDefault();
    mark(dayOf(event.target));
  }
});
week.addEventListener("drop", (event) => {
  if (carried && dayOf(event.target)) {
    event.preventDefault();
    putDown(dayOf(event.target));
  }
});
week.addEventListener("dragend", leave);
week.addEventListener("change", count);

if (location.hash) {
  document.querySelector(location.hash)?.focus();
}
