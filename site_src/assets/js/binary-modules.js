// NumPy's two binary modules: linked at a plain start, and put back at a start from the snapshot.
//
// A snapshot holds Python's memory, in which addresses of these modules' data and functions stand.
// So they have to come back where they were: data at the same place of the memory, functions at the
// same places of the function table, and the linker's names with the same values.

/** Modules of Python in their own WebAssembly files: `NAME.wasm` beside the runtime. */
export const BINARY_MODULES = ["numpy._core._multiarray_umath", "numpy.linalg._umath_linalg"];

/** @param {string} name @returns {string} where Python believes the module's file to be */
export const fileOf = (name) => `/lib/${name}.so`;

// As the runtime's linker writes it: where in a library's record it notes what it gave to it.
const RECORD_BYTES = 64;
const RECORD_FIRST = 12;

/**
 * @typedef {{name: string, memoryBase: number, memorySize: number, tableBase: number, tableSize: number}} Place
 * @typedef {{table: number, names: Record<string, number>}} Before state of the linker before them
 * @typedef {{before: {table: number, names: number}, table: number, places: Place[],
 *   slots: [number, string, string][], names: Record<string, number>}} Layout all plain data
 */

/** @param {any} runtime @returns {Record<string, number>} the linker's names with their values */
function linkedNames(runtime) {
  return Object.fromEntries(Object.entries(runtime.GOT).map(([name, { value }]) => [name, value]));
}

/** What the linker has before any of these modules. @param {any} runtime @returns {Before} */
export function beforeLinking(runtime) {
  return { table: runtime.wasmTable.length, names: linkedNames(runtime) };
}

/**
 * Link the modules in order, so that Python's own import finds them linked.
 * @param {any} runtime the runtime's inner module
 * @param {WebAssembly.Module[]} modules in the order of BINARY_MODULES
 * @returns {Promise<Place[]>} where each of them is
 */
export async function link(runtime, modules) {
  const places = [];
  for (const [index, name] of BINARY_MODULES.entries()) {
    const record = runtime.getMemory(RECORD_BYTES);
    const flags = { loadAsync: true, nodelete: true, allowUndefined: true };
    const exports = await runtime.loadWebAssemblyModule(modules[index], flags, fileOf(name), {}, record);
    Object.assign(runtime.newDSO(fileOf(name), undefined, exports), { refcount: 1, global: false });
    const first = (record + RECORD_FIRST) >>> 2;
    const [memoryBase, memorySize, tableBase, tableSize] = runtime.HEAPU32.slice(first, first + 4);
    places.push({ name, memoryBase, memorySize, tableBase, tableSize });
    runtime._free(record);
  }
  return places;
}

/**
 * Describe what linking and importing the modules has changed outside of Python's memory.
 * @param {any} runtime
 * @param {Before} before
 * @param {Place[]} places
 * @returns {Layout}
 * @throws {Error} when the function table holds anything that could not be put back
 */
export function describe(runtime, before, places) {
  const table = runtime.wasmTable.length;
  /** @type {[number, string, string][]} functions put into the table one by one */
  const slots = [];
  for (let at = before.table; at < table; at += 1) {
    const inside = places.find((place) => at >= place.tableBase && at < place.tableBase + place.tableSize);
    if (inside) {
      at = inside.tableBase + inside.tableSize - 1;
      continue;
    }
    const held = runtime.wasmTable.get(at);
    const owner = places.flatMap(({ name }) =>
      Object.entries(runtime.LDSO.loadedLibsByName[fileOf(name)].exports)
        .filter(([, exported]) => exported === held)
        .map(([symbol]) => /** @type {[number, string, string]} */ ([at, name, symbol])),
    )[0];
    if (!owner) throw new Error(`entry ${at} of the function table is of unknown origin`);
    slots.push(owner);
  }
  const names = Object.entries(linkedNames(runtime)).filter(([name, value]) => before.names[name] !== value);
  return {
    before: { table: before.table, names: Object.keys(before.names).length },
    table,
    places,
    slots,
    names: Object.fromEntries(names),
  };
}

/**
 * Put the modules back, in a runtime whose memory has just been restored.  Nothing of them may run
 * before: Python's garbage collector has to rest until then.
 * @param {any} runtime
 * @param {Layout} layout
 * @param {WebAssembly.Module[]} modules in the order of BINARY_MODULES
 * @throws {Error} when this runtime differs from the one that was described
 */
export async function putBack(runtime, layout, modules) {
  const { table, names } = beforeLinking(runtime);
  if (table !== layout.before.table || Object.keys(names).length !== layout.before.names) {
    throw new Error("the runtime is not laid out as it was");
  }
  for (const [name, value] of Object.entries(layout.names)) {
    runtime.GOT[name] ??= new WebAssembly.Global({ value: "i32", mutable: true });
    runtime.GOT[name].value = value;
  }
  runtime.wasmTable.grow(layout.table - table);
  for (const [index, name] of BINARY_MODULES.entries()) {
    const place = layout.places.find((each) => each.name === name);
    if (!place) throw new Error(`${name} was not described`);
    await putOneBack(runtime, place, modules[index]);
  }
  for (const [at, name, symbol] of layout.slots) {
    runtime.setWasmTableEntry(at, runtime.LDSO.loadedLibsByName[fileOf(name)].exports[symbol]);
  }
}

/** @param {any} runtime @param {Place} place @param {WebAssembly.Module} module */
async function putOneBack(runtime, place, module) {
  const { memoryBase, memorySize, tableBase } = place;
  const main = runtime.LDSO.loadedLibsByName.__main__.exports;
  /** @type {Record<string, any>} */
  const exports = {};
  const given = { __memory_base: memoryBase, __table_base: tableBase };
  const env = new Proxy(given, {
    get(_, name) {
      if (Object.hasOwn(given, name)) return given[name];
      // What the runtime does not have is the module's own, which exists only once it is there.
      if (main[name] && !main[name].stub) return main[name];
      return (...values) => exports[name](...values);
    },
  });
  const linked = new Proxy({}, { get: (_, name) => runtime.GOT[name] });
  const imports = { env, wasi_snapshot_preview1: env, "GOT.mem": linked, "GOT.func": linked };
  // Instantiating writes the module's first data over what was restored there: that comes back after.
  const data = runtime.HEAPU8.slice(memoryBase, memoryBase + memorySize);
  const instance = await WebAssembly.instantiate(module, imports);
  runtime.HEAPU8.set(data, memoryBase);
  for (const [name, exported] of Object.entries(instance.exports)) {
    const value = exported instanceof WebAssembly.Global ? exported.value : exported;
    exports[name] = typeof value === "number" ? value + memoryBase : value;
  }
  Object.assign(runtime.newDSO(fileOf(place.name), undefined, exports), { refcount: 1, global: false });
}
