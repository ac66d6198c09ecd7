// Moves focus to the error summary, so that a person who cannot see the page hears first what needs changing.
document.querySelector("[data-error-summary]")?.focus();
