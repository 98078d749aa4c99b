// Settings: the switches of the clock, the home screen, and what this phone keeps.

import { switches } from "../clock/signals.js";
import { addresses, logs } from "./app.js";
import { lately } from "./days.js";
import { listOutbox } from "./unsent.js";

const FOLDER = addresses.home.slice(0, -1); // with what an earlier version kept under the whole link
const FAMILY = `coachhub ${FOLDER}`;
const FORGOTTEN =
  "Nothing of yours is kept on this phone any more, only its random name, by which a link is limited to it. Opening the link again begins anew.";
const KEY_LEFT =
  "Pages and logs are gone from this phone. Its key to your link goes with a network only: forget again when there is one.";
const NO_PAGES =
  "This address has no HTTPS, so this phone cannot keep pages: without a network only your logs are kept.";
const zone = document.body.dataset.zone;
const install = document.querySelector("[data-install]");
const forget = document.querySelector("[data-forget]");
let offered = null;

switches(document.querySelector("[data-switches]"));
listOutbox(document.querySelector("[data-outbox]"));
listKept();

// ---- the home screen ----

addEventListener("beforeinstallprompt", (event) => {
  event.preventDefault(); // this page asks, not the browser
  offered = event;
  install.hidden = false;
});
addEventListener("appinstalled", () => (install.hidden = true));
install.querySelector("button").addEventListener("click", () => offered?.prompt());

// ---- what is kept ----

async function listKept() {
  const lines = [...(await pagesKept()), ...(await logsKept())];
  const items = lines.map((words) => Object.assign(document.createElement("li"), { textContent: words }));
  document.querySelector("[data-kept-list]").replaceChildren(...items);
  forget.hidden = false;
}

async function pagesKept() {
  if (!("caches" in self)) return [NO_PAGES];
  const lines = [];
  for (const name of (await caches.keys()).filter((name) => name.startsWith(FAMILY))) {
    const cache = await caches.open(name);
    for (const { url } of (await cache.keys()).filter(({ url }) => url.includes(addresses.home))) {
      const page = new URL(url).pathname.slice(addresses.home.length, -1) || "today";
      const seen = Number((await cache.match(url)).headers.get("Seen-At"));
      lines.push(`Page ${page}, seen ${lately(seen, zone)}`);
    }
  }
  return lines;
}

async function logsKept() {
  const records = await logs.all();
  const waiting = records.filter((record) => record.state !== "sent").length;
  const asked = forget.querySelector("[data-forget-question]");
  const logsAre = waiting === 1 ? "log is" : "logs are";
  const lost = `${waiting} ${logsAre} not sent yet and would be lost. Send first, or forget all the same.`;
  if (waiting) asked.textContent = lost;
  return records.length ? [`Logs: ${records.length}, of which ${waiting} not sent`] : [];
}

forget.querySelector("button").addEventListener("click", async () => {
  // The workers first: one that still asks for a page would be given the key again.
  const workers = (await navigator.serviceWorker?.getRegistrations()) ?? [];
  const own = workers.filter(({ scope }) => new URL(scope).pathname.startsWith(FOLDER));
  await Promise.all(own.map((worker) => worker.unregister()));
  const body = new URLSearchParams({ forget: "1" }); // the key, which no script can take away
  const answer = await fetch(`${addresses.home}device/`, { method: "POST", body }).catch(() => null);
  if ("caches" in self) {
    const names = (await caches.keys()).filter((name) => name.startsWith(FAMILY));
    await Promise.all(names.map((name) => caches.delete(name)));
  }
  await logs.forget();
  try {
    localStorage.removeItem("clock-signals");
    const own = Object.keys(localStorage).filter((name) => /^(class|seen) /.test(name) && name.includes(addresses.athlete));
    own.forEach((name) => localStorage.removeItem(name));
  } catch {
    // nothing was kept there
  }
  document.querySelector("[data-kept]").textContent = answer?.ok ? FORGOTTEN : KEY_LEFT;
  document.querySelector("[data-kept-list]").replaceChildren();
  forget.hidden = Boolean(answer?.ok);
});
