// The keyboard: type, Enter, next. `act` does what a key means: keep(cell), back(cell), undo(), look(cell); `order` says which rows
// are seen.

import { inputOf, isDirty } from "./cells.js";

const STEPS = { ArrowDown: [1, 0], ArrowUp: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1] };

export function listen(box, order, act) {
  // Down from the last row leads to the top of the next column, so that a list is gone through without a mouse.
  // True where there was a cell to go to.
  function move(cell, down, right, { planned = false } = {}) {
    const all = order.rows();
    let row = all.indexOf(cell.parentElement);
    let column = cell.cellIndex + right;
    let goal;
    do {
      row += down;
      if (down && row >= all.length) [row, column] = [0, column + 1];
      else if (down && row < 0) [row, column] = [all.length - 1, column - 1];
      goal = all[row]?.cells[column];
    } while (planned && goal?.matches(".grid-off"));
    const input = goal?.querySelector(".grid-typed");
    input?.focus();
    input?.select();
    return Boolean(input);
  }

  // Left and right move inside a text first, and on from its end.
  function leaves(input, right) {
    const whole = input.selectionStart === 0 && input.selectionEnd === input.value.length;
    const edge = right > 0 ? input.value.length : 0;
    return whole || (input.selectionStart === edge && input.selectionEnd === edge);
  }

  box.addEventListener("keydown", (event) => {
    if (!event.target.matches(".grid-typed") || event.isComposing || event.altKey) return;
    const cell = event.target.closest("[data-cell]");
    const command = event.ctrlKey || event.metaKey;
    const [down, right] = STEPS[event.key] ?? [];
    if (event.key === "Enter" && command) act.look(cell);
    else if (event.key === "Enter") {
      act.keep(cell);
      // Arrows lead to what nobody planned as well; who types as it is called wants the next that is called.
      if (!move(cell, event.shiftKey ? -1 : 1, 0, { planned: true })) order.end();
    } else if (event.key === "Escape") act.back(cell);
    else if (command && event.key.toLowerCase() === "z" && !event.shiftKey && !isDirty(cell)) act.undo();
    else if (down && !command && !event.shiftKey) move(cell, down, 0);
    else if (right && !command && !event.shiftKey && leaves(event.target, right)) move(cell, 0, right);
    else return;
    event.preventDefault();
  });

  // Leaving a cell in any way keeps what was typed.
  box.addEventListener("focusout", (event) => {
    const cell = event.target.closest("[data-cell]");
    if (cell && event.target === inputOf(cell)) act.left(cell);
  });
}
