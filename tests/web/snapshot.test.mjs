// What is kept of Python's memory, against a cache that the test plays.
import assert from "node:assert/strict";
import { test } from "node:test";

const { pack, snapshotStore, unpack } = await import("../../site_src/assets/js/snapshot.js");

const MEMORY = new Uint8Array(1000).map((_, index) => index % 251);
const LAYOUT = { table: 7, names: { "ä": 1 } };
const ARCHIVES = [new Uint8Array([1, 2, 3]), new Uint8Array(0), new Uint8Array([4])];
const KEPT = { memory: MEMORY, layout: LAYOUT, archives: ARCHIVES };
const NOTHING = { kept: null, make: false };

/** A device's storage; `full` refuses whatever is put into it. */
function device({ full = false } = {}) {
  const kept = new Map();
  const cache = {
    match: async (key) => kept.get(key)?.clone(),
    put: async (key, answer) => {
      if (full) throw new DOMException("full", "QuotaExceededError");
      kept.set(key, answer);
    },
    delete: async (key) => kept.delete(key),
  };
  globalThis.caches = { open: async () => cache };
  return { kept, names: () => [...kept.keys()].map((key) => key.split("/").pop()) };
}

test("memory, layout and archives come back as they were, the memory at a place that words fit", () => {
  const kept = unpack(pack(KEPT).buffer);
  assert.deepEqual(kept, KEPT);
  assert.equal(kept.memory.byteOffset % 16, 0);
});

test("what is all zeros in the memory takes no room, wherever it is", () => {
  const size = 100 * 4096 + 7;
  for (const used of [[], [0], [size - 1], [4095, 4096], [0, 50 * 4096, 52 * 4096 + 1, size - 1]]) {
    const memory = new Uint8Array(size);
    for (const at of used) memory[at] = 255;
    const body = pack({ memory, layout: LAYOUT, archives: [] });
    assert.ok(body.length <= 4096 * used.length + 512, `${body.length} for ${used}`);
    assert.deepEqual(unpack(body.buffer).memory, memory);
  }
});

test("nothing is looked for or made while developing", async () => {
  device();
  assert.deepEqual(await snapshotStore("").find(), NOTHING);
});

test("the first start makes one, the next starts from it, and a start that worked leaves no mark", async () => {
  const { names } = device();
  const store = snapshotStore("a");
  assert.equal((await store.find()).make, true);
  await store.keep(KEPT);
  const next = snapshotStore("a");
  const { kept, make } = await next.find();
  assert.equal(make, false);
  assert.deepEqual(await kept, KEPT);
  await next.worked();
  assert.deepEqual(names(), ["snapshot"]);
});

test("three starts that never came back are enough", async () => {
  const { names } = device();
  await snapshotStore("a").keep(KEPT);
  for (let left = 0; left < 3; left += 1) {
    assert.ok(await (await snapshotStore("a").find()).kept, `after ${left}`);
  }
  assert.deepEqual(await snapshotStore("a").find(), NOTHING);
  assert.deepEqual(names(), ["snapshot-refused"]);
  assert.equal((await snapshotStore("a").find()).make, false);
});

test("other bytes than were kept are refused, and so is a form of before with its own hash", async () => {
  for (const change of [
    (bytes, headers) => [bytes.with(-1, bytes.at(-1) ^ 1), headers],
    (bytes, headers) => [bytes.slice(0, -1), headers],
    async (bytes) => {
      const old = bytes.fill(255, 0, 4);
      const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", old));
      return [old, { "x-sha256": Buffer.from(sum).toString("hex") }];
    },
  ]) {
    const { kept, names } = device();
    await snapshotStore("a").keep(KEPT);
    const [[key, answer]] = kept;
    const whole = new Uint8Array(await answer.clone().arrayBuffer());
    const [bytes, headers] = await change(whole, answer.headers);
    kept.set(key, new Response(bytes, { headers }));
    assert.equal(await (await snapshotStore("a").find()).kept, null);
    assert.deepEqual(names(), ["snapshot-refused"]);
  }
});

test("a full device, or one without storage, never gets in the way", async () => {
  const { names } = device({ full: true });
  const store = snapshotStore("a");
  await store.keep(KEPT);
  assert.deepEqual(names(), []);
  assert.deepEqual(await store.find(), { kept: null, make: true });
  globalThis.caches = {
    open: async () => {
      throw new DOMException("no", "SecurityError");
    },
  };
  assert.deepEqual(await store.find(), NOTHING);
  await store.worked();
  await store.refuse();
});

/** Files of the site's own, as a browser has them in a worker; `broken` ones cannot be written. */
function ownFiles({ broken = false, shared = true } = {}) {
  const files = new Map();
  const handle = (name) => ({
    createSyncAccessHandle: async (how) => {
      if (how && !shared) throw new DOMException("in use", "NoModificationAllowedError");
      return {
        truncate: (size) => files.set(name, files.get(name).slice(0, size)),
        getSize: () => files.get(name).length,
        read: (into) => into.set(files.get(name)),
        write: (bytes) => {
          if (broken) throw new DOMException("full", "QuotaExceededError");
          files.set(name, bytes.slice());
          return bytes.length;
        },
        flush: () => {},
        close: () => {},
      };
    },
    getFile: async () => ({ arrayBuffer: async () => files.get(name).slice().buffer }),
  });
  const directory = {
    getFileHandle: async (name, { create = false } = {}) => {
      if (create) files.set(name, files.get(name) ?? new Uint8Array(0));
      if (!files.has(name)) throw new DOMException("none", "NotFoundError");
      return handle(name);
    },
    removeEntry: async (name) => files.delete(name),
    async *keys() {
      yield* [...files.keys()];
    },
  };
  Object.defineProperty(globalThis, "navigator", {
    value: { storage: { getDirectory: async () => directory } },
    configurable: true,
  });
  return files;
}

test("the body lies in a file where there are such files, one for each site, read by several tabs", async (t) => {
  t.after(() => delete globalThis.navigator);
  for (const shared of [true, false]) {
    const { kept } = device();
    const files = ownFiles({ shared });
    files.set("snapshot of nobody", new Uint8Array(1));
    await snapshotStore("old").keep(KEPT);
    await snapshotStore("a").keep(KEPT);
    assert.equal([...files.keys()].filter((name) => name.endsWith(" a")).length, 1);
    assert.equal([...files.keys()].filter((name) => name.endsWith(" old")).length, 0);
    assert.ok(files.has("snapshot of nobody"));
    assert.equal((await [...kept.values()][0].clone().arrayBuffer()).byteLength, 0);
    assert.deepEqual(await (await snapshotStore("a").find()).kept, KEPT);
    await snapshotStore("a").refuse();
    assert.deepEqual([...files.keys()], ["snapshot of nobody"]);
  }
});

test("a file that is gone or spoilt is refused, one that cannot be written leaves the body to the cache", async (t) => {
  t.after(() => delete globalThis.navigator);
  for (const spoil of [(files, name) => files.delete(name), (files, name) => files.get(name).fill(7)]) {
    const { names } = device();
    const files = ownFiles();
    await snapshotStore("a").keep(KEPT);
    spoil(files, [...files.keys()][0]);
    assert.equal(await (await snapshotStore("a").find()).kept, null);
    assert.deepEqual(names(), ["snapshot-refused"]);
  }
  device();
  ownFiles({ broken: true });
  await snapshotStore("a").keep(KEPT);
  assert.deepEqual(await (await snapshotStore("a").find()).kept, KEPT);
});
