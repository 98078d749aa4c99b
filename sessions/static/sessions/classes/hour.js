// The hour of a class as its page draws it: parts as high as they are long, minutes by keys, parts moved by keys. What a
// button does is done by the server (classes/forms.py); here only what is seen at once.

const LEAST = 2.6; // rem, of a part of few minutes
const KINDS = { ArrowUp: "up", ArrowDown: "down" };
let moved = null; // the part to be focused when the server has answered

document.addEventListener("keydown", (event) => {
  const part = event.target.closest("[data-part]");
  if (!part) return;
  const act = event.altKey && KINDS[event.key];
  const minutes = part.querySelector("input[inputmode=numeric]");
  if (act) press(part, act);
  else if ((event.key === "+" || event.key === "-") && minutes && !event.target.matches("textarea, select")) {
    change(minutes, event.key === "+" ? 1 : -1);
  } else return;
  event.preventDefault();
});

function press(part, act) {
  const button = part.querySelector(`button[value^="${act}."]`);
  if (!button) return;
  moved = Number(part.dataset.part) + (act === "up" ? -1 : 1);
  button.click();
}

function change(input, by) {
  input.value = Math.max(1, (Number(input.value || input.placeholder) || 0) + by);
  draw();
}

document.addEventListener("input", (event) => event.target.matches(".hour-minutes input") && draw());
document.addEventListener("htmx:afterSwap", () => {
  draw();
  if (moved !== null) document.querySelector(`[data-part="${moved}"] textarea`)?.focus();
  moved = null;
});

// The plus and minus of a part count here, without the server.
document.addEventListener("click", (event) => {
  const step = event.target.closest(".hour-step");
  if (!step) return;
  event.preventDefault();
  event.stopPropagation();
  change(step.parentNode.querySelector("input"), step.value.startsWith("more") ? 1 : -1);
}, true);

function draw() {
  const hour = document.querySelector("#hour");
  const parts = [...hour.querySelectorAll("[data-part]")];
  const lengths = parts.map(minutesOf);
  const total = lengths.reduce((sum, minutes) => sum + minutes, 0);
  const most = Number(hour.dataset.classMinutes);
  let starts = 0;
  parts.forEach((part, n) => {
    part.style.setProperty("--minutes", lengths[n]);
    part.style.setProperty("--least", `${LEAST}rem`);
    part.querySelector("[data-start]").textContent = starts;
    const bar = hour.querySelector(`[data-bar="${n}"]`);
    bar?.setAttribute("x", starts);
    bar?.setAttribute("width", lengths[n]);
    starts += lengths[n];
  });
  const bar = hour.querySelector(".hour-bar");
  bar.setAttribute("viewBox", `0 0 ${Math.max(total, most, 1)} 4`);
  hour.querySelector("[data-total]").textContent = total;
  const problem = hour.querySelector("[data-problem]");
  if (total > most) problem.textContent = `${total - most} min more than a class has.`;
  else if (problem.textContent.endsWith("than a class has.")) problem.textContent = "";
}

function minutesOf(part) {
  const input = part.querySelector("input[inputmode=numeric]");
  return Number(input ? input.value || input.placeholder : part.dataset.minutes) || 0;
}

draw();

// What was typed is never lost by a slip: leaving asks, and Ctrl S saves.
const page = document.getElementById("class");
let unsaved = false;
page.addEventListener("input", () => (unsaved = true));
document.addEventListener("htmx:afterSwap", () => (unsaved = true));
page.addEventListener("submit", () => (unsaved = false));
addEventListener("beforeunload", (event) => unsaved && event.preventDefault());
document.addEventListener("keydown", (event) => {
  if (event.key === "s" && (event.ctrlKey || event.metaKey)) {
    event.preventDefault();
    page.requestSubmit();
  }
});
