/* What changes by itself: pages that follow the plan, and countdowns by the server's clock.
   Without script a page renews itself by its refresh tag. */
(function () {
  "use strict";

  const RENEW_EACH_MS = 30000;
  const SILENT_MS = 35000;
  let renewing = null;

  /* The server's clock: what it said when the part was made, and what has gone by since on a clock that nobody sets. */
  let serverThen = Date.now();
  let countedThen = performance.now();
  function serverNow() {
    return serverThen + performance.now() - countedThen;
  }
  function setClock(text) {
    const then = Number(text);
    if (!then) return;
    serverThen = then;
    countedThen = performance.now();
  }

  /* A page that was kept on this device is older than it says, by the device's clock. */
  function sinceKept() {
    const kept = Number(document.body.dataset.kept);
    return kept ? Math.max(0, Date.now() - kept) : 0;
  }

  /* What somebody has typed and not sent yet, so that it stays when the page around it is renewed. */
  function address(field) {
    const form = field.form ? field.form.getAttribute("action") : "";
    return form + " " + field.name + " " + (field.type === "radio" ? field.value : "");
  }
  function fields(part) {
    return part.querySelectorAll("input:not([type=hidden]), select, textarea");
  }
  function typedIn(part) {
    const typed = new Map();
    fields(part).forEach(function (field) {
      const ticks = field.type === "checkbox" || field.type === "radio";
      const chosen = field.tagName === "SELECT" ? [...field.options].some((one) => one.selected !== one.defaultSelected) : null;
      const touched = ticks ? field.checked !== field.defaultChecked : chosen === null ? field.value !== field.defaultValue : chosen;
      if (touched) typed.set(address(field), ticks ? field.checked : field.value);
    });
    return typed;
  }
  function typeAgain(part, typed) {
    fields(part).forEach(function (field) {
      if (!typed.has(address(field))) return;
      if (field.type === "checkbox" || field.type === "radio") field.checked = typed.get(address(field));
      else field.value = typed.get(address(field));
    });
  }

  /* Fetches a page and puts its part of this id in the place of ours. Resolves to whether it could. */
  function renew(url, id, keep) {
    return fetch(url, { credentials: "same-origin", cache: "no-store" })
      .then(function (answer) {
        return answer.ok && !answer.redirected ? answer.text() : Promise.reject(new Error(String(answer.status)));
      })
      .then(function (html) {
        const fresh = new DOMParser().parseFromString(html, "text/html").getElementById(id);
        const old = document.getElementById(id);
        if (!fresh || !old) return false;
        const typed = keep === false ? new Map() : typedIn(old);
        const focused = old.contains(document.activeElement) ? document.activeElement.id : "";
        const part = document.importNode(fresh, true);
        old.replaceWith(part);
        typeAgain(part, typed);
        delete document.body.dataset.kept;
        document.querySelectorAll("[data-floor-kept]").forEach((one) => (one.hidden = true));
        if (window.htmx) window.htmx.process(part);
        if (focused && document.getElementById(focused)) document.getElementById(focused).focus({ preventScroll: true });
        begin(part);
        document.dispatchEvent(new CustomEvent("castweek:renewed"));
        return true;
      })
      .catch(function () {
        return false;
      });
  }

  function followed() {
    return document.querySelector("[data-live]");
  }
  function follow() {
    const part = followed();
    if (!part || renewing) return;
    renewing = renew(part.dataset.live, part.id).then(function (done) {
      renewing = null;
      tellConnected(done);
    });
  }

  let lost = null;
  function tellConnected(connected) {
    if (connected) lost = null;
    else if (lost === null) lost = serverNow();
    const box = document.querySelector("[data-connection]");
    if (!box) return;
    box.hidden = connected;
    if (!connected) box.querySelector("[data-since]").textContent = span(serverNow() - lost);
  }

  let source = null;
  let heard = performance.now();
  function listen() {
    if (!followed() || !window.EventSource) return;
    if (source) source.close();
    source = new EventSource("/today/events");
    source.addEventListener("stamp", function (event) {
      heard = performance.now();
      const [stamp, now] = event.data.split(" ");
      setClock(now);
      tellConnected(true);
      const part = followed();
      if (part && part.dataset.stamp !== stamp) follow();
    });
    source.addEventListener("error", function () {
      tellConnected(false);
    });
  }

  function span(ms) {
    const seconds = Math.max(0, Math.floor(ms / 1000));
    const minutes = Math.floor(seconds / 60);
    if (minutes < 2) return minutes + ":" + String(seconds % 60).padStart(2, "0") + " min";
    if (minutes < 60) return minutes + " min";
    return Math.floor(minutes / 60) + " h " + String(minutes % 60).padStart(2, "0") + " min";
  }
  function count() {
    document.querySelectorAll("[data-until]").forEach(function (one) {
      const left = Number(one.dataset.until) - serverNow();
      one.textContent = left >= 0 ? one.dataset.before.replace("#", span(left)) : one.dataset.after.replace("#", span(-left));
      one.classList.toggle("over", left < 0);
    });
  }

  function begin(part) {
    const timed = part.closest("[data-now]") || part.querySelector("[data-now]");
    if (timed) setClock(Number(timed.dataset.now) + sinceKept());
    count();
  }

  begin(document.body);
  listen();
  window.setInterval(count, 1000);
  window.setInterval(function () {
    if (!followed()) return;
    if (performance.now() - heard < SILENT_MS && source && source.readyState !== 2) return;
    follow();
    heard = performance.now();
    listen();
  }, RENEW_EACH_MS);

  window.castweek = { renew: renew, span: span };
})();
