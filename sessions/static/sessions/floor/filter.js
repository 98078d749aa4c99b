// Who of the class is shown: by name as it is typed, by the station where they begin, who came, who has not logged.

import { finderOf } from "../../athletes/people/names.js";

// Gives {apply()}, to be called whenever rows changed.
export function filterOf(sheet) {
  const find = sheet.querySelector("[data-find]");
  const group = sheet.querySelector("[data-by-group]");
  const came = sheet.querySelector("[data-only-came]");
  const open = sheet.querySelector("[data-only-open]");

  function fits(row, found) {
    return (
      found(row.dataset.name) &&
      (!group.value || row.dataset.group === group.value) &&
      (!came?.checked || row.querySelector("[data-act=came]").getAttribute("aria-pressed") === "true") &&
      (!open?.checked || !("logged" in row.dataset))
    );
  }

  function apply() {
    const found = finderOf(find.value);
    let shown = 0;
    for (const body of sheet.querySelectorAll("[data-group-of]")) {
      const rows = [...body.querySelectorAll("[data-athlete]")];
      // The row in which somebody types stays until they have left it.
      for (const row of rows) row.hidden = !fits(row, found) && !row.contains(document.activeElement);
      const left = rows.filter((row) => !row.hidden).length;
      body.hidden = !left;
      shown += left;
    }
    sheet.querySelector("[data-none-found]").hidden = shown > 0;
  }

  find.addEventListener("input", apply);
  for (const choice of [group, came, open]) choice?.addEventListener("change", apply);
  return { apply };
}
