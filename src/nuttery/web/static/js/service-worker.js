// Opens the page in the row without a signal. MARK and KEPT come before this, from the server.
// Nothing of the planting is kept here: that is the page's own business.

const STORE = `nuttery-${MARK}`;

self.addEventListener("install", (event) => {
  const fresh = KEPT.map((path) => new Request(path, { cache: "reload", credentials: "same-origin" }));
  event.waitUntil(caches.open(STORE).then((store) => store.addAll(fresh)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = caches.keys().then((names) => names.filter((name) => name.startsWith("nuttery-") && name !== STORE));
  event.waitUntil(old.then((names) => Promise.all(names.map((name) => caches.delete(name)))).then(() => self.clients.claim()));
});

self.addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url);
  if (event.request.method !== "GET" || origin !== location.origin) return;
  if (event.request.mode === "navigate") {
    if (pathname === "/row" || pathname.startsWith("/tag/")) event.respondWith(kept("/row", event.request));
    else event.respondWith(fetch(event.request).catch(() => Response.redirect("/row#!no-signal")));
  } else if (pathname.startsWith("/static/")) {
    event.respondWith(kept(event.request, event.request));
  }
});

async function kept(key, request) {
  const store = await caches.open(STORE);
  return (await store.match(key)) ?? fetch(request);
}
