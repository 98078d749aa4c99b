// Keys of the review: Ctrl Enter publishes, never Enter alone; Esc goes back to the week; arrows go from day to day.

const days = [...document.querySelectorAll(".review-days a")];

document.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) {
    document.getElementById("publish")?.requestSubmit();
  } else if (event.key === "Escape") {
    document.querySelector("[data-back]")?.click();
  } else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
    const here = days.indexOf(document.activeElement);
    if (here >= 0) {
      event.preventDefault();
      days[here + (event.key === "ArrowDown" ? 1 : -1)]?.focus();
    }
  }
});
