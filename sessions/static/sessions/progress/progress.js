// The charts of progress: each figure lies in the page as data, and can be saved as a picture.

import { draw, onTheme } from "../../athletes/estimates/chart.js";
import { picture } from "../../athletes/estimates/picture.js";

const panels = [...document.querySelectorAll("[data-figure]")];
const chartOf = (panel) => panel.querySelector(".chart");

async function show(panel) {
  const state = panel.querySelector("[data-state]");
  try {
    panel.figure ??= JSON.parse(document.getElementById(panel.dataset.figure).textContent);
    await draw(chartOf(panel), panel.figure);
    panel.querySelector("[data-pictures]").hidden = false;
    state.textContent = "";
  } catch {
    chartOf(panel).hidden = true;
    state.textContent = "The picture could not be drawn. The table has its values.";
  }
}

async function save(panel, format) {
  const link = document.createElement("a");
  const title = `${document.querySelector("h1").textContent} · ${panel.dataset.title} · ${panel.dataset.day}`;
  link.href = await picture(chartOf(panel), panel.figure, title, format);
  link.download = `${panel.dataset.name}.${format}`;
  link.click();
}

for (const panel of panels) {
  show(panel);
  for (const button of panel.querySelectorAll("[data-save]")) {
    button.addEventListener("click", () => save(panel, button.dataset.save));
  }
}
onTheme(() => panels.filter((panel) => panel.figure).forEach(show));
