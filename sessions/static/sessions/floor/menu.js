// What a tap on a dose offers: easier, harder, swap, undo. One more tap does it; Escape or a tap beside it, nothing.

const GAP = 6; // between the dose and the menu, px
const WORDS = { easier: "to", harder: "to", swap: "to", undo: "back to" };

// `chosen(cell, act)` when something of the menu was tapped. Gives {open(button)}.
export function menuOf(menu, chosen) {
  let from;

  function open(button) {
    from = button;
    const row = button.closest("[data-athlete]");
    menu.querySelector("[data-title]").textContent = `${row.dataset.who}: ${textOf(button)}`;
    const by = menu.querySelector("[data-by]");
    by.textContent = `Set by hand, ${button.dataset.by}`;
    by.hidden = !button.dataset.by;
    for (const link of ["exact", "why"]) menu.querySelector(`[data-${link}]`).href = button.dataset[link];
    for (const choice of menu.querySelectorAll("[data-do]")) {
      const act = choice.dataset.do;
      choice.hidden = !button.dataset[act];
      choice.querySelector("[data-to]").textContent = `${WORDS[act]} ${button.dataset[act]}`;
    }
    lookAhead(button);
    menu.showModal();
    place(menu, button.getBoundingClientRect());
    menu.querySelector("[data-do]:not([hidden])")?.focus();
  }

  // What speaks against harder, and the dose of a swap: the server works it out while the menu is open already. The words
  // have their place kept for them, so that nothing moves under the finger; without a connection they stay away.
  async function lookAhead(button) {
    const said = menu.querySelector("[data-ahead]");
    said.textContent = "";
    try {
      const answer = await fetch(button.dataset.ahead, { cache: "no-store", redirect: "manual" });
      const { harder, swap } = answer.ok ? await answer.json() : {};
      if (from !== button || !menu.open) return;
      if (harder && button.dataset.harder) said.textContent = `Harder: ${harder}`;
      if (swap && button.dataset.swap) menu.querySelector("[data-do=swap] [data-to]").textContent = `to ${swap}`;
    } catch {
      // nothing more to say
    }
  }

  menu.addEventListener("click", (event) => {
    const choice = event.target.closest("[data-do]");
    if (choice) chosen(from.closest("[data-station]"), choice.dataset.do);
    if (choice || event.target === menu || event.target.closest("[data-close]")) menu.close();
  });
  menu.addEventListener("keydown", (event) => {
    const way = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!way) return;
    event.preventDefault();
    const choices = [...menu.querySelectorAll("[data-do]:not([hidden]), [data-why], [data-exact], [data-close]")];
    const next = choices.indexOf(document.activeElement) + way;
    choices[(next + choices.length) % choices.length].focus();
  });
  return { open };
}

function textOf(button) {
  const parts = [".floor-at", ".floor-figure"].map((part) => button.querySelector(part).textContent);
  return parts.join(", ").replace(/\s+/g, " ").trim();
}

// Beside the finger where there is room; on a narrow screen floor.css puts it at the foot, where the thumb is.
function place(menu, dose) {
  const { width, height } = menu.getBoundingClientRect();
  const below = dose.bottom + GAP + height <= innerHeight;
  const top = below ? dose.bottom + GAP : Math.max(GAP, dose.top - GAP - height);
  menu.style.setProperty("--top", `${top}px`);
  menu.style.setProperty("--left", `${Math.max(GAP, Math.min(dose.left, innerWidth - width - GAP))}px`);
}
