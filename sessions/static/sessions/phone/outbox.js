// Logs on this phone: written here first, sent when there is a network, each kept by the server once because of its
// key. A plain script, because both pages and the service worker load it; it gives `outbox`.
//
// A record: {key, log, name, state, why, status, by, kept_ms, sent_ms}; `log` is what the API takes. state: "waiting",
// "sent", or "refused" (the server will not take it as it is; `why` in its words). The store is the athlete's, not the
// link's: what an old link could not send, the new one sends.

self.outbox = (() => {
  const REMEMBERED_MS = 35 * 86_400_000; // sent logs stay here this long, so that pages opened offline know of them
  const PATIENCE_MS = 20_000;
  const LINK_GONE =
    "This link no longer works. Open it again on this phone, or ask staff for your new link: the log is sent then.";

  // `athlete`: key of the store; `token`: the personal link as its address has it, its key is in a cookie; `api`:
  // address that takes logs.
  function of({ athlete, token, api }) {
    const name = `coachhub ${athlete}`;
    const news = "BroadcastChannel" in self ? new BroadcastChannel(name) : null;
    const told = new Set();
    let forgotten = false;
    if (news) news.onmessage = () => told.forEach((tell) => tell());

    function changed() {
      news?.postMessage("changed");
      told.forEach((tell) => tell());
    }

    async function store(mode, work) {
      const base = await opened(name);
      return new Promise((resolve, reject) => {
        // Not only handed to the system but written out, where the browser can: a phone's battery may end here.
        const change = base.transaction("logs", mode, { durability: "strict" });
        const request = work(change.objectStore("logs"));
        change.oncomplete = () => resolve(request.result);
        change.onerror = change.onabort = () => reject(change.error);
      }).finally(() => base.close());
    }

    // In the order they were made; none in a browser that keeps nothing.
    async function all() {
      if (forgotten) return [];
      const records = await store("readonly", (logs) => logs.getAll()).catch(() => []);
      return records.sort((a, b) => a.kept_ms - b.kept_ms);
    }

    const put = (record) => store("readwrite", (logs) => logs.put(record));

    async function keep(log, sessionName) {
      const record = { key: newKey(), name: sessionName, state: "waiting", why: "", kept_ms: Date.now() };
      record.log = { ...log, key: record.key, done_at: new Date(record.kept_ms).toISOString() };
      await put(record);
      changed();
      return record;
    }

    async function discard(key) {
      await store("readwrite", (logs) => logs.delete(key));
      changed();
    }

    // Sends what waits, the oldest first; true when nothing waits any more.
    async function sendAll() {
      const records = await all();
      let left = 0;
      for (const record of records.filter(toSend)) {
        const answer = await post(record.log).catch(() => null);
        if (answer && (await settle(record, answer))) changed();
        else left += 1;
        if (!answer) return false; // no network: the others would fare no better
      }
      await forgetOld(records);
      return left === 0;
    }

    // What was refused because the link was closed may go with another one, or with the same when it is open again.
    function toSend(record) {
      return record.state === "waiting" || (record.state === "refused" && linkGone(record.status));
    }

    function post(log) {
      const control = new AbortController();
      const patience = setTimeout(() => control.abort(), PATIENCE_MS);
      const headers = { "Content-Type": "application/json", Authorization: `Link ${token}` };
      const { signal } = control;
      const options = { method: "POST", headers, body: JSON.stringify(log), credentials: "same-origin", redirect: "manual", signal };
      return fetch(api, options).finally(() => clearTimeout(patience));
    }

    // Whether the answer was the last word on this log.
    async function settle(record, answer) {
      const { status } = answer;
      const busy = status >= 500 || status === 408 || status === 429;
      if (busy || answer.type === "opaqueredirect") return false;
      if (answer.ok) {
        // Only the server's own word counts: in another network somebody else may answer at this address.
        const said = await answer.json().catch(() => null);
        if (said?.key !== record.key) return false;
        await put({ ...record, state: "sent", why: "", sent_ms: Date.now() });
      } else await put({ ...record, state: "refused", status, by: token, why: await reason(answer) });
      return true;
    }

    async function reason(answer) {
      if (linkGone(answer.status)) return LINK_GONE;
      const told = await answer.json().catch(() => null);
      const said = sentences(told?.errors ?? told?.detail);
      return said.join(" ") || "The server did not take this log. Show it to staff.";
    }

    async function forgetOld(records) {
      const old = records.filter((record) => record.state === "sent" && Date.now() - record.sent_ms > REMEMBERED_MS);
      for (const record of old) await store("readwrite", (logs) => logs.delete(record.key));
    }

    return {
      all,
      keep,
      discard,
      // One at a time, whether a page or the worker sends; twice at once would be harmless, but wasteful.
      send: () => (navigator.locks ? navigator.locks.request(name, sendAll) : sendAll()),
      changed: (tell) => told.add(tell),
      forget: () =>
        new Promise((resolve) => {
          forgotten = true; // or asking for what is left would make an empty store anew
          const request = indexedDB.deleteDatabase(name);
          request.onsuccess = request.onerror = request.onblocked = () => resolve(changed());
        }),
    };
  }

  const linkGone = (status) => status === 401 || status === 403;

  function opened(name) {
    return new Promise((resolve, reject) => {
      const request = indexedDB.open(name, 1);
      request.onupgradeneeded = () => request.result.createObjectStore("logs", { keyPath: "key" });
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error);
    });
  }

  // Every sentence in an answer of the API, however deep.
  function sentences(said) {
    if (typeof said === "string") return [said];
    return said && typeof said === "object" ? Object.values(said).flatMap(sentences) : [];
  }

  // crypto.randomUUID is there with HTTPS only.
  function newKey() {
    const digits = "10000000-1000-4000-8000-100000000000";
    const random = (digit) => digit ^ (crypto.getRandomValues(new Uint8Array(1))[0] & (15 >> (digit / 4)));
    return digits.replace(/[018]/g, (digit) => random(Number(digit)).toString(16));
  }

  return { of };
})();
