/** Keeps the page for the time without a network; only where it was opened from the laptop over a safe connection. */
const KEPT = "chillplan page";
self.addEventListener("install", (event) => event.waitUntil(caches.open(KEPT).then((cache) => cache.addAll(["page", "icon.svg", "page.webmanifest"]))));
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => event.respondWith(fetch(event.request).catch(() => caches.match(event.request, { ignoreSearch: true }))));
