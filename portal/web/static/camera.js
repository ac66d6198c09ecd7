// Reads the square code of a tag from the camera where the browser can do that by itself, and says aloud what it does. Where it
// cannot, it says so: the photo in the form works everywhere. A large photo is made smaller before it is sent.
const part = document.querySelector("[data-camera]");
const told = part.querySelector("[data-told]");
const view = part.querySelector("[data-view]");
const opener = part.querySelector("[data-open]");
const code = document.querySelector("input[name=code]");
const photo = document.querySelector("input[name=photo]");
const PAUSE_MS = 120;
const LARGE_BYTES = 1_000_000;
const SIDE = 2000;
// Where one tag after another is scanned, the one that was scanned last may still be before the camera.
const bare = (text) => text.split("/").at(-1).toUpperCase().replace(/[^A-Z0-9]/g, "");
const last = bare(part.dataset.last ?? "");

const say = (words) => { told.textContent = words; };

async function detector() {
  if (!("BarcodeDetector" in window) || !navigator.mediaDevices?.getUserMedia) return null;
  const formats = await window.BarcodeDetector.getSupportedFormats();
  return formats.includes("qr_code") ? new window.BarcodeDetector({ formats: ["qr_code"] }) : null;
}

async function look(reader) {
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    view.srcObject = stream;
    await view.play();
  } catch {
    stream?.getTracks().forEach((track) => track.stop());
    say(part.dataset.refused);
    return;
  }
  view.hidden = false;
  opener.hidden = true;
  say(part.dataset.looking);
  const end = () => stream.getTracks().forEach((track) => track.stop());
  window.addEventListener("pagehide", end, { once: true });
  for (;;) {
    const [found] = await reader.detect(view).catch(() => []);
    if (found?.rawValue && (!last || bare(found.rawValue) !== last)) {
      end();
      say(`${part.dataset.found} ${found.rawValue.split("/").at(-1)}`);
      code.value = found.rawValue;
      code.form.requestSubmit();
      return;
    }
    await new Promise((resolve) => { setTimeout(resolve, PAUSE_MS); });
  }
}

async function shrink() {
  const [file] = photo.files;
  if (!file || file.size <= LARGE_BYTES) return;
  try {
    const image = await createImageBitmap(file);
    const scale = Math.min(1, SIDE / Math.max(image.width, image.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(image.width * scale);
    canvas.height = Math.round(image.height * scale);
    canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    const blob = await new Promise((resolve) => { canvas.toBlob(resolve, "image/jpeg", 0.85); });
    if (!blob || blob.size >= file.size) return;
    const files = new DataTransfer();
    files.items.add(new File([blob], "tag.jpg", { type: "image/jpeg" }));
    photo.files = files.files;
  } catch {
    // The photo goes as it is.
  }
}

const reader = await detector().catch(() => null);
part.hidden = false;
if (reader) {
  opener.hidden = false;
  opener.addEventListener("click", () => look(reader));
  if (last) look(reader);
} else {
  say(part.dataset.none);
}
photo.addEventListener("change", shrink);
