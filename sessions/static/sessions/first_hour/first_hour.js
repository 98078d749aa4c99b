// The first hour with script: Ctrl Enter goes on, + and − count here, the time zone is guessed from the browser.
// Without it the same buttons are answered by the server.

const step = document.getElementById("step");

document.addEventListener("keydown", (event) => {
  if (step && event.key === "Enter" && (event.ctrlKey || event.metaKey)) {
    event.preventDefault();
    step.requestSubmit(document.querySelector(".hour-bar button[form='step']"));
  }
});

const zone = document.querySelector("select[data-guess]");
const guess = Intl.DateTimeFormat().resolvedOptions().timeZone;
if (zone && [...zone.options].some((option) => option.value === guess)) zone.value = guess;

for (const button of document.querySelectorAll(".hour-count button")) {
  button.addEventListener("click", (event) => {
    event.preventDefault();
    const field = button.parentElement.querySelector("input");
    const next = Number(field.value || 0) + (button.name === "more" ? 1 : -1);
    field.value = Math.min(Math.max(next, 0), Number(field.max));
  });
}
