// The rows of a floor sheet, as the server last told them.

const SETTLE_MS = 2_500; // rows stay where the finger is until it rests
const ACTS = { doses: "menu", attendance: "came", logs: "log", starts: "menu", offers: "menu" };
const COUNTED = {
  "[data-all]": "[data-athlete]",
  "[data-logged]": "tr[data-logged]",
};

// `sheet`: the box with data-plan; `moved()` comes after rows changed their places. Gives {of(athlete), take(answer,
// all), place(athlete), mark(taps), count()}.
export function rowsOf(sheet, moved) {
  let settling;
  const of = (athlete) => sheet.querySelector(`[data-athlete="${athlete}"]`);
  const group = (number) => sheet.querySelector(`[data-group-of="${number}"]`);

  // New rows for old ones, with `all` even where nothing seems new: what was tapped is shown as if it were done.
  function take({ html, order, plan }, all = false) {
    if (plan !== Number(sheet.dataset.plan)) return location.reload(); // published again
    const fresh = document.createElement("template");
    fresh.innerHTML = html;
    for (const row of fresh.content.querySelectorAll("[data-athlete]")) {
      const old = of(row.dataset.athlete);
      if (!old) group(row.dataset.group).append(row);
      else if (all || old.dataset.tag !== row.dataset.tag) replace(old, row);
    }
    clearTimeout(settling);
    if (all) settling = setTimeout(() => arrange(order), SETTLE_MS);
    else arrange(order);
  }

  // Everyone under the station where they begin, who is here first.
  function arrange(order) {
    const rows = [...sheet.querySelectorAll("[data-athlete]")];
    const stands = rows.map(({ dataset }) => `${dataset.athlete} ${dataset.group}`);
    const wanted = [...order].sort((a, b) => a[1] - b[1]).map(([athlete, number]) => `${athlete} ${number}`);
    if (stands.join() === wanted.join()) return;
    const known = new Set(order.map(([athlete]) => String(athlete)));
    for (const row of rows) if (!known.has(row.dataset.athlete)) row.remove();
    const focus = sheet.contains(document.activeElement) ? document.activeElement : null;
    for (const [athlete, number] of order) {
      const row = of(athlete);
      if (!row) continue;
      group(number).hidden = false;
      group(number).append(row);
    }
    if (focus && focus !== document.activeElement) focus.focus(); // it was lost as its row moved
    moved();
  }

  // Where somebody begins, in the words of the sheet.
  function place(athlete) {
    const heading = group(of(athlete)?.dataset.group)?.querySelector("[scope=rowgroup]");
    return heading ? heading.textContent.trim().replace(/\s+/g, " ") : "";
  }

  // What waits to be sent is shown as it will be, and says that it waits.
  function mark(taps) {
    for (const node of sheet.querySelectorAll("[data-waiting]")) delete node.dataset.waiting;
    for (const node of sheet.querySelectorAll("[data-waits]")) node.textContent = "";
    for (const node of sheet.querySelectorAll("[data-act][aria-disabled]")) node.removeAttribute("aria-disabled");
    for (const { kind, body } of taps) {
      const row = of(body.athlete);
      const place = row?.querySelector(`[data-station="${body.station}"]`) ?? row;
      const act = place?.querySelector(`[data-act=${ACTS[kind]}]`);
      if (!act) continue;
      if (kind === "attendance") act.setAttribute("aria-pressed", body.came);
      else act.setAttribute("aria-disabled", "true");
      place.dataset.waiting = kind;
      if (kind === "logs") row.querySelector("[data-waits]").textContent = "not sent yet";
    }
  }

  function count() {
    for (const [place, what] of Object.entries(COUNTED)) set(sheet.querySelector(`.floor-counts ${place}`), what);
    set(document.querySelector("[data-listed]"), "tr[data-athlete]");
    set(document.querySelector("[data-came]"), "[data-act=came][aria-pressed=true]");
  }

  function set(node, what) {
    const number = String(sheet.querySelectorAll(what).length);
    if (node && node.textContent !== number) node.textContent = number;
  }

  return { of, take, place, mark, count };
}

// The focus stays on the same part of the row, and what is chosen there stays chosen.
function replace(old, row) {
  const part = old.contains(document.activeElement) ? document.activeElement.dataset.part : null;
  const chosen = old.querySelector("[data-rpe]")?.value;
  const rpe = row.querySelector("[data-rpe]");
  if (rpe && chosen) rpe.value = chosen;
  row.hidden = old.hidden;
  old.replaceWith(row);
  if (part) (row.querySelector(`[data-part="${part}"]`) ?? row.querySelector("[data-part=more]"))?.focus();
}
