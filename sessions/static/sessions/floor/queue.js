// Taps that the server does not know yet: kept on this device, sent in their order, and taken off when it has answered.
// Sent twice, a tap changes nothing: each has its own key.

import { keptList, newKey, post, withOthersPassing } from "../../js/waiting.js";

const FIRST_WAIT_MS = 2_000;
const LONGEST_WAIT_MS = 15_000;

// `store`: a name for this device. `answered(tap, answer)` comes after each tap, `changed()` whenever something moves.
export function queueOf(store, { answered, changed }) {
  const { list, change } = keptList(store);
  let sending = false;
  let signedOut = false;
  let stuck = false;
  let wait = FIRST_WAIT_MS;
  let timer;

  const keyOf = ({ body }) => body.key;
  const placeOf = ({ url, body }) => `${url} ${body.athlete}`;
  const drop = (tap) => change((taps) => taps.filter(({ body }) => body.key !== tap.body.key));

  async function send() {
    if (sending) return;
    sending = true;
    clearTimeout(timer);
    for (let tap = list()[0]; tap; tap = list()[0]) {
      const answer = await answerTo(tap).catch(() => null);
      signedOut = answer?.signedOut ?? false;
      stuck = !answer || signedOut || Boolean(answer.stumbled);
      if (stuck) {
        if (answer?.stumbled) change((taps) => withOthersPassing(taps, tap, keyOf, placeOf));
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

async function answerTo({ url, body }) {
  const { response, said, ...trouble } = await post(url, body);
  if (!response) return trouble;
  if (response.status === 404) return { refused: "This class is in no published week any more. Reload the page." };
  if (!response.ok && response.status !== 422) return { refused: "The server did not take this. Reload the page." };
  return said;
}
