// Presses on the clock's page that the server does not know yet: kept on this device, sent in their order, and taken
// off when the server has answered for them. Sent twice, a press changes nothing: each has its own key.

import { keptList, newKey, request, sender } from "../../js/waiting.js";
import { leadSeconds, overMs, withReady } from "./clock.js";
import { timed } from "./follow.js";

// The run as it will be when what waits has been sent; `planned` is the shape of a class that has not begun.
export function asPressed(run, waiting, planned) {
  const start = waiting.find(({ kind }) => kind === "start");
  let found = run;
  if (start && (!run || overMs(run.shape, run.starts_ms, run.changes) <= start.at_ms)) {
    const shape = withReady(planned, start.value);
    found = { key: start.key, shape, starts_ms: start.at_ms + 1000 * leadSeconds(shape), changes: [] };
  }
  const own = waiting.filter((press) => press.run === found?.key);
  const changes = own.map((press) => [press.at_ms, press.kind, press.value]);
  return found && { ...found, changes: [...found.changes, ...changes] };
}

const GONE = "This class is in no published week any more. Open its clock from this week's page.";

// `page`: the element with data-send, data-store and data-hour. `changed()` is called when there is something to show.
export function presses(page, follower, changed) {
  const { send: url, store, hour } = page.dataset;
  const { list, change } = keptList(store);
  let refused = "";

  const { send } = sender({
    next: () => (list().length ? list() : null), // all at once: a clock is right only with every press
    async answerTo(sent) {
      const answer = await timed(url, request({ hour, presses: sent }), follower.time);
      const said = answer.status === 404 ? { error: GONE } : await answer.json();
      if (![200, 404, 422].includes(answer.status)) throw new Error(said.error);
      return said;
    },
    take(sent, said) {
      change((waiting) => waiting.filter(({ key }) => !sent.some((press) => press.key === key)));
      refused = said.error ?? [...new Set(Object.values(said.refused ?? {}))].join(" ");
      if (said.run !== undefined) follower.take(said);
    },
    changed,
  });

  return {
    send,
    waiting: list,
    refused: () => refused,
    add(kind, value, run) {
      const press = { key: newKey(), kind, value, at_ms: Math.floor(follower.now()) };
      change((waiting) => [...waiting, kind === "start" ? press : { ...press, run }]);
      refused = "";
      send();
    },
  };
}
