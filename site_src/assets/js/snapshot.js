// Python's memory right after its start, kept on this device, so that a later start skips the start.
//
// Made by the very browser that uses it, from its own first plain start; never downloaded, and
// always dispensable: whatever goes wrong, the plain start follows.  One per runtime release.

const SCOPE = new URL("../../", import.meta.url);
const KEY = new URL("assets/runtime/snapshot", SCOPE).href;
const REFUSED = `${KEY}-refused`;

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
        if (await cache.match(REFUSED)) return { memory: null, make: false };
        const kept = await cache.match(KEY);
        return { memory: kept ? await kept.arrayBuffer() : null, make: !kept };
      } catch {
        return { memory: null, make: false };
      }
    },
    /** @param {Uint8Array} memory */
    async keep(memory) {
      try {
        await (await open()).put(KEY, new Response(memory));
      } catch {
        // No room on the device: every start stays a plain one.
      }
    },
    /** It did not work here: drop it, and do not make it again for this runtime. */
    async refuse() {
      try {
        const cache = await open();
        await cache.delete(KEY);
        await cache.put(REFUSED, new Response(""));
      } catch {
        // Nothing is kept then anyway.
      }
    },
  };
}
