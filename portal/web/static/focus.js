// Moves focus to the error summary, so that a person who cannot see the page hears first what needs changing. A field that is
// scanned into stays in focus instead, since the next scan goes there; what is wrong with it is told with it.
const scanned = document.querySelector("[data-scan]");
if (scanned) {
  scanned.focus();
  scanned.select();
} else {
  document.querySelector("[data-error-summary]")?.focus();
}
