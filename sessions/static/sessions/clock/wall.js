// The wall's board: turns the pages of a long room, and loads itself again when there is another board.
// While a class runs, live.js shows the clock in its place.

const TURN_MS = 12_000;
const LOOK_MS = 60_000;

const screens = [...document.querySelectorAll(".wall-roster")];
let shown = 0;
if (screens.length > 1) {
  setInterval(() => {
    screens[shown].hidden = true;
    shown = (shown + 1) % screens.length;
    screens[shown].hidden = false;
    document.querySelector("[data-screen-number]").textContent = shown + 1;
  }, TURN_MS);
}

// A reload only when the server has something else to show: a board that stays is better than an error page on a wall.
const { live } = document.body.dataset;
if (live !== undefined) {
  setInterval(async () => {
    if (document.body.classList.contains("is-live")) return;
    const answer = await fetch(location.href, { method: "HEAD", cache: "no-store" }).catch(() => null);
    if (answer?.status === 410 || (answer?.ok && answer.headers.get("Board") !== live)) {
      location.reload();
    }
  }, LOOK_MS);
}
