// Taps that the server does not know yet: kept on this device, sent in their order, and taken off when it has answered.
// Sent twice, a tap changes nothing: each has its own key.

const PATIENCE_MS = 8_000;
const FIRST_WAIT_MS = 2_000;
const LONGEST_WAIT_MS = 15_000;
const MOST_TRIES = 3; // of a tap that the server stumbles over, before the others go first

// `store`: a name for this device. `answered(tap, answer)` comes after each tap, `changed()` whenever something moves.
export function queueOf(store, { answered, changed }) {
  let kept = []; // where a browser keeps nothing, they wait in this page only
  let sending = false;
  let signedOut = false;
  let stuck = false;
  let wait = FIRST_WAIT_MS;
  let timer;

  function list() {
    try {
      return JSON.parse(localStorage.getItem(store)) ?? [];
    } catch {
      return kept;
    }
  }

  // Read again at each change: another tab of the same sheet has the same list.
  function change(make) {
    kept = make(list());
    try {
      if (kept.length) localStorage.setItem(store, JSON.stringify(kept));
      else localStorage.removeItem(store);
    } catch {
      // they wait in this page only
    }
  }

  const drop = (tap) => change((taps) => taps.filter(({ body }) => body.key !== tap.body.key));

  async function send() {
    if (sending) return;
    sending = true;
    clearTimeout(timer);
    for (let tap = list()[0]; tap; tap = list()[0]) {
      const answer = await post(tap).catch(() => null);
      signedOut = answer?.signedOut ?? false;
      stuck = !answer || signedOut || Boolean(answer.stumbled);
      if (stuck) {
        if (answer?.stumbled) letOthersPass(tap);
        timer = setTimeout(send, wait);
        wait = Math.min(2 * wait, LONGEST_WAIT_MS);
        break;
      }
      wait = FIRST_WAIT_MS;
      drop(tap);
      answered(tap, answer);
    }
    sending = false;
    changed();
  }

  function letOthersPass(tap) {
    const tries = (tap.tries ?? 0) + 1;
    const again = { ...tap, tries };
    change((taps) => {
      const others = taps.filter(({ body }) => body.key !== tap.body.key);
      return tries % MOST_TRIES ? [again, ...others] : [...others, again];
    });
  }

  addEventListener("online", send);
  return {
    send,
    list,
    signedOut: () => signedOut,
    stuck: () => stuck,
    add(url, body, facts = {}) {
      change((taps) => [...taps, { url, body: { ...body, key: newKey() }, ...facts }]);
      changed();
      send();
    },
  };
}

async function post({ url, body }) {
  const control = new AbortController();
  const patience = setTimeout(() => control.abort(), PATIENCE_MS);
  const token = document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";
  const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
  const options = { method: "POST", headers, body: JSON.stringify(body), redirect: "manual", signal: control.signal };
  try {
    const answer = await fetch(url, options);
    if (answer.type === "opaqueredirect" || answer.status === 403) return { signedOut: true };
    if (answer.status >= 500) return { stumbled: true };
    if (answer.status === 404) return { refused: "This class is in no published week any more. Reload the page." };
    if (!answer.ok && answer.status !== 422) return { refused: "The server did not take this. Reload the page." };
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
