// What was typed and the server does not know yet: kept on this device, sent one by one in its order, and taken off
// when it is answered. Sent twice, an entry changes nothing: each has its own key.
//
// An entry is {key, place, athlete, benchmark, typed, base, confirmed}; `after` names the entry of the same cell that
// must be answered first, for its answer is the new base. `held` says why an entry waits for a person, not the network.

import { keptList, newKey, post, withOthersPassing } from "../../js/waiting.js";

const FIRST_WAIT_MS = 1_000;
const LONGEST_WAIT_MS = 15_000;

// `answered(entry, answer)` comes after each entry, `changed()` whenever something moves.
export function queueOf(store, url, { answered, changed }) {
  const { list, change } = keptList(store);
  let sending = null;
  let signedOut = false;
  let connected = true;
  let wait = FIRST_WAIT_MS;
  let timer;

  const next = () => list().find((entry) => !entry.held && !entry.after);

  async function send() {
    if (sending) return;
    clearTimeout(timer);
    for (let entry = next(); entry; entry = next()) {
      sending = entry.key;
      changed();
      const answer = await answerTo(url, entry).catch(() => null);
      sending = null;
      connected = answer !== null;
      signedOut = answer?.signedOut ?? false;
      if (!answer || answer.signedOut || answer.stumbled) {
        if (answer?.stumbled) change((entries) => withOthersPassing(entries, entry, ({ key }) => key, ({ place }) => place));
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

async function answerTo(url, { key, athlete, benchmark, typed, base, confirmed }) {
  const { response, said, ...trouble } = await post(url, { key, athlete, benchmark, typed, base, confirmed });
  if (!response) return trouble;
  if (response.status === 404) return { state: "refused", words: "This test day was removed. Type it on the athlete's page." };
  return said;
}
