/* Small helpers. Every page works without them. */
(function () {
  "use strict";

  function tellNotSaved(reason) {
    const box = document.getElementById("not-saved");
    if (!box) return;
    box.querySelector("[data-reason]").textContent = reason;
    box.hidden = false;
    box.scrollIntoView({ block: "nearest" });
  }

  document.addEventListener("htmx:sendError", function () {
    tellNotSaved("The server cannot be reached. Check the network and try again.");
  });
  document.addEventListener("htmx:timeout", function () {
    tellNotSaved("The server did not answer in time. Look whether it was saved, then try again.");
  });
  document.addEventListener("htmx:responseError", function (event) {
    tellNotSaved("The server refused it (" + event.detail.xhr.status + "). Reload the page and try again.");
  });
  document.addEventListener("htmx:afterRequest", function (event) {
    const box = document.getElementById("not-saved");
    if (box && event.detail.successful) box.hidden = true;
  });

  /* A form marked data-busy says so while it waits, and cannot be sent twice. */
  document.addEventListener("submit", function (event) {
    const button = event.submitter;
    if (!event.target.matches("form[data-busy]") || !button) return;
    window.setTimeout(function () {
      button.setAttribute("aria-disabled", "true");
      button.dataset.text = button.textContent;
      button.textContent = event.target.dataset.busy;
    }, 0);
  });

  /* The browser's back button brings a page back as it was left. */
  window.addEventListener("pageshow", function () {
    document.querySelectorAll("button[data-text]").forEach(function (button) {
      button.removeAttribute("aria-disabled");
      button.textContent = button.dataset.text;
    });
  });

  /* Copies what stands in a field; without script, or where the browser forbids it, it stands there to be copied by hand. */
  document.querySelectorAll("button[data-copy]").forEach(function (button) {
    const field = document.getElementById(button.dataset.copy);
    button.hidden = false;
    button.addEventListener("click", async function () {
      field.select();
      try {
        await navigator.clipboard.writeText(field.value);
        button.textContent = "Copied";
      } catch {
        button.textContent = document.execCommand("copy") ? "Copied" : "Marked: copy it with your keyboard";
      }
    });
  });

  document.addEventListener("click", function (event) {
    if (event.target.closest("[data-print]")) window.print();
    if (event.target.closest("[aria-disabled=true]")) event.preventDefault();
  });
})();
