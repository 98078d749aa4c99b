// The power–duration curves: a curve, and the chart library itself, are fetched only when a fold is opened.

import { draw, onTheme } from "./chart.js";

const folds = [...document.querySelectorAll("[data-curve]")];

function fill(body, rows) {
  body.replaceChildren(
    ...rows.map((cells) => {
      const row = document.createElement("tr");
      row.append(
        ...cells.map((text, n) => {
          const cell = document.createElement(n ? "td" : "th");
          cell.textContent = text;
          if (!n) cell.scope = "row";
          return cell;
        }),
      );
      return row;
    }),
  );
}

const drawFold = (fold) => draw(fold.querySelector(".chart"), fold.figure);

async function open(fold) {
  const state = fold.querySelector("[data-state]");
  const say = (words) => (state.textContent = words);
  try {
    say("Working it out …");
    const answer = await fetch(fold.dataset.curve, { headers: { Accept: "application/json" } });
    const curve = await answer.json();
    if (!answer.ok) return say(curve.message);
    fold.figure = curve.figure;
    fill(fold.querySelector("[data-values]"), curve.values);
    fill(fold.querySelector("[data-efforts]"), curve.efforts);
    fold.querySelector("[data-table]").hidden = false;
    await drawFold(fold);
    say("");
  } catch {
    say(fold.figure ? "The picture could not be drawn. The table has its values." : "No answer. Close this and open it again.");
  }
}

for (const fold of folds) {
  fold.addEventListener("toggle", () => fold.open && open(fold));
}
onTheme(() => folds.filter((fold) => fold.figure && fold.open).forEach(drawFold));
