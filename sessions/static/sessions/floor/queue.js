// Taps that the server does not know yet: kept on this device, sent in their order, and taken off when it has answered.
// Sent twice, a tap changes nothing: each has its own key.

import { keptList, newKey, post, sender, withOthersPassing } from "../../js/waiting.js";

// `store`: a name for this device. `answered(tap, answer)` comes after each tap, `changed()` whenever something moves.
export function queueOf(store, { answered, changed }) {
  const { list, change } = keptList(store);
  const keyOf = ({ body }) => body.key;
  const placeOf = ({ url, body }) => `${url} ${body.athlete}`;
  const { send, signedOut, stuck } = sender({
    next: () => list()[0],
    answerTo,
    stumbled: (tap) => change((taps) => withOthersPassing(taps, tap, keyOf, placeOf)),
    take(tap, answer) {
      change((taps) => taps.filter((other) => keyOf(other) !== keyOf(tap)));
      answered(tap, answer);
    },
    changed,
  });

  return {
    send,
    list,
    signedOut,
    stuck,
    add(url, body, facts = {}) {
      change((taps) => [...taps, { url, body: { ...body, key: newKey() }, ...facts }]);
      changed();
      send();
    },
  };
}

async function answerTo({ url, body }) {
  const { response, said, ...trouble } = await post(url, body);
  if (!response) return trouble;
  if (response.status === 404) return { refused: "This class is in no published week any more. Reload the page." };
  if (!response.ok && response.status !== 422) return { refused: "The server did not take this. Reload the page." };
  return said;
}
