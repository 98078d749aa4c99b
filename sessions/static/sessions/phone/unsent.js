// The logs on this phone that the server has not taken: which, why, and what can be done.

import { addresses, logs, send, stands } from "./app.js";
import { dayWords } from "./days.js";

// Keeps `section` in step with the store; without such a log it is hidden.
export function listOutbox(section) {
  const list = document.createElement("ul");
  const again = button("Send now", send);
  section.replaceChildren(list, again);

  async function draw() {
    const records = (await logs.all()).filter((record) => record.state !== "sent");
    section.hidden = !records.length;
    again.hidden = !records.some((record) => record.state === "waiting");
    list.replaceChildren(...records.map(line));
  }

  logs.changed(draw);
  draw();
}

function line(record) {
  const item = document.createElement("li");
  const head = document.createElement("b");
  head.textContent = `${record.name}, ${dayWords(record.log.date)}`;
  const words = document.createElement("p");
  words.textContent = stands(record);
  item.append(head, words);
  if (record.state === "refused") item.append(change(record), discard(record));
  return item;
}

function change({ log }) {
  const link = document.createElement("a");
  link.href = `${addresses.home}log/?on=${log.date}.${log.session_key}`;
  link.textContent = "Change it and keep it again";
  return link;
}

// Twice, because it cannot be undone.
function discard({ key }) {
  const made = button("Discard", () => {
    if (made.dataset.asked) return logs.discard(key);
    made.dataset.asked = "1";
    made.textContent = "Discard for good";
    return null;
  });
  return made;
}

function button(words, press) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "phone-button phone-button-plain";
  made.textContent = words;
  made.addEventListener("click", press);
  return made;
}
