// The notice of pain and stops asks again by itself (htmx). Here: what to do when it does not get its answer, because a
// notice that has fallen silent looks like a room where all is well.

const LATE = { offline: "there is no connection.", out: "you are signed out. Sign in again." };

function sayLate(words) {
  const line = document.querySelector("[data-flags-late]");
  if (!line) return;
  line.hidden = !words;
  line.querySelector("span").textContent = words;
}

const isNotice = (event) => event.detail.target?.id === "flags" || event.target.id === "flags";

for (const failed of ["htmx:sendError", "htmx:timeout", "htmx:responseError"]) {
  document.addEventListener(failed, (event) => isNotice(event) && sayLate(LATE.offline));
}
document.addEventListener("htmx:beforeSwap", (event) => {
  if (!isNotice(event)) return;
  const { xhr } = event.detail;
  if (xhr.status === 204) return sayLate("");
  // The page to sign in at, in place of the notice: it must not take its place.
  if (xhr.status === 200 && !xhr.responseText.includes('id="flags"')) {
    event.detail.shouldSwap = false;
    sayLate(LATE.out);
  }
});

// The button that said “seen” went away with its line: on to the next one.
document.addEventListener("htmx:afterSwap", (event) => {
  if (!isNotice(event) || event.detail.requestConfig?.verb !== "post") return;
  (document.querySelector("#flags .button") ?? document.getElementById("flags"))?.focus();
});
