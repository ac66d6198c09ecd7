// Keeps the preview of the editor in step with its fields: asks for the same preview as the button, and puts in only that.
const form = document.querySelector("[data-editor]");
const wait = 700;
let timer, asked;

const parts = ["preview-told", "preview-body"];

async function refresh() {
  asked?.abort();
  asked = new AbortController();
  const given = new FormData(form);
  given.set("do", "preview");
  try {
    const answer = await fetch(form.action, { method: "POST", body: given, signal: asked.signal });
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const id of parts) {
      const here = document.getElementById(id);
      const there = page.getElementById(id);
      // What a person is in, such as an opened list of numbers, is left alone; words that stay the same are not said again.
      if (!here || !there || here.contains(document.activeElement)) continue;
      if (here.innerHTML === there.innerHTML) continue;
      const open = [...here.querySelectorAll("details")].map((one) => one.open);
      here.replaceChildren(...there.childNodes);
      here.querySelectorAll("details").forEach((one, at) => { one.open = open[at] ?? false; });
    }
  } catch (fault) {
    // Without an answer the last preview stays, and the button still works.
    if (fault.name !== "AbortError" && !(fault instanceof TypeError)) throw fault;
  }
}

form?.addEventListener("input", () => {
  clearTimeout(timer);
  timer = setTimeout(refresh, wait);
});
form?.addEventListener("submit", () => {
  clearTimeout(timer);
  asked?.abort();
});
