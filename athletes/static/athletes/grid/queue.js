// What was typed and the server does not know yet: kept on this device, sent one by one in its order, and taken off
// when it is answered. Sent twice, an entry changes nothing: each has its own key.
//
// An entry is {key, place, athlete, benchmark, typed, base, confirmed}; `after` names the entry of the same cell that
// must be answered first, for its answer is the new base. `held` says why an entry waits for a person, not the network.

const PATIENCE_MS = 8_000;
const FIRST_WAIT_MS = 1_000;
const LONGEST_WAIT_MS = 15_000;
const MOST_TRIES = 3; // of an entry that the server stumbles over, before the others go first

// `answered(entry, answer)` comes after each entry, `changed()` whenever something moves.
export function queueOf(store, url, { answered, changed }) {
  let kept = []; // where a browser keeps nothing, they wait in this page only
  let storing = true;
  let sending = null;
  let signedOut = false;
  let connected = true;
  let wait = FIRST_WAIT_MS;
  let timer;

  function list() {
    if (!storing) return kept;
    try {
      return JSON.parse(localStorage.getItem(store)) ?? [];
    } catch {
      return kept;
    }
  }

  // Read again at each change: another tab of the same grid has the same list.
  function change(make) {
    kept = make(list());
    try {
      if (kept.length) localStorage.setItem(store, JSON.stringify(kept));
      else localStorage.removeItem(store);
    } catch {
      storing = false;
    }
  }

  const without = (key) => (entries) => entries.filter((entry) => entry.key !== key);
  const next = () => list().find((entry) => !entry.held && !entry.after);

  async function send() {
    if (sending) return;
    clearTimeout(timer);
    for (let entry = next(); entry; entry = next()) {
      sending = entry.key;
      changed();
      const answer = await post(url, entry).catch(() => null);
      sending = null;
      connected = answer !== null;
      signedOut = answer?.signedOut ?? false;
      if (!answer || answer.signedOut || answer.stumbled) {
        if (answer?.stumbled) letOthersPass(entry);
        timer = setTimeout(send, wait);
        wait = Math.min(2 * wait, LONGEST_WAIT_MS);
        break;
      }
      wait = FIRST_WAIT_MS;
      settle(entry, answer);
      answered(entry, answer);
    }
    changed();
  }

  // What is asked or refused stays, held, until somebody changes it: nothing typed is lost by leaving the page.
  function settle(entry, answer) {
    const base = answer.entry?.effort ?? entry.base;
    change((entries) => {
      const left = entries.filter(({ key }) => key !== entry.key);
      const follow = left.map((other) => (other.after === entry.key ? { ...other, base, after: null } : other));
      const newer = follow.some(({ place }) => place === entry.place);
      if (answer.state === "saved" || newer) return follow;
      return [...follow, { ...entry, base, held: { state: answer.state, words: answer.words } }];
    });
  }

  function letOthersPass(entry) {
    const again = { ...entry, tries: (entry.tries ?? 0) + 1 };
    change((entries) => {
      const others = without(entry.key)(entries);
      return again.tries % MOST_TRIES ? [again, ...others] : [...others, again];
    });
  }

  // Takes the place of what waits for the same cell; what is on its way is followed.
  function add(entry) {
    const after = sending && list().some(({ key, place }) => key === sending && place === entry.place) ? sending : null;
    change((entries) => [
      ...entries.filter(({ key, place }) => place !== entry.place || key === sending),
      { ...entry, key: newKey(), after },
    ]);
    changed();
    send();
  }

  function drop(place) {
    change((entries) => entries.filter((entry) => entry.place !== place || entry.key === sending));
    changed();
  }

  addEventListener("online", send);
  return { send, list, add, drop, signedOut: () => signedOut, connected: () => connected && navigator.onLine };
}

async function post(url, { key, athlete, benchmark, typed, base, confirmed }) {
  const control = new AbortController();
  const patience = setTimeout(() => control.abort(), PATIENCE_MS);
  const token = document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";
  const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
  const body = JSON.stringify({ key, athlete, benchmark, typed, base, confirmed });
  try {
    const answer = await fetch(url, { method: "POST", headers, body, redirect: "manual", signal: control.signal });
    if (answer.type === "opaqueredirect" || answer.status === 403) return { signedOut: true };
    if (answer.status >= 500) return { stumbled: true };
    if (answer.status === 404) return { state: "refused", words: "This test day was removed. Type it on the athlete's page." };
    return await answer.json();
  } finally {
    clearTimeout(patience);
  }
}

// crypto.randomUUID is there with HTTPS only, and a gym's own network often has none.
function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, "$1-$2-$3-$4-$5");
}
