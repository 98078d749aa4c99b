// What a page has for the server and has not been answered for: kept on this device, posted with the site's own token,
// and known by keys of its own, so that sending it twice does its work once.

const PATIENCE_MS = 8_000;
const FIRST_WAIT_MS = 1_000;
const LONGEST_WAIT_MS = 15_000;
const MOST_TRIES = 3; // of what the server stumbles over, before the others go first

// A list under a name. Read again at each change: another tab of the same page has the same list.
export function keptList(store) {
  let kept = []; // where a browser keeps nothing, they wait in this page only
  let storing = true;

  function list() {
    if (!storing) return kept;
    try {
      return JSON.parse(localStorage.getItem(store)) ?? [];
    } catch {
      return kept;
    }
  }

  function change(make) {
    kept = make(list());
    try {
      if (kept.length) localStorage.setItem(store, JSON.stringify(kept));
      else localStorage.removeItem(store);
    } catch {
      storing = false;
    }
  }

  return { list, change };
}

// Sends what waits, one after the other, until nothing does, or the server is away: then again, after longer and longer
// waits, or when `send` is called. `next()`: what is to be sent now, if anything. `answerTo(one)`: its answer, {signedOut}
// or {stumbled}; it rejects where there is no network. `take(one, answer)` takes it off the list; `stumbled(one)` may put
// it behind the others; `changed()` comes whenever something moves.
export function sender({ next, answerTo, take, changed, stumbled = () => {} }) {
  let sending = null;
  let busy = false;
  let signedOut = false;
  let connected = true;
  let stuck = false;
  let wait = FIRST_WAIT_MS;
  let timer;

  async function send() {
    if (busy) return;
    busy = true;
    clearTimeout(timer);
    while ((sending = next() ?? null)) {
      changed();
      const one = sending;
      const answer = await answerTo(one).catch(() => null);
      sending = null;
      connected = answer !== null;
      signedOut = answer?.signedOut ?? false;
      stuck = !connected || signedOut || Boolean(answer.stumbled);
      if (stuck) {
        if (answer?.stumbled) stumbled(one);
        timer = setTimeout(send, wait);
        wait = Math.min(2 * wait, LONGEST_WAIT_MS);
        break;
      }
      wait = FIRST_WAIT_MS;
      take(one, answer);
    }
    busy = false;
    changed();
  }

  addEventListener("online", send);
  return { send, sending: () => sending, signedOut: () => signedOut, connected: () => connected, stuck: () => stuck };
}

// The same list after the server stumbled over one of it: it stays first for a few tries, then the others pass; but
// never another one of the same place, where the later one has to come later.
export function withOthersPassing(waiting, stumbled, keyOf, placeOf) {
  const again = { ...stumbled, tries: (stumbled.tries ?? 0) + 1 };
  const others = waiting.filter((other) => keyOf(other) !== keyOf(stumbled));
  if (again.tries % MOST_TRIES) return [again, ...others];
  const samePlace = (other) => placeOf(other) === placeOf(stumbled);
  return [...others.filter((other) => !samePlace(other)), again, ...others.filter(samePlace)];
}

// {signedOut}, {stumbled}, or the server's `response`; it rejects where there is no network.
export async function post(url, content) {
  const control = new AbortController();
  const patience = setTimeout(() => control.abort(), PATIENCE_MS);
  try {
    const response = await fetch(url, { ...request(content), redirect: "manual", signal: control.signal });
    if (response.type === "opaqueredirect" || response.status === 403) return { signedOut: true };
    if (response.status >= 500 || [408, 429].includes(response.status)) return { stumbled: true };
    return { response, said: await response.json().catch(() => null) };
  } finally {
    clearTimeout(patience);
  }
}

// The options of a fetch that posts `content`.
export function request(content) {
  const token = document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";
  const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
  return { method: "POST", headers, body: JSON.stringify(content) };
}

// crypto.randomUUID is there with HTTPS only, and a gym's own network often has none.
export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, "$1-$2-$3-$4-$5");
}
