// Keeps the bench's own files on the phone. The server puts the list of files and its hash before this text:
// self.TUNDISH_FILES, self.TUNDISH_VERSION. What is under /api/ is never kept here; the pages keep facts themselves.
const NAME = `tundish-${self.TUNDISH_VERSION || "bare"}`;
const FILES = self.TUNDISH_FILES || ["/"];

self.addEventListener("install", (event) => {
  event.waitUntil(fill().then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(clean().then(() => self.clients.claim()));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin || url.pathname.startsWith("/api/")) return;
  // A customer's report and the certificate are no part of the bench
  if (request.mode === "navigate") event.respondWith(shell(request, url));
  else if (FILES.includes(url.pathname)) event.respondWith(kept(request));
});

async function fill() {
  const cache = await caches.open(NAME);
  // Past the browser's own cache: a half old, half new bench would not start
  await cache.addAll(FILES.map((file) => new Request(file, { cache: "reload" })));
}

async function clean() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith("tundish-") && name !== NAME).map((name) => caches.delete(name)));
}

async function shell(request, url) {
  const page = /^\/($|calls|van|stock|handbook|bench|settings|people|devices|pair|sign-in)/.test(url.pathname);
  const found = page ? await caches.match("/", { cacheName: NAME }) : undefined;
  return found || fetch(request);
}

async function kept(request) {
  return (await caches.match(request, { cacheName: NAME, ignoreSearch: true })) || fetch(request);
}
