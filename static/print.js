"use strict";
// The print button needs script; without it the browser's own Print command does the same.
for (const button of document.querySelectorAll("[data-print]")) {
  button.hidden = false;
  button.addEventListener("click", () => window.print());
}
