// Turns to the device for a passkey: asks the site what is to be signed, lets the device answer, and sends the answer with the form.
// Without this script, or where the browser knows no passkeys, the button stays hidden and the code or the password does.
const decoded = (text) => Uint8Array.from(atob(text.replaceAll("-", "+").replaceAll("_", "/")), (sign) => sign.charCodeAt(0));
const encoded = (bytes) =>
  btoa(String.fromCharCode(...new Uint8Array(bytes))).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");

function asked(options) {
  options.challenge = decoded(options.challenge);
  if (options.user) options.user.id = decoded(options.user.id);
  for (const list of [options.excludeCredentials, options.allowCredentials]) {
    for (const one of list ?? []) one.id = decoded(one.id);
  }
  return options;
}

function answered(credential) {
  const response = {};
  for (const part of ["clientDataJSON", "attestationObject", "authenticatorData", "signature", "userHandle"]) {
    if (credential.response[part]) response[part] = encoded(credential.response[part]);
  }
  return JSON.stringify({
    id: credential.id,
    rawId: encoded(credential.rawId),
    type: credential.type,
    response,
    clientExtensionResults: credential.getClientExtensionResults(),
  });
}

async function ask(button, told) {
  const form = button.form;
  told.hidden = true;
  button.disabled = true;
  try {
    const given = new FormData();
    given.set("csrf_token", form.elements.csrf_token.value);
    const sent = await fetch(button.dataset.passkey, { method: "POST", body: given });
    if (!sent.ok) throw new Error("no question");
    const publicKey = asked(await sent.json());
    const made = button.dataset.makes !== undefined;
    const credential = await (made ? navigator.credentials.create({ publicKey }) : navigator.credentials.get({ publicKey }));
    form.elements.passkey.value = answered(credential);
    form.submit();
  } catch {
    // The person thought better of it, took too long, or the device has none: all are told the same way, and can try again.
    told.hidden = false;
    button.disabled = false;
    button.focus();
  }
}

for (const button of document.querySelectorAll("[data-passkey]")) {
  if (!window.PublicKeyCredential || !navigator.credentials) continue;
  const told = document.getElementById(button.dataset.told);
  button.hidden = false;
  for (const one of document.querySelectorAll("[data-without-passkeys]")) one.hidden = true;
  button.addEventListener("click", () => ask(button, told));
}
