// Records on several shelves: what one refuses goes to the next, and no change is lost.
import assert from "node:assert/strict";
import { test } from "node:test";
import { full, PlayedStorage } from "./played-page.mjs";
import { DatabaseShelf, MemoryShelf, Store, TextShelf } from "../../site_src/assets/js/store.js";

class Refusing extends MemoryShelf {
  name = "refusing";
  error = null;

  async all() {
    if (this.error && this.error.name !== "QuotaExceededError") throw this.error;
    return super.all();
  }

  async change(id, decide) {
    const kept = new Map(this.records);
    await super.change(id, decide);
    if (!this.error) return;
    this.records = kept;
    throw this.error;
  }
}

function played() {
  const first = new Refusing();
  const second = new TextShelf("x:", () => area);
  const area = new PlayedStorage();
  const store = new Store([first, second, new MemoryShelf()]);
  const lost = [];
  store.addEventListener("lost", ({ full: isFull }) => lost.push(isFull));
  return { first, second, area, store, lost };
}

const next = (text) => (now) => ({ id: "a", revision: (now?.revision ?? 0) + 1, text });

test("a record stands on the first shelf alone, and changes are told the newest", async () => {
  const { store, area, lost, first } = played();
  await store.change("a", next("one"));
  await store.change("a", next("two"));
  assert.deepEqual(await store.all(), [{ id: "a", revision: 2, text: "two" }]);
  assert.deepEqual(Object.keys(area), []);
  assert.equal(first.records.size, 1);
  assert.deepEqual(lost, []);
  assert.deepEqual(await store.change("a", () => undefined), { id: "a", revision: 2, text: "two" });
  assert.equal(await store.change("a", () => null), null);
  assert.equal(await store.get("a"), null);
});

test("a full database leaves the old one, and the newer text wins", async () => {
  const { store, first, area, lost } = played();
  await store.change("a", next("old"));
  first.error = full();
  const kept = await store.change("a", next("new"));
  assert.equal(kept.revision, 2);
  assert.equal((await store.get("a")).text, "new");
  assert.equal(JSON.parse(area["x:a"]).text, "new");
  // It still stands somewhere that outlives the page.
  assert.deepEqual(lost, []);
  first.error = null;
  await store.change("a", next("newest"));
  assert.equal((await store.get("a")).revision, 3);
  assert.deepEqual(Object.keys(area), [], "the older copy is gone");
});

test("what only memory takes is told, with the reason", async () => {
  for (const [error, isFull] of [
    [full(), true],
    [Object.assign(new Error("no"), { name: "SecurityError" }), false],
  ]) {
    const { store, first, area, lost } = played();
    first.error = error;
    area.setItem = () => {
      throw error;
    };
    await store.change("a", next("here"));
    assert.deepEqual(lost, [isFull]);
    assert.ok(store.fleeting.has("a"));
    assert.equal((await store.get("a")).text, "here");
    await store.change("a", () => null);
    assert.ok(!store.fleeting.has("a"));
    assert.deepEqual(await store.all(), []);
  }
});

test("deleting takes every copy away", async () => {
  const { store, first, area } = played();
  await store.change("a", next("old"));
  first.error = full();
  await store.change("a", next("new"));
  first.error = null;
  await store.change("a", () => null);
  assert.deepEqual(await store.all(), []);
  assert.deepEqual(Object.keys(area), []);
});

test("changes from two tabs come one after the other on the plain store", async () => {
  const area = new PlayedStorage();
  const tabs = [1, 2].map(() => new Store([new TextShelf("x:", () => area), new MemoryShelf()]));
  await Promise.all(Array.from({ length: 20 }, (_, index) => tabs[index % 2].change("a", next("n"))));
  assert.equal((await tabs[0].get("a")).revision, 20);
});

test("texts that are no records do not stop the others", async () => {
  const area = new PlayedStorage();
  area["x:bad"] = "{";
  area["x:null"] = "null";
  area["x:list"] = "[1]";
  area["x:a"] = '{"id":"a","revision":1}';
  area["other"] = '{"id":"b","revision":1}';
  const store = new Store([new TextShelf("x:", () => area), new MemoryShelf()]);
  assert.deepEqual(await store.all(), [{ id: "a", revision: 1 }]);
});

test("a decision that fails is not tried on the next shelf without end", async () => {
  const { store } = played();
  await assert.rejects(
    store.change("a", () => {
      throw new Error("mine");
    }),
    /mine/,
  );
});

test("a database that a browser does not allow is given up", async () => {
  const refused = new DatabaseShelf("x", () => {
    throw Object.assign(new Error("no"), { name: "SecurityError" });
  });
  const store = new Store([refused, new MemoryShelf()]);
  const lost = [];
  store.addEventListener("lost", ({ full: isFull }) => lost.push(isFull));
  await store.change("a", next("here"));
  assert.deepEqual(lost, [false]);
  assert.equal((await store.get("a")).text, "here");
});
