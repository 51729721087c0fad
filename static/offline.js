/* Pages of the floor stay readable without network (worker.js). Where they were kept for somebody else, or nobody is
   signed in any more, they go. */
(function () {
  "use strict";

  const FLOOR = document.querySelector("[data-floor-kept]");
  const LOOK_EACH_MS = 3000;
  const WHO = "castweek-kept-for";
  const who = document.body.dataset.who;
  if (!("serviceWorker" in navigator) || !window.caches) return;
  let cleared = Promise.resolve();
  if (window.localStorage.getItem(WHO) !== (who || null)) {
    cleared = window.caches.delete("castweek-pages");
    if (who) window.localStorage.setItem(WHO, who);
    else window.localStorage.removeItem(WHO);
  }
  const kept = Number(document.body.dataset.kept);
  if (kept && FLOOR) {
    const at = new Date(kept);
    FLOOR.querySelector("[data-at]").textContent = String(at.getHours()).padStart(2, "0") + ":" + String(at.getMinutes()).padStart(2, "0");
    FLOOR.hidden = false;
    const back = window.setInterval(function () {
      if (FLOOR.hidden) window.clearInterval(back);
      else window.castweek.renew(window.location.href, "main");
    }, LOOK_EACH_MS);
  }
  /* A page that came before the worker did, or that was cleared away, is asked for. */
  navigator.serviceWorker.register("/worker.js").then(
    () => Promise.all([navigator.serviceWorker.ready, cleared]).then(async function ([ready]) {
      if (!FLOOR || (await (await window.caches.open("castweek-pages")).match(window.location.href))) return;
      const files = [...document.querySelectorAll("script[src], link[rel=stylesheet], link[rel=icon]")];
      ready.active.postMessage({ keep: [window.location.href, ...files.map((one) => one.src || one.href)] });
    }),
    () => undefined /* no secure connection: as without it */
  );
})();
