// Where the browser allows it (https, or this machine), the pages last seen open without a network.
const PAGES = "pages", AWAY = "/away"; // what stands in for a page never seen

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
    if (answer.ok && !answer.redirected && asked.mode === "navigate") have_away(cache);
    if (new URL(answer.url).pathname === "/sign-in") await caches.delete(PAGES); // nothing stays for a stranger
    return answer;
  } catch (away) {
    const kept = (await cache.match(asked)) ?? (asked.mode === "navigate" ? await cache.match(AWAY) : null);
    if (kept) return kept;
    throw away;
  }
}

async function have_away(cache) {
  if (await cache.match(AWAY)) return;
  const answer = await fetch(AWAY).catch(() => null);
  if (answer?.ok && !answer.redirected) await cache.put(AWAY, answer);
}
