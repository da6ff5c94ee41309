// What the pages of the door cannot do without a script: passkeys, and taking the
// secret of an invite out of the address.
"use strict";

const byId = (id) => document.getElementById(id);

async function send(method, path, body) {
  const answer = await fetch(path, {
    method,
    headers: body === undefined ? {} : { "Content-Type": "application/json" },
    body: body === undefined ? undefined : JSON.stringify(body),
  });
  const text = await answer.text();
  const read = text === "" ? {} : JSON.parse(text);
  if (!answer.ok) throw new Error(read.detail || answer.statusText);
  return read;
}

// Tells of what went wrong: in the server's words, else in those of the button.
function say(error, button) {
  const said = byId("said");
  said.textContent = error.name === "Error" && error.message ? error.message : button.dataset.failed;
  said.hidden = false;
}

function onClick(button, act) {
  button.addEventListener("click", async () => {
    button.disabled = true;
    byId("said").hidden = true;
    try {
      await act();
    } catch (error) {
      say(error, button);
    }
    button.disabled = false;
  });
}

const able = Boolean(window.PublicKeyCredential && PublicKeyCredential.parseRequestOptionsFromJSON && PublicKeyCredential.parseCreationOptionsFromJSON);

const signIn = byId("passkey");
if (signIn && able) {
  signIn.hidden = false;
  onClick(signIn, async () => {
    const asked = await send("POST", "/session/passkey/begin");
    const key = await navigator.credentials.get({ publicKey: PublicKeyCredential.parseRequestOptionsFromJSON(asked.publicKey) });
    await send("POST", "/session/passkey/finish", key.toJSON());
    location.assign("/");
  });
}

const add = byId("add");
if (add && able) {
  add.disabled = false;
  onClick(add, async () => {
    const asked = await send("POST", "/passkeys/begin");
    const key = await navigator.credentials.create({ publicKey: PublicKeyCredential.parseCreationOptionsFromJSON(asked.publicKey) });
    await send("POST", "/passkeys/finish", { name: byId("keyname").value, answer: key.toJSON() });
    location.reload();
  });
}

for (const drop of document.querySelectorAll("button.drop")) {
  onClick(drop, async () => {
    await send("DELETE", "/passkeys/" + drop.dataset.id);
    location.reload();
  });
}

// The secret goes from the address into the form, and out of the history.
const secret = byId("secret");
if (secret && location.hash.length > 1) {
  secret.value = location.hash.slice(1).split(".")[0];
  history.replaceState(null, "", location.pathname);
}
