// Passkeys: asks the server what to ask, lets the browser ask the person, and sends the answer back. Without passkeys in
// this browser, or without a safe address, nothing of it shows.

const able = window.isSecureContext && window.PublicKeyCredential && PublicKeyCredential.parseRequestOptionsFromJSON;
const token = document.querySelector("[name=csrfmiddlewaretoken]")?.value ?? "";

async function post(address, body) {
  const headers = { "X-CSRFToken": token, "Content-Type": "application/json" };
  const answer = await fetch(address, { method: "POST", headers, body: JSON.stringify(body ?? {}) });
  return { ok: answer.ok, ...(await answer.json()) };
}

async function use(place) {
  const options = PublicKeyCredential.parseRequestOptionsFromJSON(await post(place.dataset.ask));
  const key = await navigator.credentials.get({ publicKey: options });
  const said = await post(place.dataset.answer, key.toJSON());
  if (!said.ok) return said.words;
  location.assign(said.onward);
}

async function make(place) {
  const options = PublicKeyCredential.parseCreationOptionsFromJSON(await post(place.dataset.ask));
  const key = await navigator.credentials.create({ publicKey: options });
  const [name, password] = ["passkey", "password"].map((field) => place.querySelector(`[name=${field}]`).value);
  const said = await post(place.dataset.answer, { answer: key.toJSON(), name, password });
  if (!said.ok) return said.words;
  location.reload();
}

for (const place of able ? document.querySelectorAll("[data-passkey]") : []) {
  place.hidden = false;
  place.querySelector("button").addEventListener("click", async () => {
    const words = place.querySelector("[role=status]");
    words.textContent = "";
    try {
      words.textContent = (await (place.dataset.passkey === "make" ? make(place) : use(place))) ?? "";
    } catch (reason) {
      words.textContent = reason.name === "NotAllowedError" ? "Nothing was chosen." : "It did not work. Try again.";
    }
  });
}
