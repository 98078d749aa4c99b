// Presses on the clock's page that the server does not know yet: kept on this device, sent in their order, and taken
// off when the server has answered for them. Sent twice, a press changes nothing: each has its own key.

import { timed } from "./follow.js";

// `page`: the element with data-send, data-store and data-hour. `changed()` is called when there is something to show.
export function presses(page, follower, changed) {
  const { send: url, store, hour } = page.dataset;
  let list = stored(store);
  let sending = false;
  let refused = "";

  async function send() {
    if (sending || !list.length) return;
    sending = true;
    const sent = [...list];
    try {
      const answer = await timed(url, post({ hour, presses: sent }), follower.time);
      const said = await answer.json();
      if (answer.status !== 200 && answer.status !== 422) throw new Error(said.error);
      list = list.filter((press) => !sent.includes(press));
      remember(store, list);
      refused = said.error ?? [...new Set(Object.values(said.refused))].join(" ");
      sending = false;
      if (said.run !== undefined) follower.take(said.run);
    } catch {
      // they wait for the next answer of the server
    }
    sending = false;
    changed();
    if (list.length > 0 && !sent.every((press) => list.includes(press))) send();
  }

  return {
    send,
    waiting: () => list,
    refused: () => refused,
    add(kind, value, run) {
      const press = { key: newKey(), kind, value, at_ms: Math.floor(follower.now()) };
      list.push(kind === "start" ? press : { ...press, run });
      refused = "";
      remember(store, list);
      send();
    },
  };
}

function post(content) {
  const token = document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1] ?? "";
  const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
  return { method: "POST", headers, body: JSON.stringify(content) };
}

// crypto.randomUUID is there with HTTPS only, and a gym's own network often has none.
function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, "$1-$2-$3-$4-$5");
}

function stored(name) {
  try {
    return JSON.parse(localStorage.getItem(name)) ?? [];
  } catch {
    return [];
  }
}

function remember(name, list) {
  try {
    if (list.length) localStorage.setItem(name, JSON.stringify(list));
    else localStorage.removeItem(name);
  } catch {
    // a browser that keeps nothing: they wait in this page only
  }
}
