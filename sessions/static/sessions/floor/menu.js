// What a tap on a dose offers: easier, harder, swap, rest, undo. One more tap does it; Escape or a tap beside it, nothing.

const SETTLE_MS = 250; // a finger that opened the menu does not choose in it

// `chosen(cell, act)` when something of the menu was tapped, `begins(cell)` for a start there, `allEasier(cell)` for all
// stations of the athlete. Gives {open(button)}.
export function menuOf(menu, { chosen, begins, allEasier }) {
  let openedMs = 0;
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
      choice.querySelector("[data-to]").textContent = button.dataset[act] ?? "";
    }
    menu.querySelector("[data-start-here]").hidden = button.dataset.start === undefined || Boolean(button.closest(".is-start"));
    menu.querySelector("[data-do-all]").hidden = !button.dataset.easier;
    for (const other of document.querySelectorAll(".is-chosen")) other.classList.remove("is-chosen");
    button.closest("[data-station]").classList.add("is-chosen");
    lookAhead(button);
    menu.showModal();
    openedMs = performance.now();
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
      if (swap && button.dataset.swap) menu.querySelector("[data-do=swap] [data-to]").textContent = swap;
    } catch {
      // nothing more to say
    }
  }

  menu.addEventListener("click", (event) => {
    if (event.detail > 0 && performance.now() - openedMs < SETTLE_MS) return;
    const [choice, start, all] = ["[data-do]", "[data-start-here]", "[data-do-all]"].map((one) => event.target.closest(one));
    const cell = from.closest("[data-station]");
    if (choice) chosen(cell, choice.dataset.do);
    if (start) begins(cell);
    if (all) allEasier(cell);
    if (choice || start || all || event.target === menu || event.target.closest("[data-close]")) menu.close();
  });
  menu.addEventListener("close", () => from?.closest("[data-station]")?.classList.remove("is-chosen"));
  menu.addEventListener("keydown", (event) => {
    const way = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!way) return;
    event.preventDefault();
    const choices = [...menu.querySelectorAll("[data-do]:not([hidden]), [data-start-here]:not([hidden]), [data-do-all]:not([hidden]), [data-why], [data-exact], [data-close]")];
    const next = choices.indexOf(document.activeElement) + way;
    choices[(next + choices.length) % choices.length].focus();
  });
  return { open };
}

function textOf(button) {
  const parts = [".floor-at", ".floor-figure"].map((part) => button.querySelector(part).textContent);
  return parts.join(", now ").replace(/\s+/g, " ").trim();
}
