// What was typed and the server does not know yet: kept on this device, sent one by one in its order, and taken off
// when it is answered. Sent twice, an entry changes nothing: each has its own key.
//
// An entry is {key, place, athlete, benchmark, typed, base, confirmed}; `after` names the entry of the same cell that
// must be answered first, for its answer is the new base. `held` says why an entry waits for a person, not the network.

import { keptList, newKey, post, sender, withOthersPassing } from "../../js/waiting.js";

// `answered(entry, answer)` comes after each entry, `changed()` whenever something moves.
export function queueOf(store, url, { answered, changed }) {
  const { list, change } = keptList(store);
  const keyOf = ({ key }) => key;
  const placeOf = ({ place }) => place;
  const { send, sending, signedOut, connected } = sender({
    next: () => list().find((entry) => !entry.held && !entry.after),
    answerTo: (entry) => answerTo(url, entry),
    stumbled: (entry) => change((entries) => withOthersPassing(entries, entry, keyOf, placeOf)),
    take(entry, answer) {
      settle(entry, answer);
      answered(entry, answer);
    },
    changed,
  });

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
    const after = sending()?.place === entry.place ? sending().key : null;
    change((entries) => [
      ...entries.filter(({ key, place }) => place !== entry.place || key === sending()?.key),
      { ...entry, key: newKey(), after },
    ]);
    changed();
    send();
  }

  function drop(place) {
    change((entries) => entries.filter((entry) => entry.place !== place || entry.key === sending()?.key));
    changed();
  }

  return { send, list, add, drop, signedOut, connected: () => connected() && navigator.onLine };
}

async function answerTo(url, { key, athlete, benchmark, typed, base, confirmed }) {
  const { response, said, ...trouble } = await post(url, { key, athlete, benchmark, typed, base, confirmed });
  if (!response) return trouble;
  if (response.status === 404) return { state: "refused", words: "This test day was removed. Type it on the athlete's page." };
  return said;
}
