// Test day at the keyboard: Enter keeps the row and goes to the next; a name typed above finds its row.
// Without this file the list works too, with one button for all rows and one for each.

import { finderOf } from "../people/names.js";

const form = document.getElementById("test-day");
const finder = document.getElementById("finder");

const NO_CONNECTION = "Not kept yet: no connection. Press Enter to send it again.";
const NOT_TAKEN = "Not kept yet: it was not taken. Press Enter to send it again, or reload the page.";

function visibleInputs() {
  return [...form.querySelectorAll(".entry-row:not([hidden]) .entry-typed")];
}

function keepRow(input) {
  const inputs = visibleInputs();
  const next = inputs[inputs.indexOf(input) + 1];
  if (input.value.trim()) send(input.closest("tr"));
  sendAgain(input.closest("tr"));
  // After a search the next athlete is called by name again.
  if (finder.value) {
    finder.value = "";
    find();
    finder.focus();
  } else if (next) {
    next.focus();
    next.select();
  }
}

function send(row) {
  row.querySelector("[name=only]").click();
}

// What could not be sent before goes with the next result.
function sendAgain(besides) {
  const waiting = [...form.querySelectorAll(".entry-row[data-unsent]")];
  for (const row of waiting) {
    if (row !== besides && row.querySelector(".entry-typed").value.trim()) send(row);
  }
}

// The row stays as it was typed, says why, and keeps its key: sent again it is kept once. The focus stays where it is.
function markUnsent(row, sentence) {
  const input = row.querySelector(".entry-typed");
  const said = row.querySelector("[id^=say-]");
  row.dataset.unsent = "";
  row.classList.remove("is-saved");
  row.classList.add("is-marked");
  input.setAttribute("aria-invalid", "true");
  input.setAttribute("aria-describedby", said.id);
  said.setAttribute("role", "alert");
  const line = document.createElement("p");
  line.className = "field-error";
  line.textContent = sentence;
  said.replaceChildren(line);
}

// A row came back from the server. If the button that was pressed went away with the old one, the focus stays near.
function refocus(row) {
  if (document.activeElement !== document.body) return;
  const inputs = visibleInputs();
  const own = row.querySelector(".entry-typed");
  const goal = row.classList.contains("is-marked") ? own : (inputs[inputs.indexOf(own) + 1] ?? own);
  goal?.focus();
}

function find() {
  const found = finderOf(finder.value);
  const rows = [...form.querySelectorAll(".entry-row")];
  for (const row of rows) row.hidden = !found(row.dataset.name);
  form.querySelector("[data-none-found]").hidden = rows.some((row) => !row.hidden);
}

if (form) {
  form.querySelector("[data-finder]").hidden = false;
  finder.addEventListener("input", find);
  form.addEventListener("htmx:load", (event) => {
    if (event.target.matches(".entry-row")) refocus(event.target);
  });
  for (const failed of ["htmx:sendError", "htmx:timeout"]) {
    form.addEventListener(failed, (event) => markUnsent(event.target.closest(".entry-row"), NO_CONNECTION));
  }
  form.addEventListener("htmx:beforeSwap", (event) => {
    // An error, or the page to sign in at: anything but a row would wipe out what is typed.
    if (event.detail.shouldSwap && event.detail.serverResponse.includes("entry-row")) return;
    event.detail.shouldSwap = false;
    markUnsent(event.target.closest(".entry-row"), NOT_TAKEN);
  });
  form.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.isComposing) return;
    if (event.target === finder) {
      event.preventDefault();
      visibleInputs()[0]?.focus();
    } else if (event.target.matches(".entry-typed")) {
      event.preventDefault();
      keepRow(event.target);
    }
  });
}
