/* Nothing that was entered is lost. A form marked data-outbox is put into a queue on this device before it is
   sent, and leaves the queue when the server has said that it is saved, or when somebody has read why it
   could not be. Each entry has a key: sent twice, it counts once. */
(function () {
  "use strict";

  const PLACE = "castweek-outbox:";
  const SAVED = "castweek-saved";
  const PAUSES_MS = [1000, 2000, 4000, 8000, 15000, 30000];
  const PATIENCE_MS = 15000;
  const KEEP_AGE_MS = 5000;
  const DOUBLE_TAP_MS = 700;
  const TAP_PX = 40;
  const FAILS = 6; /* so often may the server fail on one entry before the others are let past it */
  const who = document.body.dataset.who || "";
  const known = document.body.hasAttribute("data-who");
  const box = document.getElementById("outbox");
  const counted = new Map(); /* by key: age when it was read, and the steady clock then */
  let busy = false;
  let tries = 0;
  let reason = "";
  let signedOut = false;
  let timer = 0;
  let tap = { x: 0, y: 0, at: -DOUBLE_TAP_MS, form: null };
  if (!box) return;

  function storage() {
    try {
      window.localStorage.setItem("castweek-probe", "1");
      window.localStorage.removeItem("castweek-probe");
      return window.localStorage;
    } catch (_error) {
      return null;
    }
  }
  const store = storage();

  function entries() {
    const found = [];
    for (let i = 0; store && i < store.length; i += 1) {
      const name = store.key(i);
      if (name.startsWith(PLACE)) found.push(JSON.parse(store.getItem(name)));
    }
    return found.sort((one, other) => one.number - other.number || (one.key < other.key ? -1 : 1));
  }
  const own = (entry) => entry.who === who;
  const waiting = () => entries().filter((entry) => own(entry) && entry.refused === null);

  function put(entry) {
    store.setItem(PLACE + entry.key, JSON.stringify(entry));
  }
  function take(key) {
    store.removeItem(PLACE + key);
    counted.delete(key);
  }

  /* How long ago an entry was made. While the page is open nobody's setting of the clock matters; over a
     reload the device's clock bridges the moments between. */
  function age(entry) {
    if (!counted.has(entry.key)) {
      counted.set(entry.key, { age: entry.age + Math.max(0, Date.now() - entry.seen), at: performance.now() });
    }
    const since = counted.get(entry.key);
    return Math.round(since.age + performance.now() - since.at);
  }
  function keepAges() {
    entries().forEach(function (entry) {
      put(Object.assign(entry, { age: age(entry), seen: Date.now() }));
    });
  }

  function newKey() {
    return [...window.crypto.getRandomValues(new Uint8Array(12))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  function entered(form, button) {
    const data = new FormData(form);
    if (button && button.name) data.append(button.name, button.value);
    const fields = [...data.entries()].filter((field) => typeof field[1] === "string");
    const key = data.get("key") || newKey();
    const action = new URL((button && button.getAttribute("formaction")) || form.action, window.location.href);
    const label = form.dataset.outbox || (button && (button.getAttribute("aria-label") || button.textContent.trim())) || "Entry";
    const numbers = entries().map((entry) => entry.number);
    return {
      key: key,
      number: Math.max(0, ...numbers) + 1,
      path: action.pathname + action.search,
      fields: fields.filter((field) => field[0] !== "key"),
      label: label,
      who: who,
      name: document.body.dataset.whoName || "",
      page: window.location.pathname + window.location.search,
      age: 0,
      seen: Date.now(),
      failed: 0,
      refused: null,
    };
  }

  /* The second tap of a double tap, where the page was renewed between the two and another form's button stands
     in that place: nobody meant it. */
  document.addEventListener(
    "click",
    function (event) {
      const form = event.target.closest("form[data-outbox]");
      const near = Math.hypot(event.clientX - tap.x, event.clientY - tap.y) < TAP_PX;
      const second = event.detail > 0 && near && event.timeStamp - tap.at < DOUBLE_TAP_MS;
      if (second && form && tap.form && form !== tap.form && event.target.closest("button")) {
        event.preventDefault();
        event.stopImmediatePropagation();
        return;
      }
      tap = { x: event.clientX, y: event.clientY, at: event.timeStamp, form: form };
    },
    true
  );

  document.addEventListener(
    "submit",
    function (event) {
      const form = event.target;
      if (!form.matches("form[data-outbox]") || !store || !known) return;
      const entry = entered(form, event.submitter);
      let before = entries().find((one) => one.key === entry.key);
      if (before && before.refused !== null) {
        take(before.key); /* refused, so not kept anywhere: what is sent now stands in its place */
        before = undefined;
      }
      event.preventDefault();
      event.stopImmediatePropagation();
      if (before && JSON.stringify(before.fields) !== JSON.stringify(entry.fields)) {
        reason = "This form is waiting to be saved already. When it is saved, open it again to correct it.";
        show();
        return;
      }
      if (!before) {
        try {
          put(entry);
        } catch (_error) {
          HTMLFormElement.prototype.submit.call(form); /* no room on the device: the browser sends it */
          return;
        }
        age(entry);
        forget();
      }
      show();
      again(0);
    },
    true
  );

  function again(pause) {
    window.clearTimeout(timer);
    timer = window.setTimeout(send, pause);
  }

  function send() {
    const entry = waiting()[0];
    if (busy || signedOut || !entry) return;
    busy = true;
    const patience = new AbortController();
    const clock = window.setTimeout(() => patience.abort(), PATIENCE_MS);
    fetch(entry.path, {
      method: "POST",
      body: new URLSearchParams(entry.fields),
      credentials: "same-origin",
      redirect: "error",
      signal: patience.signal,
      headers: { "Castweek-Outbox": "1", "Castweek-Key": entry.key, "Castweek-Age": String(age(entry)), "Castweek-Who": entry.who },
    })
      .then((answer) => answer.text().then((text) => heard(entry, answer, text)))
      .catch(() => missed("The server cannot be reached."))
      .finally(function () {
        window.clearTimeout(clock);
        busy = false;
        show();
        if (waiting().length && !signedOut) again(tries ? PAUSES_MS[Math.min(tries, PAUSES_MS.length) - 1] : 0);
      });
  }

  function missed(why) {
    tries += 1;
    reason = why;
  }

  function heard(entry, answer, text) {
    if (answer.ok) return savedBy(entry, text);
    if (answer.headers.has("Castweek-Sign-In") || answer.status === 401) {
      signedOut = true;
      return undefined;
    }
    if (answer.status >= 500 || answer.status === 408 || answer.status === 429) {
      missed(answer.status === 503 ? "The shop's data cannot be reached." : "The server failed.");
      if (answer.status === 500) put(Object.assign(entry, { failed: entry.failed + 1 }));
      if (entry.failed < FAILS) return undefined;
    }
    tries = 0;
    if (inPlace(entry, text)) take(entry.key);
    else put(Object.assign(entry, { refused: words(text) }));
    return undefined;
  }

  /* Only what our server says counts: another page under this address, such as a network's sign-in, does not. */
  function savedBy(entry, text) {
    let told = null;
    try {
      told = JSON.parse(text);
    } catch (_error) {
      told = null;
    }
    if (!told || !told.saved) return missed("Something else than the server answered.");
    tries = 0;
    reason = "";
    const here = entry.page === window.location.pathname + window.location.search;
    const fresh = counted.has(entry.key);
    take(entry.key);
    window.sessionStorage.setItem(SAVED, JSON.stringify({ at: told.saved, said: told.said || entry.label }));
    if (here && fresh && !waiting().length) onward(told.onward);
    return undefined;
  }

  /* The page that the answer leads to: in place where it is this one, so that nothing is lost if the network is. */
  function onward(address) {
    const url = new URL(address || window.location.href, window.location.href);
    if (url.origin !== window.location.origin) return;
    if (url.pathname === window.location.pathname) {
      window.castweek.renew(url.href, "main", false).then(function (done) {
        if (done && url.search !== window.location.search) window.history.replaceState(null, "", url.href);
        show();
      });
      return;
    }
    fetch("/alive", { cache: "no-store" })
      .then((answer) => answer.ok && window.location.assign(url.href))
      .catch(() => undefined);
  }

  /* Refused while its form is still on the screen: the page that says why, beside the field, with all that was typed. */
  function inPlace(entry, text) {
    const form = formOf(entry);
    const fresh = new DOMParser().parseFromString(text, "text/html").getElementById("main");
    const again = fresh && [...fresh.querySelectorAll("form[data-outbox]")].some((one) => pathOf(one) === entry.path);
    if (!form || !again || !counted.has(entry.key)) return false;
    const part = document.importNode(fresh, true);
    document.getElementById("main").replaceWith(part);
    if (window.htmx) window.htmx.process(part);
    const wrong = part.querySelector("[aria-invalid=true], [role=alert]:not([hidden])");
    if (wrong) wrong.scrollIntoView({ block: "center" });
    if (wrong && wrong.matches("input, select, textarea")) wrong.focus({ preventScroll: true });
    reason = "Not saved: look at what is said on the page.";
    return true;
  }
  function pathOf(form) {
    const action = new URL(form.action, window.location.href);
    return action.pathname + action.search;
  }
  function formOf(entry) {
    return [...document.querySelectorAll("form[data-outbox]")].find((form) => {
      const key = form.elements.namedItem("key");
      return pathOf(form) === entry.path && key && key.value === entry.key;
    });
  }

  /* What was refused, typed again into the form of the page that it came from. */
  function typeInto(entry) {
    const form = [...document.querySelectorAll("form[data-outbox]")].find((one) => pathOf(one) === entry.path);
    if (!form) return;
    entry.fields.forEach(function ([name, value]) {
      const field = form.elements.namedItem(name);
      if (!field || field.type === "hidden") return;
      if (field.type === "checkbox") field.checked = field.value === value;
      else field.value = value;
    });
    take(entry.key);
    show();
    form.scrollIntoView({ block: "start" });
  }

  function words(text) {
    const page = new DOMParser().parseFromString(text, "text/html");
    const found = [...page.querySelectorAll("[data-what], main .problem:not(#not-saved .problem), main .error")];
    const said = found.map((one) => one.textContent.replace(/\s+/g, " ").trim()).filter(Boolean);
    return said.join(" ") || "The server refused it.";
  }

  function forget() {
    window.sessionStorage.removeItem(SAVED);
    reason = "";
  }

  /* ---- what the screen says ---- */
  function element(name, text, attributes) {
    const made = document.createElement(name);
    made.textContent = text;
    Object.entries(attributes || {}).forEach(([key, value]) => made.setAttribute(key, value));
    return made;
  }
  function button(text, act) {
    const made = element("button", text, { type: "button" });
    made.addEventListener("click", act);
    return made;
  }
  const several = (count) => (count === 1 ? "1 entry" : count + " entries");

  function show() {
    const all = entries();
    const mine = all.filter(own);
    const parts = [];
    const open = mine.filter((entry) => entry.refused === null);
    if (open.length) parts.push(openCard(open));
    mine.filter((entry) => entry.refused !== null).forEach((entry) => parts.push(refusedCard(entry)));
    const others = all.filter((entry) => !own(entry));
    if (others.length) parts.push(othersCard(others));
    if (!open.length && reason) parts.push(element("p", reason, { class: "problem" }));
    if (!parts.length) parts.push(...savedCard());
    box.replaceChildren(...parts);
    box.hidden = !parts.length;
    document.querySelectorAll("form[data-outbox]").forEach((form) => mark(form, open));
  }

  function openCard(open) {
    const card = element("div", "", { class: "problem" });
    const troubled = tries > 0 || signedOut;
    const head = troubled ? "NOT SAVED" + (signedOut ? "" : ": trying again") : "Saving…";
    const line = element("p", "");
    line.append(element("strong", head), " ");
    if (signedOut) line.append("You are signed out. Sign in again and " + several(open.length) + " will be sent.");
    else if (troubled) line.append(reason + " " + several(open.length) + " kept on this device, sent as soon as it can be.");
    card.append(line);
    if (reason && !troubled) card.append(element("p", reason));
    if (!troubled) {
      card.className = "note";
      return card;
    }
    const list = element("ol", "");
    open.forEach((entry) => list.append(element("li", entry.label + ", " + window.castweek.span(age(entry)) + " ago")));
    card.append(list);
    const acts = element("p", "", { class: "actions" });
    if (signedOut) {
      const back = encodeURIComponent(window.location.pathname + window.location.search);
      acts.append(element("a", "Sign in", { class: "button main", href: "/sign-in?onward=" + back }));
      acts.append(element("a", "Switch by PIN", { class: "button", href: "/switch" }));
    } else {
      acts.append(button("Try now", () => again(0)));
    }
    card.append(acts);
    return card;
  }

  function refusedCard(entry) {
    const card = element("div", "", { class: "problem" });
    const line = element("p", "");
    line.append(element("strong", "Not saved: " + entry.label + "."), " The server says: " + entry.refused);
    const acts = element("p", "", { class: "actions" });
    const here = [...document.querySelectorAll("form[data-outbox]")].some((form) => pathOf(form) === entry.path);
    if (here) acts.append(button("Type it into the form again", () => typeInto(entry)));
    else acts.append(element("a", "Look at the page", { class: "button", href: entry.page }));
    acts.append(
      button("Send it again", function () {
        put(Object.assign(entry, { refused: null, failed: 0 }));
        show();
        again(0);
      })
    );
    acts.append(
      button("I have read it, put it aside", function () {
        take(entry.key);
        show();
      })
    );
    card.append(line, acts);
    return card;
  }

  function othersCard(others) {
    const names = [...new Set(others.map((entry) => entry.name || "somebody else"))].join(" and ");
    const card = element("div", "", { class: "problem" });
    const line = element("p", "");
    line.append(element("strong", "NOT SAVED"), " " + several(others.length) + " of " + names + " on this device. ");
    line.append("They are sent when " + names + (names.includes(" and ") ? " sign in." : " signs in."));
    const acts = element("p", "", { class: "actions" });
    acts.append(element("a", "Switch by PIN", { class: "button", href: "/switch" }));
    card.append(line, acts);
    return card;
  }

  function savedCard() {
    const kept = window.sessionStorage.getItem(SAVED);
    if (!kept) return [];
    const saved = JSON.parse(kept);
    const line = element("p", "", { class: "said" });
    line.append(element("strong", "✓ saved " + saved.at), " " + saved.said);
    return [line];
  }

  function mark(form, open) {
    const key = form.elements.namedItem("key");
    const waits = Boolean(key) && open.some((entry) => entry.key === key.value);
    form.toggleAttribute("data-waits", waits);
    const note = form.querySelector("[data-not-saved]");
    if (waits && !note) form.append(element("span", "! not saved yet", { class: "mark bad", "data-not-saved": "" }));
    if (!waits && note) note.remove();
  }

  document.addEventListener("castweek:renewed", show);
  document.addEventListener("htmx:afterSwap", show);
  window.addEventListener("online", () => again(0));
  window.addEventListener("pageshow", () => again(0));
  window.addEventListener("pagehide", keepAges);
  window.addEventListener("storage", show);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && again(0));
  window.setInterval(function () {
    if (!store || !entries().length) return;
    keepAges();
    show();
  }, KEEP_AGE_MS);
  if (!store) return;
  entries().forEach(age);
  if (!known) signedOut = true;
  show();
  again(0);
})();
