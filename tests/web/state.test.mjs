// What is kept on the device: no two links share a slot, and what others wrote there is refused.
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";

class PlayedStorage {
  getItem(key) {
    return Object.hasOwn(this, key) ? this[key] : null;
  }

  setItem(key, text) {
    this[key] = text;
  }

  removeItem(key) {
    delete this[key];
  }
}

for (const name of ["localStorage", "sessionStorage"]) {
  Object.defineProperty(globalThis, name, { value: new PlayedStorage(), writable: true });
}
const state = await import("../../site_src/assets/js/state.js");

beforeEach(() => {
  globalThis.localStorage = new PlayedStorage();
  globalThis.sessionStorage = new PlayedStorage();
});

/** Put text where a document is kept. */
function plant(text) {
  state.save("zones", "own", { evenrow: 1 });
  for (const key of Object.keys(localStorage)) localStorage[key] = text;
  for (const key of Object.keys(sessionStorage)) sessionStorage[key] = text;
}

test("links that were made alike have slots of their own", async () => {
  const tail = "x".repeat(200);
  const slots = new Set();
  for (const head of ["a", "b", "A"]) slots.add(await state.linkSlot(`#design=1.${head}${tail}`));
  assert.equal(slots.size, 3);
  for (const slot of slots) assert.match(slot, /^link-[0-9a-f]{64}$/);
});

test("without a hash function the whole link is the slot", async () => {
  const kept = Object.getOwnPropertyDescriptor(globalThis, "crypto");
  Object.defineProperty(globalThis, "crypto", { value: {}, configurable: true });
  try {
    assert.equal(await state.linkSlot("#design=1.abc"), "link-#design=1.abc");
  } finally {
    Object.defineProperty(globalThis, "crypto", kept);
  }
});

test("what was saved comes back without a prototype", () => {
  state.save("zones", "own", { evenrow: 1, rows: [{ length: "30 m" }] });
  const document = state.load("zones", "own");
  assert.equal(JSON.stringify(document), '{"evenrow":1,"rows":[{"length":"30 m"}]}');
  assert.equal(Object.getPrototypeOf(document), null);
});

test("a text that is too long or was cut in a pair is not lost", () => {
  state.save("zones", "own", { evenrow: 1, about: `${"x".repeat(2199)}\ud83c` });
  assert.equal(state.load("zones", "own").about, `${"x".repeat(2199)}\ufffd`);
});

for (const text of [
  "",
  "no JSON",
  "null",
  "[]",
  '{"document":null}',
  '{"document":[]}',
  '{"document":{"evenrow":2}}',
  '{"document":{"evenrow":1,"units":{}}}',
  '{"document":{"evenrow":1,"__proto__":{"a":1}}}',
  '{"document":{"evenrow":1,"name":null}}',
  `{"document":{"evenrow":1,"about":"${"x".repeat(41_001)}"}}`,
]) {
  test(`what is no document is not loaded: ${text.slice(0, 60)}`, () => {
    plant(text);
    assert.equal(state.load("zones", "own"), null);
  });
}

test("the revision goes with the document that was made from it", () => {
  state.save("zones", "saved-a", { evenrow: 1 }, 3);
  assert.equal(state.baseOf("zones", "saved-a"), 3);
  state.save("zones", "saved-a", { evenrow: 1 });
  assert.equal(state.baseOf("zones", "saved-a"), 0);
  for (const bad of ["", "{", "null", '{"base":"3"}', '{"base":1e99}']) {
    for (const key of Object.keys(sessionStorage)) sessionStorage[key] = bad;
    assert.equal(state.baseOf("zones", "saved-a"), 0);
  }
  assert.equal(state.baseOf("zones", "none"), 0);
});
