// Python's memory right after its start, kept on this device, so that a later start skips the start.
//
// Made by the very browser that uses it, from its own first plain start; never downloaded, and
// always dispensable: whatever goes wrong, the plain start follows.  One per release of runtime and
// package: both are in that memory.  Kept as one body, so that it is there whole or not at all: the
// length of the head (4 bytes), the head (JSON, filled up to a multiple of 16 bytes), the runs of the
// memory that are not all zeros (a third is), and Python's archives, unpacked already.  The body lies in
// a file of the site's own where the browser has such files, else in the cache with its hash.

import { readFile, removeFiles, writeFile } from "./own-file.js";

const SCOPE = new URL("../../", import.meta.url);
const KEY = new URL("assets/runtime/snapshot", SCOPE).href;
const REFUSED = `${KEY}-refused`;
// Counts starts that are under way or never came back: a page that is left early says nothing
// against the snapshot, several in a row do.
const TRYING = `${KEY}-trying`;
const MOST_TRIES = 3;
// Several such sites may share an origin.
const FILES = `snapshot ${SCOPE.pathname.replaceAll("/", " ")} `;

/** @param {BufferSource} bytes */
async function sum(bytes) {
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

const ALIGN = 16;
const BLOCK = 4096;

/**
 * @typedef {{memory: Uint8Array, layout: any, archives: Uint8Array[]}} Kept
 *   archives: the standard library, then those of python-start.js in their order
 */

/** @param {Uint8Array} memory @returns {[number, number][]} start and end of what is not all zeros */
function usedRuns(memory) {
  /** @type {[number, number][]} */
  const runs = [];
  for (let start = 0; start < memory.length; start += BLOCK) {
    const end = Math.min(start + BLOCK, memory.length);
    let at = start;
    while (at < end && memory[at] === 0) at += 1;
    if (at === end) continue;
    const last = runs.at(-1);
    if (last?.[1] === start) last[1] = end;
    else runs.push([start, end]);
  }
  return runs;
}

/** @param {Kept} kept @returns {Uint8Array} */
export function pack({ memory, layout, archives }) {
  const runs = usedRuns(memory);
  const head = { layout, size: memory.length, runs, archives: archives.map(({ length }) => length) };
  const text = new TextEncoder().encode(JSON.stringify(head));
  const pieces = [...runs.map(([start, end]) => memory.subarray(start, end)), ...archives];
  let at = Math.ceil((4 + text.length) / ALIGN) * ALIGN;
  const body = new Uint8Array(pieces.reduce((sum, { length }) => sum + length, at));
  new DataView(body.buffer).setUint32(0, text.length, true);
  body.set(text, 4);
  for (const piece of pieces) {
    body.set(piece, at);
    at += piece.length;
  }
  return body;
}

/** @param {ArrayBuffer} body @returns {Kept} */
export function unpack(body) {
  const length = new DataView(body).getUint32(0, true);
  const { layout, size, runs, archives } = JSON.parse(
    new TextDecoder().decode(new Uint8Array(body, 4, length)),
  );
  let at = Math.ceil((4 + length) / ALIGN) * ALIGN;
  const next = (count) => new Uint8Array(body, (at += count) - count, count);
  const memory = new Uint8Array(size);
  for (const [start, end] of runs) memory.set(next(end - start), start);
  return { memory, layout, archives: archives.map(next) };
}

/** @param {string} id hash of runtime and package; "" while developing: nothing is kept */
export function snapshotStore(id) {
  const name = FILES + id;
  const usable = Boolean(id) && typeof caches !== "undefined";
  // The service worker keeps the cache of this name for as long as its release is in use.
  const open = () => caches.open(`evenrow:${SCOPE.pathname}:snapshot:${id}`);
  /** @type {Promise<unknown>} */
  let noted = Promise.resolve();
  return {
    /**
     * Tells at once whether there is one; its reading goes on meanwhile.
     * @returns {Promise<{kept: Promise<Kept | null> | null, make: boolean}>} `kept` gives null for one
     *   that is damaged; `make`: none is there, and one may be made
     */
    async find() {
      const nothing = { kept: null, make: false };
      if (!usable) return nothing;
      try {
        const cache = await open();
        const [refused, kept, tried] = await Promise.all(
          [REFUSED, KEY, TRYING].map((key) => cache.match(key)),
        );
        if (refused) return nothing;
        if (!kept) return { ...nothing, make: true };
        const tries = tried ? Number.parseInt(await tried.text(), 10) : 0;
        if (!(tries < MOST_TRIES)) {
          await this.refuse();
          return nothing;
        }
        // Not waited for here: it is written while Python starts.
        noted = cache.put(TRYING, new Response(String(tries + 1))).catch(() => {});
        return { kept: this.read(kept), make: false };
      } catch {
        return nothing;
      }
    },
    /** @param {Response} answer @returns {Promise<Kept | null>} null, and refused, when it is damaged */
    async read(answer) {
      try {
        const own = answer.headers.get("x-file");
        const body = own ? await readFile(own) : await answer.arrayBuffer();
        if (answer.headers.get("x-sha256") === (await sum(body))) return unpack(body);
      } catch {
        // As good as damaged.
      }
      await this.refuse();
      return null;
    },
    /** @param {Kept} snapshot */
    async keep(snapshot) {
      try {
        const body = pack(snapshot);
        /** @type {Record<string, string>} */
        const headers = { "x-sha256": await sum(body) };
        try {
          await removeFiles(FILES, name);
          await writeFile(name, body);
          headers["x-file"] = name;
        } catch {
          // No such files here: the cache takes it.
        }
        const held = headers["x-file"] ? "" : body;
        await (await open()).put(KEY, new Response(held, { headers }));
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
        await removeFiles(FILES);
      } catch {
        // Nothing is kept then anyway.
      }
    },
  };
}
