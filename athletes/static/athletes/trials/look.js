// Results that need a second look: how many there are here and on other devices, the way to the next one, and a warning
// before leaving them.

import { newKey, post } from "../../js/waiting.js";
import { inputOf } from "./cells.js";

const AGAIN_MS = 60_000; // the count is told again, so that one of a device that is gone grows old
const DEVICE = "grid-device";

// `open()` gives the places of those that wait for a person, or for a connection; `order` the rows that are seen.
export function lookOf(box, cells, order, open) {
  const { openUrl } = box.dataset;
  const button = box.querySelector("[data-look]");
  const others = box.querySelector("[data-elsewhere]");
  const device = ownDevice();
  let told = 0;
  let toldAt = 0;

  // To the next one after `cell` in the order in which they are read, and on from the top.
  function next(cell) {
    const places = new Set(open());
    const shown = order.rows().flatMap((row) => [...row.querySelectorAll("[data-cell]")]);
    const all = shown.length ? shown : [...cells.values()];
    const from = all.indexOf(cell);
    const turn = [...all.slice(from + 1), ...all.slice(0, from + 1)];
    const goal = turn.find(({ dataset }) => places.has(dataset.cell)) ?? cells.get([...places][0]);
    if (!goal) return;
    inputOf(goal).focus();
    inputOf(goal).select();
    goal.scrollIntoView({ block: "nearest", inline: "nearest" });
  }

  function draw() {
    const count = open().length;
    button.hidden = !count;
    const words = `${count} need${count === 1 ? "s" : ""} a look`;
    if (count && button.textContent !== words) button.textContent = words;
    if (count !== told || (count && Date.now() - toldAt > AGAIN_MS)) tell(count);
  }

  // Without an answer it is told again with the next change, or later.
  function tell(count) {
    [told, toldAt] = [count, Date.now()];
    post(openUrl, { device, count }).catch(() => (told = -1));
  }

  function elsewhere(list = []) {
    const words = list.map(({ by, count }) => `${count} need${count === 1 ? "s" : ""} a look on another device (${by}).`).join(" ");
    if (others.textContent !== words) others.textContent = words;
  }

  button.addEventListener("click", () => next(document.activeElement?.closest?.("[data-cell]")));
  addEventListener("beforeunload", (event) => {
    if (open().length) event.preventDefault();
  });
  return { next, draw, elsewhere, device };
}

function ownDevice() {
  try {
    const kept = localStorage.getItem(DEVICE);
    if (kept) return kept;
    const made = newKey();
    localStorage.setItem(DEVICE, made);
    return made;
  } catch {
    return newKey();
  }
}
