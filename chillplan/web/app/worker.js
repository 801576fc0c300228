/** Keeps the page for the time without a network; only where it was opened from the laptop over a safe connection. */
const KEPT = "chillplan page";
const shown = async (request) => {
  const cache = await caches.open(KEPT);
  try {
    const answer = await fetch(request);
    // The door, to which a new run of the laptop turns us, is shown but never kept in the page's place.
    if (request.method === "GET" && answer.ok && !answer.redirected && (await cache.match(request))) await cache.put(request, answer.clone());
    return answer;
  } catch (error) {
    const kept = await cache.match(request, { ignoreSearch: true });
    if (kept) return kept;
    throw error;
  }
};
self.addEventListener("install", (event) => event.waitUntil(caches.open(KEPT).then((cache) => cache.addAll(["page", "icon.svg", "page.webmanifest"]))));
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => event.respondWith(shown(event.request)));
