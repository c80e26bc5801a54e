// Keeps every file of the page, the engine included, so that it opens and plans with no network and no server.
// The list is filled in by `racewright serve` and `racewright site`: path -> digest of the file.
const FILES = "FILES OF THE SITE";
const STORE = "racewright-files";

const keyOf = (path) => new URL(`${path}?kept=${FILES[path]}`, self.registration.scope).href;

async function keep() {
  const store = await caches.open(STORE);
  const kept = new Set((await store.keys()).map((request) => request.url));
  for (const path of Object.keys(FILES)) {
    const key = keyOf(path);
    if (kept.has(key)) continue;
    const response = await fetch(new URL(path, self.registration.scope), { cache: "no-cache" });
    if (!response.ok) throw new Error(`${path}: status ${response.status}`);
    await store.put(key, response);
  }
}

async function dropOld() {
  const store = await caches.open(STORE);
  const wanted = new Set(Object.keys(FILES).map(keyOf));
  for (const request of await store.keys()) if (!wanted.has(request.url)) await store.delete(request);
}

self.addEventListener("install", (event) => {
  event.waitUntil(
    keep().then(() => {
      if (!self.registration.active) return self.skipWaiting(); // the first visit: take over at once
    }),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(dropOld().then(() => self.clients.claim()));
});

// A newer version takes over only when a page asks for it, at its own start: never under a page that is in use.
self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET" || !request.url.startsWith(self.registration.scope)) return;
  const path = new URL(request.url).href.slice(self.registration.scope.length).split(/[?#]/)[0] || "index.html";
  if (!Object.hasOwn(FILES, path)) return;
  event.respondWith(
    caches
      .open(STORE)
      .then((store) => store.match(keyOf(path)))
      .then((kept) => kept ?? fetch(request)),
  );
});
