// Service worker: the whole site offline, one release at a time.
//
// The build fills in RELEASE: {release, runtime, python, files: {path: sha256}, runtimeFiles: {…}}.
// Installing is all or nothing: every file is fetched (or copied from the older release when
// its hash is the same), checked against its hash, and only a complete set is ever used.
// A new release waits until the user asks for it; until then pages, worker and Python all
// come from the old one.

const RELEASE = /* RELEASE */ { release: "", runtime: "", python: "", files: {}, runtimeFiles: {} };

const SCOPE = new URL("./", self.location.href);
// Names carry the scope, so that two copies on one origin do not meet.
const PREFIX = `evenrow:${SCOPE.pathname}:`;
const SITE_CACHE = `${PREFIX}site:${RELEASE.release}`;
const RUNTIME_CACHE = `${PREFIX}runtime:${RELEASE.runtime}`;
// Made on this device by the page's worker; see snapshot.js.
const SNAPSHOT_CACHE = `${PREFIX}snapshot:${RELEASE.python}`;
const KEPT = [SITE_CACHE, RUNTIME_CACHE, SNAPSHOT_CACHE];
// Written last; a cache without it is unfinished and is filled again.
const COMPLETE = "__complete__";
const AT_ONCE = 6;

/** @param {string} path @returns {string} */
const address = (path) => new URL(path, SCOPE).href;

/** @param {ArrayBuffer} body */
async function sha256(body) {
  const digest = await crypto.subtle.digest("SHA-256", body);
  return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** @param {Response} answer @param {string} hash @returns {Promise<Response | null>} */
async function verified(answer, hash) {
  if (!answer.ok) return null;
  const copy = answer.clone();
  const body = await copy.arrayBuffer();
  if ((await sha256(body)) !== hash) return null;
  // Kept as it came, because browsers keep compiled code only beside a response with an address.
  if (!answer.redirected) return answer;
  // A redirected response may not answer a navigation: its body goes into one that was not.
  const headers = new Headers();
  const type = answer.headers.get("content-type");
  if (type) headers.set("content-type", type);
  return new Response(body, { headers });
}

/** Find a file of the same hash in what an older release left. */
async function fromOlder(path, hash) {
  for (const name of await caches.keys()) {
    if (!name.startsWith(PREFIX)) continue;
    const cache = await caches.open(name);
    const manifest = await cache.match(address(COMPLETE));
    if (!manifest) continue;
    if ((await manifest.json())[path] !== hash) continue;
    const found = await cache.match(address(path));
    const good = found && (await verified(found, hash));
    if (good) return good;
  }
  return null;
}

/** @param {string} path @param {string} hash @returns {Promise<Response>} */
async function obtain(path, hash) {
  const older = await fromOlder(path, hash);
  if (older) return older;
  // The page has just loaded most of these: the browser's own cache saves a second transfer.
  // Bytes of another release fail the check and are asked for again, past that cache.
  for (const cache of /** @type {RequestCache[]} */ (["default", "reload"])) {
    const good = await verified(await fetch(address(path), { cache }), hash);
    if (good) return good;
  }
  throw new Error(`${path} does not match this release`);
}

/** @param {string} name @param {Record<string, string>} files path to hash */
async function fill(name, files) {
  const cache = await caches.open(name);
  if (await cache.match(address(COMPLETE))) return;
  const queue = Object.entries(files);
  const lane = async () => {
    for (let next = queue.shift(); next; next = queue.shift()) {
      const [path, hash] = next;
      // What an interrupted install left is used again, if it is whole.
      const kept = await cache.match(address(path));
      if (kept && (await verified(kept, hash))) continue;
      await cache.put(address(path), await obtain(path, hash));
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, lane));
  await cache.put(address(COMPLETE), Response.json(files));
}

self.addEventListener("install", (event) => {
  event.waitUntil(
    fill(SITE_CACHE, RELEASE.files).then(() => fill(RUNTIME_CACHE, RELEASE.runtimeFiles)),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) {
        if (name.startsWith(PREFIX) && !KEPT.includes(name)) await caches.delete(name);
      }
      await self.clients.claim();
    })(),
  );
});

self.addEventListener("message", (event) => {
  if (event.data === "take-over") self.skipWaiting();
});

/** @param {URL} url @param {boolean} page @returns {string} name in the manifest */
function pathOf(url, page) {
  const path = decodeURIComponent(url.pathname.slice(SCOPE.pathname.length));
  if (!page) return path;
  if (path === "" || path.endsWith("/")) return `${path}index.html`;
  return Object.hasOwn(RELEASE.files, path) ? path : `${path}/index.html`;
}

/** Answer for an address that this release does not have. @param {Request} request */
async function unknownPage(request) {
  const answer = await fetch(request).catch(() => null);
  if (answer && answer.status !== 404) return answer;
  const own = await (await caches.open(SITE_CACHE)).match(address("404.html"));
  if (!own) return answer ?? Response.error();
  return new Response(own.body, { status: 404, headers: own.headers });
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  // Asks the browser's own cache; see core-worker.js.
  if (request.cache === "only-if-cached") return;
  if (request.method !== "GET" || url.origin !== SCOPE.origin) return;
  if (!url.pathname.startsWith(SCOPE.pathname)) return;
  const page = request.mode === "navigate";
  // Without the query: it never chooses a page here.
  const path = pathOf(url, page);
  const name = Object.hasOwn(RELEASE.files, path)
    ? SITE_CACHE
    : Object.hasOwn(RELEASE.runtimeFiles, path)
      ? RUNTIME_CACHE
      : "";
  if (!name) {
    if (page) event.respondWith(unknownPage(request));
    return;
  }
  if (page && path === `${pathOf(url, false)}/index.html`) {
    // A folder without its slash: what its page names would be looked for one folder up.
    url.pathname += "/";
    event.respondWith(Response.redirect(url.href, 301));
    return;
  }
  event.respondWith(
    (async () => {
      const found = await (await caches.open(name)).match(address(path));
      return found ?? fetch(request);
    })(),
  );
});
