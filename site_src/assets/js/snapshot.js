// Python's memory right after its start, kept on this device, so that a later start skips the start.
//
// Made by the very browser that uses it, from its own first plain start; never downloaded, and
// always dispensable: whatever goes wrong, the plain start follows.  One per release of runtime and
// package: both are in that memory.  Kept as one body: the length of the layout (4 bytes), the layout
// (JSON, filled up to a multiple of 16 bytes), the memory.

const SCOPE = new URL("../../", import.meta.url);
const KEY = new URL("assets/runtime/snapshot", SCOPE).href;
const REFUSED = `${KEY}-refused`;
// Counts starts that are under way or never came back: a page that is left early says nothing
// against the snapshot, several in a row do.
const TRYING = `${KEY}-trying`;
const MOST_TRIES = 3;

/** @param {BufferSource} bytes */
async function sum(bytes) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

const ALIGN = 16;

/** @param {Uint8Array} memory @param {object} layout @returns {Uint8Array} */
export function pack(memory, layout) {
  const text = new TextEncoder().encode(JSON.stringify(layout));
  const start = Math.ceil((4 + text.length) / ALIGN) * ALIGN;
  const body = new Uint8Array(start + memory.length);
  new DataView(body.buffer).setUint32(0, text.length, true);
  body.set(text, 4);
  body.set(memory, start);
  return body;
}

/** @param {ArrayBuffer} body @returns {{memory: Uint8Array, layout: any}} */
export function unpack(body) {
  const length = new DataView(body).getUint32(0, true);
  const layout = JSON.parse(new TextDecoder().decode(new Uint8Array(body, 4, length)));
  return { memory: new Uint8Array(body, Math.ceil((4 + length) / ALIGN) * ALIGN), layout };
}

/** @param {string} id hash of runtime and package; "" while developing: nothing is kept */
export function snapshotStore(id) {
  const usable = Boolean(id) && typeof caches !== "undefined";
  // The service worker keeps the cache of this name for as long as its release is in use.
  const open = () => caches.open(`evenrow:${SCOPE.pathname}:snapshot:${id}`);
  /** @type {Promise<unknown>} */
  let noted = Promise.resolve();
  return {
    /** @returns {Promise<{memory: Uint8Array | null, layout: any, make: boolean}>} */
    async find() {
      const nothing = { memory: null, layout: null, make: false };
      if (!usable) return nothing;
      try {
        const cache = await open();
        if (await cache.match(REFUSED)) return nothing;
        const kept = await cache.match(KEY);
        if (!kept) return { ...nothing, make: true };
        const body = await kept.arrayBuffer();
        const whole = kept.headers.get("x-sha256") === (await sum(body));
        const tried = await cache.match(TRYING);
        const tries = tried ? Number.parseInt(await tried.text(), 10) : 0;
        if (!whole || !(tries < MOST_TRIES)) {
          await this.refuse();
          return nothing;
        }
        // Not waited for here: it is written while Python starts.
        noted = cache.put(TRYING, new Response(String(tries + 1))).catch(() => {});
        return { ...unpack(body), make: false };
      } catch {
        return nothing;
      }
    },
    /** @param {{memory: Uint8Array, layout: object}} snapshot */
    async keep({ memory, layout }) {
      try {
        const body = pack(memory, layout);
        const headers = { "x-sha256": await sum(body) };
        await (await open()).put(KEY, new Response(body, { headers }));
      } catch {
        // No room on the device: every start stays a plain one.
      }
    },
    /** The start from it worked. */
    async worked() {
      try {
        await noted;
        await (await open()).delete(TRYING);
      } catch {
        // Then the next start is a plain one.
      }
    },
    /** It did not work here: drop it, and do not make it again for this release. */
    async refuse() {
      try {
        await noted;
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
