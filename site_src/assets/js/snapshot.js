// Python's memory right after its start, kept on this device, so that a later start skips the start.
//
// Made by the very browser that uses it, from its own first plain start; never downloaded, and
// always dispensable: whatever goes wrong, the plain start follows.  One per runtime release.

const SCOPE = new URL("../../", import.meta.url);
const KEY = new URL("assets/runtime/snapshot", SCOPE).href;
const REFUSED = `${KEY}-refused`;
// Stands while a start from the snapshot is tried: one that never came back leaves it behind.
const TRYING = `${KEY}-trying`;

const OTHER_TAB_MS = 30_000;

/** @param {BufferSource} bytes */
async function sum(bytes) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** @param {string} runtime hash of the runtime files; "" while developing: nothing is kept */
export function snapshotStore(runtime) {
  const usable = Boolean(runtime) && typeof caches !== "undefined";
  // The service worker keeps the cache of this name for as long as its runtime is in use.
  const open = () => caches.open(`evenrow:${SCOPE.pathname}:snapshot:${runtime}`);
  return {
    /** @returns {Promise<{memory: ArrayBuffer | null, make: boolean}>} */
    async find() {
      if (!usable) return { memory: null, make: false };
      try {
        const cache = await open();
        const nothing = { memory: null, make: false };
        if (await cache.match(REFUSED)) return nothing;
        const kept = await cache.match(KEY);
        if (!kept) return { memory: null, make: true };
        const memory = await kept.arrayBuffer();
        const whole = kept.headers.get("x-sha256") === (await sum(memory));
        const tried = await cache.match(TRYING);
        if (whole && !tried) {
          await cache.put(TRYING, new Response(String(Date.now())));
          return { memory, make: false };
        }
        // Another tab may be starting from it just now: that says nothing against it.
        const started = tried ? Number.parseInt(await tried.text(), 10) : 0;
        if (!(whole && Date.now() - started < OTHER_TAB_MS)) await this.refuse();
        return nothing;
      } catch {
        return { memory: null, make: false };
      }
    },
    /** @param {Uint8Array} memory */
    async keep(memory) {
      try {
        const headers = { "x-sha256": await sum(memory) };
        await (await open()).put(KEY, new Response(memory, { headers }));
      } catch {
        // No room on the device: every start stays a plain one.
      }
    },
    /** The start from it worked. */
    async worked() {
      try {
        await (await open()).delete(TRYING);
      } catch {
        // Then the next start is a plain one.
      }
    },
    /** It did not work here: drop it, and do not make it again for this runtime. */
    async refuse() {
      try {
        const cache = await open();
        await cache.delete(KEY);
        await cache.delete(TRYING);
        await cache.put(REFUSED, new Response(""));
      } catch {
        // Nothing is kept then anyway.
      }
    },
  };
}
