// Keeps every file of the page, the engine included, so that it opens and plans with no network and no server.
// The list is filled in by `racewright serve` and `racewright site`: path -> digest of the file.
const FILES = "FILES OF THE SITE";
const STORE = "racewright-files";
// What the version in force keeps: read by the next one, which leaves those files to pages that are still in use.
const LIST = new URL("kept.json?list", self.registration.scope).href;

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

// A page in use goes on with the files it was opened with: those of the version before stay until the next change-over.
async function dropOld() {
  const store = await caches.open(STORE);
  const own = Object.keys(FILES).map(keyOf);
  const before = await store.match(LIST);
  const wanted = new Set([LIST, ...own, ...(before ? await before.json() : [])]);
  for (const request of await store.keys()) if (!wanted.has(request.url)) await store.delete(request);
  await store.put(LIST, new Response(JSON.stringify(own)));
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
  const own = Object.hasOwn(FILES, path);
  if (!own && !path.startsWith("assets/")) return;
  const key = own ? keyOf(path) : new URL(path, self.registration.scope).href; // of the version before
  event.respondWith(
    caches
      .open(STORE)
      .then((store) => store.match(key, { ignoreSearch: !own }))
      .then((kept) => kept ?? fetch(request)),
  );
});
