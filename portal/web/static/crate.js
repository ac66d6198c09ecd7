// Takes one code after another while a crate is unpacked. A scanner types on while the portal still answers, so the codes wait in
// a row and nothing is lost; without this script each code is a form that comes back with the field in focus.
const root = document.querySelector("[data-crate]");
const told = root.querySelector("[data-told]");
const lists = root.querySelector("[data-lists]");
const field = root.querySelector("[data-scan]");
const wait = 3000;
const codes = [];
let sending = false;

const say = (text) => {
  const line = document.createElement("p");
  line.className = "crate-told is-odd";
  line.textContent = text;
  told.replaceChildren(line);
};

async function send(address, token, code) {
  const answer = await fetch(address, {
    method: "POST",
    headers: { Accept: "application/json" },
    body: new URLSearchParams({ csrf_token: token, code }),
  });
  if (answer.redirected || !answer.headers.get("Content-Type")?.startsWith("application/json")) {
    // Signed out, or the form is too old: the portal says so itself.
    location.assign(location.pathname);
    return;
  }
  const said = await answer.json();
  if (!answer.ok) {
    say(said.told);
    return;
  }
  told.innerHTML = said.told;
  const held = document.activeElement === document.body || lists.contains(document.activeElement);
  lists.innerHTML = said.lists;
  if (held) field.focus({ preventScroll: true });
}

async function flush(address, token) {
  if (sending) return;
  sending = true;
  try {
    while (codes.length) {
      await send(address, token, codes[0]);
      codes.shift();
    }
  } catch (fault) {
    if (!(fault instanceof TypeError)) throw fault;
    // No network: the pair stays in the row.
    say(`${root.dataset.wordsUnsent} ${codes.join(", ")}`);
    setTimeout(() => flush(address, token), wait);
  } finally {
    sending = false;
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target.closest("[data-scan-crate]");
  if (!form) return;
  const code = (event.submitter?.name === "code" ? event.submitter.value : field.value).trim();
  if (!code) return;
  event.preventDefault();
  if (form.contains(field)) field.value = "";
  codes.push(code);
  flush(form.action, form.elements.namedItem("csrf_token").value);
});
