// Where the browser allows it (https, or this machine), the pages last seen open without a network.
const PAGES = "pages";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(clients.claim()));

self.addEventListener("fetch", (event) => {
  const asked = event.request, url = new URL(asked.url);
  if (asked.method !== "GET" || url.origin !== location.origin || /^\/(api|take|calendar|labels)/.test(url.pathname)) return;
  event.respondWith(fresh(asked));
});

async function fresh(asked) {
  const cache = await caches.open(PAGES);
  try {
    const answer = await fetch(asked);
    if (answer.ok && !answer.redirected) await cache.put(asked, answer.clone());
    if (new URL(answer.url).pathname === "/sign-in") await caches.delete(PAGES); // nothing stays for a stranger
    return answer;
  } catch (away) {
    const kept = await cache.match(asked);
    if (kept) return kept;
    throw away;
  }
}
