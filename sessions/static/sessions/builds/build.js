// While a build is planned: what fits is taken with one press, and a changed step is drawn anew.

const form = document.getElementById("build");

form.addEventListener("click", (event) => {
  const take = event.target.closest("[data-take]");
  if (take) {
    form.querySelectorAll("[name=step]")[take.dataset.take].value = take.dataset.value;
    form.querySelector("[data-draw]").click();
  }
});
form.addEventListener("change", (event) => {
  if (event.target.name === "step" && form.reportValidity()) {
    form.querySelector("[data-draw]").click();
  }
});
