// The service worker of one personal link. Its first line, written by the server, is `const APP = {…}`:
//   version  changes with the content of every script and sheet below
//   home, pages, assets, fixed (what the addresses of immutable files look like), athlete, token, api, outbox
//
// Pages: the network first, for a short while, then what was seen last, with the moment it was seen. Files whose name
// says their content: the kept one first. Logs that wait are sent when the browser says that there is a network again.
// The whole link and the address at which an installed app begins are answered in the same way; the network gives this
// phone its cookie anew and leads on.
//
// An earlier version had its worker and its pages under the whole link. That worker becomes this one too, takes those
// pages away then, not before, and leads on from there.

importScripts(APP.outbox);

const FOLDER = APP.home.slice(0, -1);
const FAMILY = `coachhub ${FOLDER}`; // all that is kept of this link
const OWN = `coachhub ${new URL(registration.scope).pathname.replace(/\/?$/, "/")} `;
const KEPT = `coachhub ${APP.home} ${APP.version}`;
const PATIENCE_MS = 2_500;
const OLD_MS = 600_000; // the pages nobody looked at are asked for again after so long
const SEEN = "Seen-At";
const FIXED = new RegExp(APP.fixed);
const logs = outbox.of(APP);
let closed = false; // the link is gone: nothing is kept any more while this worker waits for its last page to close

addEventListener("install", (event) => event.waitUntil(fill().then(() => skipWaiting())));
addEventListener("activate", (event) => event.waitUntil(drop(outdated).then(() => clients.claim())));
addEventListener("sync", (event) => event.waitUntil(sendOrFail()));

addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname, searchParams } = new URL(request.url);
  if (closed || request.method !== "GET" || origin !== location.origin) return;
  const byLink = !pathname.startsWith(APP.home) || searchParams.has("key");
  if (request.mode === "navigate" && byLink) event.respondWith(page(event, withoutKey(pathname), true));
  else if (APP.pages.includes(pathname) && request.mode === "navigate") event.respondWith(page(event, pathname));
  else if (APP.pages.includes(pathname)) event.respondWith(newest(event, pathname));
  else if (APP.assets.includes(pathname) || FIXED.test(pathname)) event.respondWith(asset(event, pathname));
});

function withoutKey(pathname) {
  return APP.home + pathname.slice(FOLDER.length).replace(/^[^/]*\/?/, "");
}

// All or nothing: a new version takes over when it has everything that its pages need.
async function fill() {
  const cache = await caches.open(KEPT);
  await Promise.all([...APP.pages, ...APP.assets].map((path) => fetchInto(cache, path)));
}

async function fetchInto(cache, path) {
  const answer = await fetch(path, { cache: "no-cache" });
  if (!answer.ok) throw new Error(`${path}: ${answer.status}`);
  await cache.put(path, await stamped(answer));
}

const outdated = (name) => name.startsWith(OWN) && name !== KEPT;

async function drop(meant) {
  const names = (await caches.keys()).filter((name) => name.startsWith(FAMILY) && meant(name));
  await Promise.all(names.map((name) => caches.delete(name)));
}

async function page(event, path, byLink = false) {
  const cache = await caches.open(KEPT);
  const fresh = fetch(event.request).then((answer) => (byLink ? ledOn : learn)(event, answer, path, cache));
  event.waitUntil(fresh.catch(() => null));
  const answer = await soon(fresh);
  if (answer && answer.status < 500) return answer;
  const kept = await (byLink ? caches : cache).match(path); // an earlier version's worker may keep nothing itself
  return kept ? withAge(kept) : fresh;
}

// Where the whole link leads on to no page, it is closed or only mistyped: the link as this phone has it tells.
async function ledOn(event, answer) {
  if (answer.status === 410) await newest(event, APP.home, APP.home).catch(() => null);
  return answer;
}

// A page that a script asks for: what the network says, and from then on that is the one kept.
async function newest(event, path, asked = event.request) {
  return learn(event, await fetch(asked), path, await caches.open(KEPT));
}

// What the network says of a page: to be kept, or that the link is gone, and then nothing private stays here.
async function learn(event, answer, path, cache) {
  if (answer.status === 410 || (answer.status === 404 && path === APP.home)) {
    closed = true;
    await drop(() => true);
    await registration.unregister();
  } else if (answer.ok && !answer.redirected && !new URL(event.request.url).search) {
    const copy = answer.clone();
    event.waitUntil(stamped(copy).then((page) => cache.put(path, page)).then(() => refresh(cache)));
  }
  return answer;
}

// While there is a network, the pages nobody opens stay fresh too: they are the ones wanted without it.
async function refresh(cache) {
  for (const path of APP.pages) {
    const kept = await cache.match(path);
    if (kept && Date.now() - Number(kept.headers.get(SEEN)) > OLD_MS) await fetchInto(cache, path).catch(() => null);
  }
}

async function asset(event, path) {
  const cache = await caches.open(KEPT);
  const kept = await cache.match(path);
  if (kept && FIXED.test(path)) return kept;
  const fresh = fetch(event.request);
  const answer = await soon(fresh);
  if (answer?.ok) event.waitUntil(cache.put(path, answer.clone()));
  return answer ?? kept ?? fresh;
}

// The answer, or null when the network fails or takes too long.
function soon(fresh) {
  const patience = new Promise((resolve) => setTimeout(resolve, PATIENCE_MS, null));
  return Promise.race([fresh.catch(() => null), patience]);
}

async function stamped(answer) {
  const headers = new Headers(answer.headers);
  headers.set(SEEN, Date.now());
  for (const name of ["Content-Encoding", "Content-Length"]) headers.delete(name); // of the packed form
  return new Response(await answer.blob(), { status: answer.status, headers });
}

// The page says itself how old it is: it finds the moment in its first element.
async function withAge(kept) {
  const text = await kept.text();
  const marked = text.replace("<html ", `<html data-seen="${kept.headers.get(SEEN)}" `);
  return new Response(marked, { headers: kept.headers });
}

async function sendOrFail() {
  if (!(await logs.send())) throw new Error("Some logs wait still."); // the browser asks again later
}
