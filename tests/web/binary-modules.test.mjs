// What is noted of NumPy's binary modules, with a runtime that the test plays.  The real one is run by
// the build (scripts/check_python.mjs) and by the browser tests.
import assert from "node:assert/strict";
import { test } from "node:test";

const { beforeLinking, BINARY_MODULES, describe, fileOf, putBack } = await import(
  "../../site_src/assets/js/binary-modules.js"
);

const entry = (name) => Object.assign(() => {}, { entry: name });

function played() {
  const table = [entry("main 0"), entry("main 1")];
  const runtime = {
    wasmTable: {
      get length() {
        return table.length;
      },
      get: (at) => table[at],
      grow: (count) => table.push(...Array(count).fill(null)),
    },
    GOT: { malloc: { value: 5 } },
    LDSO: { loadedLibsByName: { __main__: { exports: {} } } },
  };
  return { runtime, table };
}

/** Two modules with two functions of their own each, and their start functions. */
function linked() {
  const { runtime, table } = played();
  const before = beforeLinking(runtime);
  const places = BINARY_MODULES.map((name, index) => {
    const tableBase = table.length;
    const begin = entry(`begin ${index}`);
    table.push(entry("own"), entry("own"), begin);
    runtime.LDSO.loadedLibsByName[fileOf(name)] = { exports: { begin } };
    return { name, memoryBase: 1024 * (index + 1), memorySize: 16, tableBase, tableSize: 2 };
  });
  runtime.GOT.begin = { value: 4 };
  return { runtime, table, before, places };
}

test("places, single functions and new names are noted", () => {
  const { runtime, before, places } = linked();
  const layout = describe(runtime, before, places);
  assert.deepEqual(layout.slots, [
    [4, BINARY_MODULES[0], "begin"],
    [7, BINARY_MODULES[1], "begin"],
  ]);
  assert.deepEqual(layout.names, { begin: 4 });
  assert.deepEqual([layout.before, layout.table], [{ table: 2, names: 1 }, 8]);
  assert.deepEqual(JSON.parse(JSON.stringify(layout)), layout);
});

test("a function of unknown origin cannot be put back, so nothing is noted", () => {
  const { runtime, table, before, places } = linked();
  table.push(entry("somebody's"));
  assert.throws(() => describe(runtime, before, places), /entry 8 .* unknown origin/);
});

test("another runtime than the one described is refused before anything is changed", async () => {
  const { runtime, before, places } = linked();
  const layout = describe(runtime, before, places);
  for (const change of [
    ({ table }) => table.push(entry("one more")),
    (other) => (other.runtime.GOT.more = { value: 1 }),
  ]) {
    const other = played();
    change(other);
    const size = other.table.length;
    await assert.rejects(putBack(other.runtime, layout, []), /not laid out/);
    assert.equal(other.table.length, size);
  }
});
