// What is kept of Python's memory, against a cache that the test plays.
import assert from "node:assert/strict";
import { test } from "node:test";

const { pack, snapshotStore, unpack } = await import("../../site_src/assets/js/snapshot.js");

const MEMORY = new Uint8Array(1000).map((_, index) => index % 251);
const LAYOUT = { table: 7, names: { "ä": 1 } };

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

test("memory and layout come back as they were, the memory at a place that words fit", () => {
  const body = pack(MEMORY, LAYOUT);
  const { memory, layout } = unpack(body.buffer);
  assert.deepEqual(memory, MEMORY);
  assert.deepEqual(layout, LAYOUT);
  assert.equal(memory.byteOffset % 16, 0);
});

test("nothing is looked for or made while developing", async () => {
  device();
  assert.deepEqual(await snapshotStore("").find(), { memory: null, layout: null, make: false });
});

test("the first start makes one, the next starts from it, and a start that worked leaves no mark", async () => {
  const { names } = device();
  const store = snapshotStore("a");
  assert.equal((await store.find()).make, true);
  await store.keep({ memory: MEMORY, layout: LAYOUT });
  const next = snapshotStore("a");
  const { memory, layout, make } = await next.find();
  assert.deepEqual([memory, layout, make], [MEMORY, LAYOUT, false]);
  await next.worked();
  assert.deepEqual(names(), ["snapshot"]);
});

test("three starts that never came back are enough", async () => {
  const { names } = device();
  await snapshotStore("a").keep({ memory: MEMORY, layout: LAYOUT });
  for (let left = 0; left < 3; left += 1) {
    assert.ok((await snapshotStore("a").find()).memory, `after ${left}`);
  }
  assert.deepEqual(await snapshotStore("a").find(), { memory: null, layout: null, make: false });
  assert.deepEqual(names(), ["snapshot-refused"]);
  assert.equal((await snapshotStore("a").find()).make, false);
});

test("other bytes than were kept are refused", async () => {
  const { kept, names } = device();
  await snapshotStore("a").keep({ memory: MEMORY, layout: LAYOUT });
  const [[key, answer]] = kept;
  const bytes = new Uint8Array(await answer.clone().arrayBuffer());
  bytes[bytes.length - 1] ^= 1;
  kept.set(key, new Response(bytes, { headers: answer.headers }));
  assert.equal((await snapshotStore("a").find()).memory, null);
  assert.deepEqual(names(), ["snapshot-refused"]);
});

test("a full device, or one without storage, never gets in the way", async () => {
  const { names } = device({ full: true });
  const store = snapshotStore("a");
  await store.keep({ memory: MEMORY, layout: LAYOUT });
  assert.deepEqual(names(), []);
  assert.deepEqual(await store.find(), { memory: null, layout: null, make: true });
  globalThis.caches = {
    open: async () => {
      throw new DOMException("no", "SecurityError");
    },
  };
  assert.deepEqual(await store.find(), { memory: null, layout: null, make: false });
  await store.worked();
  await store.refuse();
});
