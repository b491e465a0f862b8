// Keeps the walk's page for the times without signal. It answers for that page, the species key and their files only, asks the network
// first for the page, and a newer version waits until every open page is closed.

const NAME = `outpace-walk-${KEPT.version}`;
const PATIENCE_MS = 3000;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(NAME).then((cache) => cache.addAll(KEPT.files.map((name) => new Request(name, { redirect: "error" })))));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches.keys().then((names) =>
      Promise.all(names.filter((name) => name.startsWith("outpace-walk-") && name !== NAME).map((name) => caches.delete(name))),
    ),
  );
});

async function page(request, pathname) {
  try {
    return await fetch(request, { signal: AbortSignal.timeout(PATIENCE_MS) });
  } catch {
    return (await caches.match(pathname)) || Response.error();
  }
}

async function file(request) {
  return (await caches.match(request)) || fetch(request);
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return;
  if (KEPT.pages.includes(pathname) && request.mode === "navigate") event.respondWith(page(request, pathname));
  else if (KEPT.files.includes(pathname)) event.respondWith(file(request));
});
