/* The floor's pages can be looked at again without network, as they were when they last came. Changes never pass
   here: they wait in the outbox of the page. */
"use strict";

const PAGES = "castweek-pages";
const FILES = "castweek-files";
const FLOOR = /^\/(today|flask\/|f\/)/;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

/* A page that is not kept asks for itself and its files. */
self.addEventListener("message", function (event) {
  const asked = (event.data.keep || []).map((address) => new Request(address)).filter(kept);
  event.waitUntil(Promise.all(asked.map((request) => answered(request).catch(() => undefined))));
});

self.addEventListener("fetch", function (event) {
  const request = event.request;
  const ours = request.method === "GET" && new URL(request.url).origin === self.location.origin;
  if (ours && kept(request)) event.respondWith(answered(request));
});

const path = (request) => new URL(request.url).pathname;
const isFile = (request) => path(request).startsWith("/static/");
function kept(request) {
  return isFile(request) || (FLOOR.test(path(request)) && !(request.headers.get("accept") || "").includes("event-stream"));
}

async function answered(request) {
  if (isFile(request)) return file(request);
  try {
    const answer = await fetch(request);
    const html = (answer.headers.get("content-type") || "").startsWith("text/html");
    if (answer.ok && html && !answer.redirected && !request.headers.has("hx-request")) await keep(request, answer.clone());
    return answer;
  } catch (error) {
    const found = request.mode === "navigate" && (await (await caches.open(PAGES)).match(request.url));
    if (!found) throw error;
    return found;
  }
}

async function keep(request, answer) {
  const html = (await answer.text()).replace("<body ", `<body data-kept="${Date.now()}" `);
  const headers = new Headers(answer.headers);
  headers.delete("vary");
  await (await caches.open(PAGES)).put(request.url, new Response(html, { headers: headers }));
}

/* A file's address changes with its content; what stood under the same name before goes. */
async function file(request) {
  const place = await caches.open(FILES);
  const found = await place.match(request);
  if (found) return found;
  const answer = await fetch(request);
  if (answer.ok) {
    const before = (await place.keys()).filter((one) => path(one) === path(request));
    await Promise.all(before.map((one) => place.delete(one)));
    await place.put(request, answer.clone());
  }
  return answer;
}
