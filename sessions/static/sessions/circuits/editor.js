// A circuit in fields: stations and swaps come, go and move; names are renumbered so that the server reads them in order.
// The fields come and go with the sheet (sheet.js), which hears of every change.

const form = document.getElementById("circuit");
const stations = () => document.getElementById("stations");

function announce() {
  form.dispatchEvent(new Event("changed-fields"));
}

function renumber() {
  [...stations().children].forEach((station, s) => {
    station.querySelector("[data-number]").textContent = s + 1;
    rename(station, /^stations\.\d+/, `stations.${s}`);
    [...station.querySelectorAll("[data-option]")].forEach((option, o) => {
      rename(option, /\.options\.\d+/, `.options.${o}`);
      option.querySelector("[data-remove-option]").hidden = o === 0;
      option.querySelector("label").textContent = o === 0 ? "Movement" : "Swap to";
    });
  });
}

function rename(part, pattern, replacement) {
  for (const attribute of ["name", "id", "for", "aria-describedby"]) {
    for (const element of part.querySelectorAll(`[${attribute}]`)) {
      element.setAttribute(attribute, element.getAttribute(attribute).replace(pattern, replacement));
    }
  }
}

// Only the ways of measuring that the chosen movement has, and of the ways to write a load, where one is lifted, the one
// that is chosen.
function fitKinds(option) {
  const movement = option.querySelector("[data-movement]");
  const kind = option.querySelector("[data-kind]");
  const kinds = (movement.selectedOptions[0]?.dataset.kinds || "").split(" ").filter(Boolean);
  for (const choice of kind.options) {
    choice.hidden = choice.disabled = kinds.length > 0 && !kinds.includes(choice.value);
  }
  if (kinds.length && !kinds.includes(kind.value)) {
    kind.value = kinds[0];
  }
  const lifted = kind.value === "load_repetitions";
  option.querySelector("[data-load]").hidden = !lifted;
  const chosen = option.querySelector("[data-load-way]").value;
  for (const way of option.querySelectorAll("[data-way]")) {
    way.hidden = way.dataset.way !== chosen;
    way.querySelector("input").disabled = !lifted || way.hidden;
  }
}

function add(parent, part) {
  parent.append(part);
  renumber();
  fitKinds(part.matches("[data-option]") ? part : part.querySelector("[data-option]"));
  part.querySelector("[data-movement]").focus();
}

function freshStation() {
  return document.getElementById("blank-station").content.firstElementChild.cloneNode(true);
}

const ACTIONS = {
  "[data-add-station]": () => add(stations(), freshStation()),
  "[data-add-option]": (button) =>
    add(button.closest("[data-station]").querySelector("[data-options]"), freshStation().querySelector("[data-option]")),
  "[data-remove-station]": (button) => takeOut(button.closest("[data-station]"), "[data-remove-station]"),
  "[data-remove-option]": (button) => takeOut(button.closest("[data-option]"), "[data-remove-option]"),
  "[data-up]": (button) => swap(button.closest("[data-station]").previousElementSibling, button),
  "[data-down]": (button) => swap(button.closest("[data-station]"), button),
};

// Whoever took it out by keyboard goes on at its neighbour, or else where the next one is added.
function takeOut(part, buttons) {
  const neighbour = part.nextElementSibling ?? part.previousElementSibling;
  const added = part.closest("[data-station]").querySelector("[data-add-option]");
  part.remove();
  const next = neighbour?.querySelector(`${buttons}:not([hidden])`);
  (next ?? (added.isConnected ? added : form.querySelector("[data-add-station]"))).focus();
}

function swap(first, button) {
  const second = first?.nextElementSibling;
  if (second) {
    stations().insertBefore(second, first);
    button.focus();
  }
}

form.addEventListener("click", (event) => {
  for (const [selector, act] of Object.entries(ACTIONS)) {
    const button = event.target.closest(selector);
    if (button) {
      act(button);
      renumber();
      announce();
    }
  }
});
form.addEventListener("change", (event) => {
  const option = event.target.closest("[data-option]");
  if (option && event.target.matches("[data-movement], [data-kind], [data-load-way]")) {
    fitKinds(option);
  }
});
// What the sheet asks for: the fields were put in place.
form.addEventListener("fields-shown", () => stations().querySelectorAll("[data-option]").forEach(fitKinds));
stations()?.querySelectorAll("[data-option]").forEach(fitKinds);
form.addEventListener("reordered", () => {
  renumber();
  announce();
});
