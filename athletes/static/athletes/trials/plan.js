// Planning a test day: all athletes at once or none, and only the machines that a chosen test needs.
// Without this file every box stands there, to be ticked one by one.

const form = document.querySelector("[data-plan]");
const needs = JSON.parse(document.getElementById("needs").textContent);
const boxes = (name) => [...form.querySelectorAll(`input[type=checkbox][name=${name}]`)];

function allOrNone(name) {
  const line = document.createElement("div");
  line.className = "row";
  for (const [text, ticked] of [["All", true], ["None", false]]) {
    const button = document.createElement("button");
    Object.assign(button, { type: "button", className: "button button-plain button-small", textContent: text });
    button.addEventListener("click", () => {
      for (const box of boxes(name)) box.checked = ticked;
      fold();
    });
    line.append(button);
  }
  boxes(name)[0]?.closest("fieldset").querySelector("legend").after(line);
}

// A machine that is folded away stays as it is ticked: no heat uses it.
function fold() {
  const wanted = new Set();
  for (const name of ["benchmarks", "pick"]) {
    for (const { checked, value } of boxes(name)) if (checked) wanted.add(needs[name][value]);
  }
  const lines = boxes("machines").map((box) => [box.closest("label").parentElement, wanted.has(needs.machines[box.value])]);
  for (const [line, needed] of lines) line.hidden = !needed;
  const away = lines.filter(([, needed]) => !needed).length;
  const line = form.querySelector("[data-folded]");
  line.hidden = !away;
  line.textContent = away === 1 ? "1 machine is folded away: no chosen test needs it." : `${away} machines are folded away: no chosen test needs them.`;
}

allOrNone("athletes");
form.addEventListener("change", fold);
fold();
