// The keyboard: type, Enter, next. `act` does what a key means: keep(cell), back(cell), undo().

import { inputOf, isDirty } from "./cells.js";

const STEPS = { ArrowDown: [1, 0], ArrowUp: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1] };

export function listen(table, act) {
  const rows = () => [...table.tBodies[0].rows];

  // Down from the last row leads to the top of the next column, so that a list is gone through without a mouse.
  function move(cell, down, right) {
    const all = rows();
    let row = all.indexOf(cell.parentElement) + down;
    let column = cell.cellIndex + right;
    if (down && row >= all.length) [row, column] = [0, column + 1];
    else if (down && row < 0) [row, column] = [all.length - 1, column - 1];
    const goal = all[row]?.cells[column]?.querySelector(".grid-typed");
    goal?.focus();
    goal?.select();
  }

  // Left and right move inside a text first, and on from its end.
  function leaves(input, right) {
    const whole = input.selectionStart === 0 && input.selectionEnd === input.value.length;
    const edge = right > 0 ? input.value.length : 0;
    return whole || (input.selectionStart === edge && input.selectionEnd === edge);
  }

  table.addEventListener("keydown", (event) => {
    if (!event.target.matches(".grid-typed") || event.isComposing || event.altKey) return;
    const cell = event.target.closest("[data-cell]");
    const command = event.ctrlKey || event.metaKey;
    const [down, right] = STEPS[event.key] ?? [];
    if (event.key === "Enter" && !command) {
      act.keep(cell);
      move(cell, event.shiftKey ? -1 : 1, 0);
    } else if (event.key === "Escape") act.back(cell);
    else if (command && event.key.toLowerCase() === "z" && !event.shiftKey && !isDirty(cell)) act.undo();
    else if (down && !command && !event.shiftKey) move(cell, down, 0);
    else if (right && !command && !event.shiftKey && leaves(event.target, right)) move(cell, 0, right);
    else return;
    event.preventDefault();
  });

  // Leaving a cell in any way keeps what was typed.
  table.addEventListener("focusout", (event) => {
    const cell = event.target.closest("[data-cell]");
    if (cell && event.target === inputOf(cell)) act.left(cell);
  });
}
