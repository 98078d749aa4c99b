// How the grid is read: by name or heat by heat, and only those whose name is looked for.

import { finderOf } from "../people/names.js";
import { inputOf, typedIn } from "./cells.js";

const STORE = "grid-order"; // of all test days: who stands at the machines reads every one by heat

export function orderOf(box, cells) {
  const choice = box.querySelector("[data-order]");
  const field = box.querySelector("[data-find-name]");
  const tables = [...box.querySelectorAll("[data-read]")];
  // Each planned cell and the empty one of the other order: they change places, so that what is typed goes along.
  const homes = [...box.querySelectorAll("[data-home]")].map((home) => [cells.get(home.dataset.home), home]);
  let order = "name";

  function read(by) {
    if (by !== order) for (const [cell, home] of homes) change(cell, home);
    order = by;
    for (const table of tables) table.hidden = table.dataset.read !== order;
  }

  function change(cell, home) {
    const mark = document.createComment("");
    cell.replaceWith(mark);
    home.replaceWith(cell);
    mark.replaceWith(home);
  }

  function find() {
    const found = finderOf(field.value);
    for (const row of box.querySelectorAll("[data-find]")) row.hidden = !found(row.dataset.find);
    for (const heat of box.querySelectorAll("[data-read=heat] tbody")) heat.hidden = !heat.querySelector("[data-find]:not([hidden])");
    box.querySelector("[data-none-found]").hidden = rows().length > 0;
  }

  // What is seen, from the top: the rows of the table that shows which have the name that is looked for.
  function rows() {
    return [...box.querySelectorAll("[data-read]:not([hidden]) [data-find]:not([hidden])")];
  }

  // To the first planned test that has no result, or the first at all, in the order in which Enter goes: by column.
  function first() {
    const planned = rows().flatMap((row) => [...row.querySelectorAll("[data-cell]:not(.grid-off)")]);
    planned.sort((a, b) => a.cellIndex - b.cellIndex);
    const goal = planned.find((cell) => !typedIn(cell)) ?? planned[0];
    if (!goal) return;
    inputOf(goal).focus();
    inputOf(goal).select();
  }

  // The end of what is seen: the next one is called by name again.
  function end() {
    if (!field.value) return;
    field.focus();
    field.select();
  }

  choice.addEventListener("change", () => {
    read(choice.value);
    try {
      localStorage.setItem(STORE, order);
    } catch {
      // it is read so in this page only
    }
  });
  field.addEventListener("input", find);
  field.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.isComposing) return;
    event.preventDefault();
    first();
  });
  try {
    choice.value = localStorage.getItem(STORE) === "heat" ? "heat" : "name";
  } catch {
    choice.value = "name";
  }
  field.value = ""; // a browser that goes back to the page would fill it in again
  read(choice.value);
  return { rows, first, end };
}
