// The wall: turns the pages of a long room, and loads itself again so that it never shows an old board for long.

const TURN_MS = 12_000;
const RELOAD_MS = 60_000;

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

// A reload only when the server answers: a board that stays is better than an error page on a wall.
if (document.body.hasAttribute("data-live")) {
  setInterval(async () => {
    const answer = await fetch(location.href, { method: "HEAD", cache: "no-store" }).catch(() => null);
    if (answer?.ok) {
      location.reload();
    }
  }, RELOAD_MS);
}
