/**
 * The service worker: opens the app without a network. It keeps the app's own files and its one page, nothing that
 * belongs to a person, and leaves every other request alone. `self.release` is set by the script that imports this.
 */

const { version, page, manifest, files } = self.release;
const PREFIX = "register-tablet-";
const OURS = PREFIX + version;
const STORE = "register-tablet";

self.addEventListener("install", (event) => {
  event.waitUntil(fill());
});

async function fill() {
  const cache = await caches.open(OURS);
  // Past the browser's own cache, so that a version is made of its own files.
  await cache.addAll([page, manifest, ...files].map((address) => new Request(address, { cache: "reload" })));
}

self.addEventListener("activate", (event) => {
  event.waitUntil(drop().then(() => self.clients.claim()));
});

/** Older versions go, but for those on which a check is still under way. */
async function drop() {
  const pinned = (await openChecks()).map((draft) => PREFIX + draft.kept?.release);
  for (const name of await caches.keys()) {
    if (name.startsWith(PREFIX) && name !== OURS && !pinned.includes(name)) await caches.delete(name);
  }
}

self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
  if (event.data === "which version") event.ports[0].postMessage(version);
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== location.origin) return;
  if (request.mode === "navigate") {
    // A label's own address is answered by the server where there is one, else by the app.
    if (address.pathname === page) event.respondWith(fromCache(page, request));
    else if (address.pathname.startsWith(`${page}t/`)) event.respondWith(labelled(request));
    return;
  }
  if (address.pathname === manifest || files.includes(address.pathname) || address.pathname.startsWith("/static/")) {
    event.respondWith(fromCache(address.pathname, request));
  }
});

async function labelled(request) {
  try {
    return await fetch(request);
  } catch {
    return fromCache(page, request);
  }
}

/** From the version in use: that of the oldest check under way, so that it is finished as it was begun, else ours. */
async function fromCache(address, request) {
  for (const name of await versions()) {
    const found = await (await caches.open(name)).match(address);
    if (found) return found;
  }
  return fetch(request);
}

async function versions() {
  const begun = (await openChecks()).sort((a, b) => a.kept.begun_at.localeCompare(b.kept.begun_at));
  const pinned = begun.map((draft) => PREFIX + draft.kept.release);
  const known = await caches.keys();
  return [...new Set([...pinned, OURS])].filter((name) => known.includes(name));
}

/** Checks under way on this tablet; none where it has no store yet. */
function openChecks() {
  return new Promise((resolve) => {
    const asked = indexedDB.open(STORE);
    asked.onupgradeneeded = () => asked.transaction.abort(); // it is the app's to make
    asked.onerror = (event) => {
      event.preventDefault();
      resolve([]);
    };
    asked.onsuccess = () => {
      const db = asked.result;
      const read = db.transaction("drafts").objectStore("drafts").getAll();
      read.onsuccess = () => resolve(read.result.filter((draft) => draft.kept?.release));
      read.onerror = () => resolve([]);
      read.transaction.oncomplete = () => db.close();
    };
  });
}
