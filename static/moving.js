/* Dragging pieces or a whole flask over the week: what the checker says is shown before anything is kept.
   Without script, and for the keyboard, the same handles are links to the flask's page, which has buttons. */
(function () {
  "use strict";

  const START = 6; /* pixels that a pointer moves before it drags */
  const DWELL = 120; /* ms over a place before the checker is asked */
  const EDGE = 70; /* pixels from the edge within which the page scrolls */
  const panel = document.getElementById("moving");
  if (!panel) return;
  const words = panel.querySelector("[data-answer]");
  let drag = null;

  function address(handle, place) {
    const from = "/flask/" + encodeURIComponent(handle.dataset.flask);
    const load = place.dataset.dropLoad;
    if (!handle.dataset.job) return from + "/slots?" + new URLSearchParams({ load: load });
    const wish = { job: handle.dataset.job, pieces: handle.dataset.pieces };
    if (place.dataset.dropFlask) wish.to = place.dataset.dropFlask;
    else wish.load = load;
    return from + "/move?" + new URLSearchParams(wish);
  }

  function fits(handle, place) {
    if (!place) return false;
    return place.dataset.dropFlask ? place.dataset.dropFlask !== handle.dataset.flask : true;
  }

  function say(text) {
    words.textContent = text;
    panel.hidden = false;
  }

  function leave() {
    if (drag.place) drag.place.classList.remove("over", "may", "may-not");
    window.clearTimeout(drag.timer);
    drag.place = null;
  }

  async function ask(mine, place) {
    if (mine.asking) mine.asking.abort();
    mine.asking = new AbortController();
    say(panel.dataset.asking.replace("%1", mine.name).replace("%2", place.dataset.name));
    try {
      const answer = await fetch(address(mine.handle, place), { headers: { "HX-Request": "true" }, signal: mine.asking.signal });
      if (answer.status >= 500) throw new Error(String(answer.status));
      const html = await answer.text();
      const found = new DOMParser().parseFromString(html, "text/html");
      if (mine.place !== place && !mine.dropped) return;
      const fragment = found.querySelector("#move-answer, #best-slots, [role=alert]");
      words.replaceChildren(...(fragment ? [document.adoptNode(fragment)] : []));
      words.querySelectorAll("[id]").forEach((one) => one.removeAttribute("id"));
      place.classList.add(words.querySelector("form") ? "may" : "may-not");
    } catch (error) {
      if (error.name !== "AbortError") say(panel.dataset.lost);
    }
  }

  function over(target) {
    const place = target && target.closest("[data-drop-flask], [data-drop-load]");
    if (place === drag.place) return;
    leave();
    if (!fits(drag.handle, place)) {
      say(panel.dataset.place.replace("%1", drag.name));
      return;
    }
    drag.place = place;
    place.classList.add("over");
    const mine = drag;
    drag.timer = window.setTimeout(() => ask(mine, place), DWELL);
  }

  function begin() {
    drag.going = true;
    drag.handle.setPointerCapture(drag.pointer);
    document.body.classList.add("moving");
    drag.ghost = document.createElement("div");
    drag.ghost.className = "ghost";
    drag.ghost.textContent = drag.name;
    document.body.append(drag.ghost);
    say(panel.dataset.place.replace("%1", drag.name));
  }

  function end(keep) {
    if (!drag) return;
    const ended = drag;
    if (ended.going) {
      document.body.classList.remove("moving");
      ended.ghost.remove();
      const place = ended.place;
      window.clearTimeout(ended.timer);
      if (keep && place) {
        ended.dropped = true;
        if (!place.classList.contains("may") && !place.classList.contains("may-not")) ask(ended, place);
        panel.querySelector("button").focus({ preventScroll: true });
      } else panel.hidden = true;
      leave();
      window.addEventListener("click", swallow, { capture: true, once: true });
      window.setTimeout(() => window.removeEventListener("click", swallow, true), 0);
    }
    drag = null;
  }

  function swallow(event) {
    event.preventDefault();
    event.stopPropagation();
  }

  document.addEventListener("pointerdown", function (event) {
    const handle = event.button === 0 && event.isPrimary && event.target.closest("[data-drag]");
    if (!handle) return;
    drag = { handle: handle, name: handle.dataset.drag, pointer: event.pointerId, x: event.clientX, y: event.clientY };
  });

  document.addEventListener("pointermove", function (event) {
    if (!drag || event.pointerId !== drag.pointer) return;
    if (!drag.going && Math.hypot(event.clientX - drag.x, event.clientY - drag.y) < START) return;
    if (!drag.going) begin();
    drag.ghost.style.transform = "translate(" + (event.clientX + 12) + "px, " + (event.clientY + 12) + "px)";
    if (event.clientY < EDGE) window.scrollBy(0, -24);
    if (event.clientY > window.innerHeight - EDGE) window.scrollBy(0, 24);
    over(document.elementFromPoint(event.clientX, event.clientY));
  });

  document.addEventListener("pointerup", () => end(true));
  document.addEventListener("pointercancel", () => end(false));
  document.addEventListener("dragstart", function (event) {
    if (event.target.closest && event.target.closest("[data-drag]")) event.preventDefault();
  });
  document.addEventListener("keydown", function (event) {
    if (event.key !== "Escape") return;
    end(false);
    panel.hidden = true;
  });
  panel.querySelector("button").addEventListener("click", function () {
    panel.hidden = true;
  });
})();
