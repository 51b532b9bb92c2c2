// The service worker: keeps the whole page, module included, in one cache named
// after the build, and answers from it alone. Every file is checked against the
// SHA-256 that this script was built with.

declare const self: ServiceWorkerGlobalScope;

const CACHE = `spareamps-${VERSION}`;
const scope = () => new URL(self.registration.scope);
const addressOf = (name: string) => new URL(name, scope()).href;

async function hash(bytes: ArrayBuffer): Promise<string> {
  const sum = await crypto.subtle.digest("SHA-256", bytes);
  return Array.from(new Uint8Array(sum), (b) => b.toString(16).padStart(2, "0")).join("");
}

self.addEventListener("install", (event) => {
  event.waitUntil(
    (async () => {
      const cache = await caches.open(CACHE);
      await Promise.all(
        Object.entries(FILES).map(async ([name, sum]) => {
          // Names with a hash in them may come from the browser's own cache:
          // the sum is checked here.
          const hashed = /-[0-9a-f]{10}\./.test(name);
          const response = await fetch(addressOf(name), { cache: hashed ? "default" : "no-cache", credentials: "same-origin" });
          if (!response.ok) throw new Error(`${name}: ${response.status}`);
          const bytes = await response.clone().arrayBuffer();
          if ((await hash(bytes)) !== sum) throw new Error(`${name} is not the one this page was built with`);
          // A host may lead from index.html to its folder; what has been led on is refused as a page.
          const headers = new Headers(response.headers);
          headers.delete("content-encoding"); // decoded already
          await cache.put(addressOf(name), response.redirected ? new Response(bytes, { headers }) : response);
        }),
      );
    })(),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) {
        if (name.startsWith("spareamps-") && name !== CACHE) await caches.delete(name);
      }
      await self.clients.claim();
    })(),
  );
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== scope().origin || !url.pathname.startsWith(scope().pathname)) return;
  event.respondWith(
    (async () => {
      const cache = await caches.open(CACHE);
      const wanted = request.mode === "navigate" ? addressOf("index.html") : url.origin + url.pathname;
      return (await cache.match(wanted)) ?? fetch(request);
    })(),
  );
});

self.addEventListener("message", (event) => {
  if (event.data === "take over") event.waitUntil(self.skipWaiting());
  if (event.data === "complete?") {
    event.waitUntil(complete().then((yes) => event.ports[0]?.postMessage({ complete: yes, version: VERSION })));
  }
});

/** Whether every file is in the cache and the module is the one built with. */
async function complete(): Promise<boolean> {
  const cache = await caches.open(CACHE);
  const found = await Promise.all(Object.keys(FILES).map((name) => cache.match(addressOf(name))));
  if (found.some((response) => !response)) return false;
  const module = found[Object.keys(FILES).indexOf(MODULE)]!;
  return (await hash(await module.arrayBuffer())) === FILES[MODULE];
}

export {};
