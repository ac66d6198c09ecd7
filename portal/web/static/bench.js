// Keeps what is sent at the bench until the portal has answered: the network may drop for a minute. Every form carries a key
// that the portal remembers, so what is sent again is done once. Without this script the forms work as plain ones.
const root = document.querySelector("[data-bench]");
const store = "rillbook-bench";
const wait = 3000;
const words = root?.dataset ?? {};
const told = root?.querySelector("[data-told]");
const unsaved = root?.querySelector("[data-unsaved]");
let sending = false, timer;

const kept = () => JSON.parse(localStorage.getItem(store) ?? "[]");
const keep = (acts) => localStorage.setItem(store, JSON.stringify(acts));
// Whoever shares the tablet does not send what another person did.
const mine = () => kept().filter((act) => act.who === words.who);
const drop = (key) => keep(kept().filter((act) => act.key !== key));
const tell = (text) => { told.textContent = text; };
const pairOf = (act) => (act.pair ? document.getElementById(`pair-${act.pair}`) : null);

function line(text, parent = unsaved) {
  const made = document.createElement("p");
  made.textContent = text;
  parent.append(made);
}

function show(trouble = "") {
  const acts = mine();
  const others = kept().filter((act) => act.who !== words.who);
  unsaved.replaceChildren();
  unsaved.hidden = !acts.length && !others.length;
  if (acts.length) {
    line(`${words.wordsUnsaved} ${acts.map((act) => act.title).join("; ")}`);
    line(trouble || words.wordsAgain);
  }
  for (const act of others) line(`${words.wordsOther} ${act.name}, ${act.title}`);
  for (const act of acts) {
    const state = pairOf(act)?.querySelector("[data-state]");
    if (state) state.textContent = words.wordsWaits;
    const form = formOf(act);
    if (form) form.hidden = true;
  }
}

const formOf = (act) => [...document.querySelectorAll("form[data-kept]")]
  .find((form) => new URL(form.action).pathname === act.url);

// One pair at a time: the next one that can be recorded opens, and the others close.
function open(pair, focus = true) {
  if (!pair) return;
  for (const one of document.querySelectorAll(".run-pair")) one.open = one === pair;
  tell(words.wordsOpen.replace("%(pair)s", pair.dataset.title));
  if (focus) (document.querySelector("[data-scan]") ?? pair.querySelector("summary")).focus({ preventScroll: true });
  pair.scrollIntoView({ block: "nearest" });
}

const next = () => [...document.querySelectorAll(".run-pair")]
  .find((pair) => [...pair.querySelectorAll("form[data-kept]")].some((form) => !form.hidden && form.action.endsWith("/done")));

function submit(event) {
  const form = event.target.closest("form[data-kept]");
  if (!form) return;
  const fields = [...new FormData(form)].filter(([name]) => name !== "csrf_token");
  const key = fields.find(([name]) => name === "key" || name.endsWith("-key"))[1];
  const act = {
    key, fields, who: words.who, name: words.name, title: form.dataset.kept, pair: form.dataset.pair ?? null,
    url: new URL(form.action).pathname, reload: "reload" in form.dataset,
  };
  try {
    keep([...kept().filter((one) => one.key !== key), act]);
  } catch {
    // Where the browser keeps nothing, it is a plain form.
    return;
  }
  event.preventDefault();
  answer(form, "");
  // What is known before there is an answer: it is kept, and the next pair can be taken.
  tell(`${words.wordsUnsaved} ${act.title}`);
  if (act.pair && act.url.endsWith("/done")) {
    form.hidden = true;
    open(next());
  }
  flush();
}

function answer(form, text) {
  const place = form?.querySelector("[data-answer]");
  if (place) place.textContent = text;
}

function later() {
  clearTimeout(timer);
  timer = setTimeout(flush, wait);
}

async function flush() {
  if (sending) return;
  sending = true;
  clearTimeout(timer);
  let trouble = "";
  try {
    for (let act = mine()[0]; act; act = mine()[0]) {
      trouble = await send(act);
      if (trouble) break;
    }
  } catch (fault) {
    // No network: what is kept is sent again by itself.
    if (!(fault instanceof TypeError) && fault.name !== "TimeoutError") throw fault;
    trouble = words.wordsAgain;
  } finally {
    sending = false;
    show(trouble);
    if (mine().length) later();
  }
}

