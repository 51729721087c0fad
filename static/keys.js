/* Keys of the desk: G and a letter goes to a page, J and K walk the rows, ? lists them. They can be switched off. */
(function () {
  "use strict";

  const OFF = "castweek-keys-off";
  const GO = { w: "/week", t: "/today", j: "/jobs", n: "/jobs/new", m: "/metal", o: "/metal/order", b: "/bench", r: "/learning", s: "/shop", i: "/what-if", h: "/help" };
  let going = 0;

  function off() {
    try { return localStorage.getItem(OFF) === "1"; } catch { return false; }
  }

  const box = document.querySelector("[data-keys]");
  if (box) {
    box.disabled = false;
    box.checked = !off();
    box.addEventListener("change", function () {
      try { localStorage.setItem(OFF, box.checked ? "0" : "1"); } catch { box.checked = true; }
    });
  }

  function walk(step) {
    const links = [...document.querySelectorAll("main tbody tr, main ol.queue > li, main h3")]
      .map(function (row) { return row.querySelector("a[href], button"); })
      .filter(function (link) { return link && link.checkVisibility(); });
    const row = document.activeElement.closest("tr, li, h3");
    const at = links.findIndex(function (link) { return row && row.contains(link); });
    const next = links[at < 0 ? (step > 0 ? 0 : links.length - 1) : at + step];
    if (next) next.focus();
  }

  document.addEventListener("keydown", function (event) {
    if (event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey || event.isComposing || off()) return;
    if (event.target.closest("input, textarea, select, [contenteditable]")) return;
    const key = event.key.toLowerCase();
    const wasGoing = Date.now() - going < 1500;
    going = 0;
    if (wasGoing && Object.hasOwn(GO, key)) window.location.assign(GO[key]);
    else if (key === "g") going = Date.now();
    else if (key === "j") walk(1);
    else if (key === "k") walk(-1);
    else if (key === "?") window.location.assign("/help/keys");
    else return;
    event.preventDefault();
  });
})();
