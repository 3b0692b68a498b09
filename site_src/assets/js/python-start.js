// The two ways to start Python with our package in it: plainly, or from a snapshot of a plain start.
//
// Knows nothing of the worker and the network, so that the build checks what it packed by the same start.

import { beforeLinking, BINARY_MODULES, describe, fileOf, link, putBack } from "./binary-modules.js";

/** Python reads modules straight from these, packed as they are. */
export const ARCHIVES = ["core", "numpy"];
const placeOf = (name) => `/lib/${name}.zip`;

/**
 * @typedef {{archives: Promise<Uint8Array[]>, modules: Promise<WebAssembly.Module[]>}} Parts
 *   in the order of ARCHIVES and of BINARY_MODULES
 * @typedef {{memory: Uint8Array, layout: import("./binary-modules.js").Layout}} Snapshot
 */

// The collector rests while modules are imported, and while NumPy's are not back in their places.
const PREPARE = `
import gc, sys
from importlib.machinery import ExtensionFileLoader
from importlib.util import spec_from_file_location

gc.disable()

class LinkedAlready:
    """Finds the binary modules, which are linked before Python asks for them."""

    files = dict(FILES)

    @classmethod
    def find_spec(cls, name, path=None, target=None):
        file = cls.files.get(name)
        return file and spec_from_file_location(name, file, loader=ExtensionFileLoader(name, file))

sys.meta_path.insert(0, LinkedAlready)
sys.path.extend(ARCHIVES)
`
  .replace("FILES", JSON.stringify(BINARY_MODULES.map((name) => [name, fileOf(name)])))
  .replace("ARCHIVES", JSON.stringify(ARCHIVES.map(placeOf)));

// What was imported stays: the collector need not look at it again.
const IMPORT = `
import evenrow.calculators.web
gc.collect()
gc.freeze()
`;
/** The standard streams; a snapshot holds no other open file. */
const OPEN_FILES = 3;

// What was drawn by lot before the snapshot would be the same at every start.
const AWAKE = `
import gc, sys

gc.enable()
if "random" in sys.modules:
    sys.modules["random"].seed()
`;

/** Files are not in the memory: one left open would be read elsewhere later. @param {any} python */
function checkFiles(python) {
  const open = python.FS.streams.filter((stream, index) => stream && index >= OPEN_FILES);
  if (open.length) throw new Error(`left open by a module: ${open.map(({ path }) => path).join(", ")}`);
}

/** @param {any} python @param {Uint8Array[]} archives */
function layArchives(python, archives) {
  for (const [index, name] of ARCHIVES.entries()) python.FS.writeFile(placeOf(name), archives[index]);
}

/**
 * Start Python anew.
 * @param {(options: object) => Promise<any>} loadPyodide
 * @param {object} options for it
 * @param {Parts} parts
 * @param {{keep?: (snapshot: Snapshot) => void, cannotKeep?: (error: unknown) => void,
 *   onStage?: (stage: string) => void}} wanted `keep` takes a snapshot, in which nothing of any user is
 * @returns {Promise<any>} Python
 */
export async function startPlain(loadPyodide, options, parts, { keep, cannotKeep, onStage } = {}) {
  const python = await loadPyodide({ ...options, _makeSnapshot: Boolean(keep) });
  onStage?.("packages");
  const before = beforeLinking(python._module);
  const places = await link(python._module, await parts.modules);
  layArchives(python, await parts.archives);
  python.runPython(PREPARE);
  onStage?.("core");
  python.runPython(IMPORT);
  if (keep) {
    try {
      checkFiles(python);
      const layout = describe(python._module, before, places);
      keep({ memory: python.makeMemorySnapshot(), layout });
    } catch (error) {
      cannotKeep?.(error);
    }
  }
  python.runPython(AWAKE);
  return python;
}

/**
 * Start Python from a snapshot.
 * @param {(options: object) => Promise<any>} loadPyodide
 * @param {object} options for it
 * @param {Parts} parts
 * @param {Snapshot} snapshot
 * @returns {Promise<any>} Python
 * @throws {Error} when the snapshot does not fit here
 */
export async function startKept(loadPyodide, options, parts, { memory, layout }) {
  const python = await loadPyodide({ ...options, _loadSnapshot: memory });
  await putBack(python._module, layout, await parts.modules);
  layArchives(python, await parts.archives);
  python.runPython(AWAKE);
  return python;
}
