// Test day at the keyboard: Enter keeps the row and goes to the next; a name typed above finds its row.
// Without this file the list works too, with one button for all rows and one for each.

const form = document.getElementById("test-day");
const finder = document.getElementById("finder");

// Letters that Unicode does not take apart into a letter and its mark.
const LETTERS = { ł: "l", ø: "o", đ: "d", ı: "i", ß: "ss", æ: "ae" };

function plain(text) {
  const bare = text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();
  return bare.replace(/[łøđıßæ]/g, (letter) => LETTERS[letter]);
}

function visibleInputs() {
  return [...form.querySelectorAll(".entry-row:not([hidden]) .entry-typed")];
}

function keepRow(input) {
  const inputs = visibleInputs();
  const next = inputs[inputs.indexOf(input) + 1];
  if (input.value.trim()) input.closest("tr").querySelector("[name=only]").click();
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

// A row came back from the server. If the button that was pressed went away with the old one, the focus stays near.
function refocus(row) {
  if (document.activeElement !== document.body) return;
  const inputs = visibleInputs();
  const own = row.querySelector(".entry-typed");
  const goal = row.classList.contains("is-marked") ? own : (inputs[inputs.indexOf(own) + 1] ?? own);
  goal?.focus();
}

function find() {
  const words = plain(finder.value).split(/\s+/);
  const rows = [...form.querySelectorAll(".entry-row")];
  for (const row of rows) {
    const name = plain(row.dataset.name);
    row.hidden = !words.every((word) => name.includes(word));
  }
  form.querySelector("[data-none-found]").hidden = rows.some((row) => !row.hidden);
}

if (form) {
  form.querySelector("[data-finder]").hidden = false;
  finder.addEventListener("input", find);
  form.addEventListener("htmx:load", (event) => {
    if (event.target.matches(".entry-row")) refocus(event.target);
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
