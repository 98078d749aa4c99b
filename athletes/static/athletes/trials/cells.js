// One cell of the grid: what stands there, what is typed, and what is said under it.

export const inputOf = (cell) => cell.querySelector(".grid-typed");
export const typedIn = (cell) => inputOf(cell).value.trim();
export const isDirty = (cell) => typedIn(cell) !== cell.dataset.kept;

// What an entry of the server says: the effort that stands, and how it reads.
export function take(cell, entry) {
  const data = cell.dataset;
  Object.assign(data, { effort: entry.effort, kept: entry.typed, shown: entry.shown, by: entry.by });
  if (entry.best) data.best = "";
  else delete data.best;
}

// Shows a cell: `entry` is what waits for it in the queue, nothing where nothing does.
export function show(cell, entry, choose) {
  const { data, input, note } = { data: cell.dataset, input: inputOf(cell), note: cell.querySelector(".grid-note") };
  const state = entry?.held?.state ?? (entry ? "waiting" : Number(data.effort) ? "saved" : "");
  const signature = [state, entry?.held?.words, data.effort, data.best, data.kept, entry?.typed].join("|");
  if (data.drawn === signature) return;
  data.drawn = signature;
  data.state = state;
  if (["questioned", "refused", "changed"].includes(state)) input.setAttribute("aria-invalid", "true");
  else input.removeAttribute("aria-invalid");
  note.replaceChildren(...words(cell, entry, state));
  cell.querySelector(".grid-choice")?.remove();
  if (state === "questioned" || state === "changed") cell.append(choices(cell, entry, state, choose));
}

function words({ dataset }, entry, state) {
  if (state === "waiting") return ["waiting"];
  if (state === "changed") return [`${entry.held.words} ${entry.typed ? `You typed ${entry.typed}.` : "You emptied it."}`];
  if (entry?.held) return [entry.held.words];
  if (!state) return [dataset.expects];
  const parts = dataset.shown === dataset.kept ? ["saved"] : [`saved: ${dataset.shown}`];
  if ("best" in dataset) {
    const best = document.createElement("span");
    best.className = "grid-best";
    best.textContent = " · personal best";
    parts.push(best);
  }
  return parts;
}

function choices(cell, entry, state, choose) {
  const line = document.createElement("span");
  line.className = "grid-choice";
  const keep = state === "questioned" ? `Keep ${entry.typed}` : entry.typed ? `Use ${entry.typed}` : "Empty it";
  const back = state === "questioned" ? "Correct" : cell.dataset.kept ? `Leave ${cell.dataset.kept}` : "Leave it empty";
  for (const [act, text] of [["keep", keep], ["back", back]]) {
    const button = document.createElement("button");
    Object.assign(button, { type: "button", className: "button button-plain button-small", textContent: text });
    button.addEventListener("click", () => choose(cell, act));
    line.append(button);
  }
  return line;
}