// Sends one act; gives back why it has to wait, or nothing where it is answered.
async function send(act, again = true) {
  const token = document.querySelector("input[name=csrf_token]")?.value ?? "";
  const body = new URLSearchParams([...act.fields, ["csrf_token", token]]);
  const got = await fetch(act.url, {
    method: "POST", body, headers: { Accept: "application/json" }, signal: AbortSignal.timeout(20000),
  });
  if (got.redirected || got.status === 401) return words.wordsSignIn;
  if (got.status >= 500 || got.status === 429) return words.wordsAgain;
  const isData = (got.headers.get("Content-Type") ?? "").startsWith("application/json");
  if (got.status === 400 && again && (await freshToken())) return send(act, false);
  if (got.status === 400) return words.wordsSignIn;
  const said = isData ? await got.json() : {};
  drop(act.key);
  if (got.ok && isData) await done(act, said.told);
  else refused(act, said);
  return "";
}

async function freshToken() {
  const page = await pageNow();
  const token = page?.querySelector("input[name=csrf_token]")?.value;
  for (const field of document.querySelectorAll("input[name=csrf_token]")) field.value = token ?? field.value;
  return Boolean(token);
}

async function pageNow() {
  const got = await fetch(location.pathname, { signal: AbortSignal.timeout(20000) });
  if (!got.ok || got.redirected) return null;
  return new DOMParser().parseFromString(await got.text(), "text/html");
}

async function done(act, said) {
  if (act.reload && !mine().length) {
    // Said once the page stands anew.
    sessionStorage.setItem(store, said ?? "");
    location.reload();
    return;
  }
  let page = null;
  try {
    page = await pageNow();
  } catch {
    // It is saved; how the run stands is shown with the next answer.
  }
  const state = pairOf(act)?.querySelector("[data-state]");
  if (state && !page) state.textContent = said;
  for (const id of ["run-standing", "run-notes", act.pair ? `pair-${act.pair}` : ""]) {
    const here = document.getElementById(id), there = page?.getElementById(id);
    if (!here || !there) continue;
    const wasOpen = here.open;
    here.replaceWith(there);
    if (there.matches("details")) there.open = !act.url.endsWith("/done") || (wasOpen && !next());
  }
  if (said) tell(said);
}

// It cannot be saved as it is: what was typed stands in its form again, with what to change.
function refused(act, said) {
  const form = formOf(act);
  const problems = said.problems?.map(([, text]) => text) ?? [said.refused ?? words.wordsFailed];
  const text = problems.join(" ");
  if (form) {
    form.hidden = false;
    for (const [name, value] of act.fields) {
      const field = form.elements.namedItem(name);
      if (field instanceof RadioNodeList) field.value = value;
      else if (field?.type === "checkbox") field.checked = true;
      else if (field && !(name === "key" || name.endsWith("-key"))) field.value = value;
    }
    answer(form, text);
    open(pairOf(act), false);
    for (const more of form.querySelectorAll("details")) more.open = true;
    const wrong = said.problems?.map(([id]) => document.getElementById(id)).find(Boolean);
    wrong?.setAttribute("aria-invalid", "true");
    wrong?.focus();
  } else {
    unsaved.after(Object.assign(document.createElement("p"), { className: "answer", textContent: typed(act, text) }));
  }
  tell(`${act.title}. ${text}`);
}

// Where the form is gone, all that was typed is written out, so that nothing is lost.
function typed(act, text) {
  const values = act.fields.filter(([name, value]) => value && name !== "key" && !name.endsWith("-key"));
  return `${act.title}: ${text} ${values.map(([name, value]) => `${name.replace(/^[^-]*-/, "")} ${value}`).join(", ")}`;
}

// A tag that is scanned opens its pair without asking the portal, so that it works while the network is away.
function scan(event) {
  const form = event.target.closest("[data-scan-pair]");
  if (!form) return;
  const field = form.elements.namedItem("code");
  const code = field.value.trim().replace(/\/+$/, "").split("/").pop().toUpperCase().replace(/[^A-Z0-9]/g, "");
  const pair = code && document.querySelector(`.run-pair[data-tag="${code}"]`);
  if (!pair) return;
  event.preventDefault();
  field.value = "";
  open(pair);
}

if (root) {
  document.addEventListener("submit", submit);
  document.addEventListener("submit", scan);
  window.addEventListener("online", flush);
  show();
  tell(sessionStorage.getItem(store) ?? "");
  sessionStorage.removeItem(store);
  if (mine().length) flush();
}
