// Saved designs: names, revisions, two tabs, and what others wrote into the store.
import assert from "node:assert/strict";
import { test } from "node:test";
import "./played-page.mjs";
import { MemoryShelf, Store } from "../../site_src/assets/js/store.js";
import { canonical, freeName, plainName, readRecord, Saved } from "../../site_src/assets/js/saved.js";

/** Tabs over one store. */
function tabs(count = 1) {
  const shelf = new MemoryShelf();
  const channels = Array.from({ length: count }, () => new EventTarget());
  for (const mine of channels) {
    mine.postMessage = (data) => {
      for (const other of channels) {
        if (other !== mine) other.dispatchEvent(Object.assign(new Event("message"), { data }));
      }
    };
  }
  let time = 1_000;
  const made = channels.map(
    (channel) =>
      new Saved({ store: new Store([shelf]), channel, catalogue: "generic 1", clock: () => (time += 1) }),
  );
  return { made, shelf };
}

const design = (spacing, name) => ({
  evenrow: 1,
  calculator: "run-length",
  units: "us",
  ...(name ? { name } : {}),
  line: { spacing },
});

test("a design is saved with name, calculator, date and catalogue", async () => {
  const [saved] = tabs().made;
  const record = await saved.add(design("12 in"), "  Rows\n by the shed ");
  assert.equal(record.name, "Rows by the shed");
  assert.equal(record.document.name, "Rows by the shed");
  const [found] = await saved.list();
  assert.deepEqual(found, readRecord(record));
  assert.deepEqual(
    [found.calculator, found.catalogue, found.revision],
    ["run-length", "generic 1", 1],
  );
});

test("a name that is taken gets a number", async () => {
  const [saved] = tabs().made;
  const names = [];
  for (let i = 0; i < 3; i++) names.push((await saved.add(design("12 in"), "A")).name);
  assert.deepEqual(names, ["A", "A (2)", "A (3)"]);
  const copy = await saved.duplicate((await saved.list()).find(({ name }) => name === "A (2)").id);
  assert.equal(copy.name, "A (4)");
  const long = "x".repeat(80);
  const next = freeName(long, [long]);
  assert.equal(next.length, 80);
  assert.ok(next.endsWith(" (2)"));
  assert.equal((await saved.add(design("1 in"), "")).name, "Design");
});

test("names are plain text of one line", () => {
  assert.equal(plainName("a\u202eb\u0000c"), "a b c");
  assert.equal(plainName("🌱".repeat(100)), "🌱".repeat(80));
  for (const bad of [null, 7, {}, "\n\t"]) assert.equal(plainName(bad), "");
});

test("saving again keeps the id and moves the revision", async () => {
  const [saved] = tabs().made;
  const first = await saved.add(design("12 in"), "A");
  const { record, beside } = await saved.save(first.id, design("13 in", "B"), 1);
  assert.deepEqual([record.id, record.revision, record.name, beside], [first.id, 2, "B", false]);
  assert.equal((await saved.list()).length, 1);
});

test("two tabs that save the same design keep both", async () => {
  const [here, there] = tabs(2).made;
  const first = await here.add(design("12 in"), "A");
  await there.save(first.id, design("13 in", "A"), 1);
  const { record, beside } = await here.save(first.id, design("14 in", "A"), 1);
  assert.ok(beside);
  assert.notEqual(record.id, first.id);
  assert.equal(record.name, "A (from the other tab)");
  const kept = await here.list();
  assert.deepEqual(kept.map(({ document }) => document.line.spacing).sort(), ["13 in", "14 in"]);
});

test("the same values saved in two tabs are no clash", async () => {
  const [here, there] = tabs(2).made;
  const first = await here.add(design("12 in"), "A");
  await there.save(first.id, design("13 in", "A"), 1);
  const same = { name: "A", ...design("13 in") };
  const { record, beside } = await here.save(first.id, same, 1);
  assert.deepEqual([record.id, beside], [first.id, false]);
});

test("twenty saves at once lose nothing", async () => {
  const { made } = tabs(2);
  const first = await made[0].add(design("0 in"), "A");
  const texts = Array.from({ length: 20 }, (_, index) => `${index + 1} in`);
  await Promise.all(texts.map((text, index) => made[index % 2].save(first.id, design(text, "A"), 1)));
  const kept = (await made[0].list()).map(({ document }) => document.line.spacing);
  assert.deepEqual(new Set(kept), new Set(texts));
});

test("what another tab deleted is saved anew", async () => {
  const [here, there] = tabs(2).made;
  const first = await here.add(design("12 in"), "A");
  await there.remove(first.id);
  const { record, beside } = await here.save(first.id, design("13 in", "A"), 1);
  assert.deepEqual([record.name, beside], ["A", false]);
});

test("deleting can be taken back", async () => {
  const [saved] = tabs().made;
  const first = await saved.add(design("12 in"), "A");
  const gone = await saved.remove(first.id);
  assert.deepEqual(await saved.list(), []);
  await saved.putBack(gone);
  const [back] = await saved.list();
  assert.deepEqual([back.id, back.name, back.revision], [first.id, "A", 2]);
  assert.equal(await saved.remove("nothing"), null);
});

test("a new name is free and goes into the document", async () => {
  const [saved] = tabs().made;
  await saved.add(design("12 in"), "A");
  const second = await saved.add(design("12 in"), "B");
  const renamed = await saved.rename(second.id, "A");
  assert.deepEqual([renamed.name, renamed.document.name, renamed.revision], ["A (2)", "A (2)", 2]);
  const same = await saved.rename(second.id, "A (2)");
  assert.equal(same.revision, 2);
  assert.equal((await saved.rename(second.id, "\n")).name, "A (2)");
});

test("other tabs hear of every change", async () => {
  const [here, there] = tabs(2).made;
  const heard = [];
  there.addEventListener("change", ({ id }) => heard.push(id));
  const { id } = await here.add(design("12 in"), "A");
  await here.rename(id, "B");
  await here.remove(id);
  assert.deepEqual(heard, [id, id, id]);
});

for (const [what, change] of Object.entries({
  "no object": () => null,
  "an id with a path": (r) => ({ ...r, id: "../a" }),
  "a calculator that is markup": (r) => ({ ...r, calculator: "<b>" }),
  "a revision that is no number": (r) => ({ ...r, revision: "1" }),
  "a date that is none": (r) => ({ ...r, at: Infinity }),
  "no name": (r) => ({ ...r, name: " " }),
  "no document": (r) => ({ ...r, document: null }),
  "another version": (r) => ({ ...r, document: { evenrow: 2 } }),
  "a name of JavaScript": (r) => ({ ...r, document: JSON.parse('{"evenrow":1,"__proto__":{}}') }),
  "a text that is too long": (r) => ({ ...r, document: { evenrow: 1, about: "x".repeat(5000) } }),
})) {
  test(`what is no saved design is not shown: ${what}`, async () => {
    const { made, shelf } = tabs();
    const good = await made[0].add(design("12 in"), "A");
    shelf.records.set("bad", change({ ...good, id: "bad" }) ?? { id: "bad" });
    assert.deepEqual((await made[0].list()).map(({ id }) => id), [good.id]);
    assert.equal(made[0].unreadable, 1);
    assert.equal(shelf.records.size, 2, "left as it is");
  });
}

test("the order of names makes no other document", () => {
  assert.equal(canonical({ a: [{ c: 1, b: 2 }] }), canonical({ a: [{ b: 2, c: 1 }] }));
  assert.notEqual(canonical({ a: [1, 2] }), canonical({ a: [2, 1] }));
});
