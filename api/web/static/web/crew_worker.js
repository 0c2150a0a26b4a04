// Opens a crew's page without signal, as it was last loaded. Its scope is that crew's page alone.

const KEPT = `crew-page ${self.registration.scope}`;
const PATIENCE_MS = 6_000;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  const { request } = event;
  const ours = new URL(request.url).origin === self.location.origin;
  if (ours && request.method === "GET") event.respondWith(answer(event));
});

/** The newest there is: from the server if it answers in time, else what was kept last. */
async function answer(event) {
  const cache = await caches.open(KEPT);
  const before = await cache.match(event.request, { ignoreSearch: true });
  const fresh = fetched(event.request, cache);
  if (!before) return fresh;
  event.waitUntil(fresh.catch(() => {}));
  const late = new Promise((done) => setTimeout(done, PATIENCE_MS, before));
  return Promise.race([fresh.catch(() => before), late]);
}

async function fetched(request, cache) {
  const response = await fetch(request);
  if (response.ok && !response.redirected) {
    await cache.put(request.url.split(/[?#]/)[0], response.clone());
  } else if (response.status === 410 || response.status === 404) {
    const ended = request.url.startsWith(self.registration.scope);
    if (ended) await caches.delete(KEPT); // nobody is to go by it any more
  }
  return response;
}
