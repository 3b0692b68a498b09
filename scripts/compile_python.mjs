// Compiles every .py file below a folder with Pyodide's own Python and removes the source.
// Usage: node compile_python.mjs PYODIDE_FOLDER FOLDER
import { pathToFileURL } from "node:url";
import { join, resolve } from "node:path";

const [pyodideFolder, folder] = process.argv.slice(2).map((path) => resolve(path));
const { loadPyodide } = await import(pathToFileURL(join(pyodideFolder, "pyodide.mjs")).href);
const python = await loadPyodide({ indexURL: pyodideFolder });
python.FS.mkdir("/stage");
python.FS.mount(python.FS.filesystems.NODEFS, { root: folder }, "/stage");
// An unchecked hash keeps the date out of the files: same source, same bytes.
const failed = python.runPython(`
import py_compile
from pathlib import Path

failed = []
for source in sorted(Path("/stage").rglob("*.py")):
    target = source.with_suffix(".pyc")
    try:
        py_compile.compile(
            str(source), cfile=str(target), dfile=str(source.relative_to("/stage")), doraise=True,
            invalidation_mode=py_compile.PycInvalidationMode.UNCHECKED_HASH,
        )
        source.unlink()
    except py_compile.PyCompileError as error:
        failed.append(str(error))
"\\n".join(failed)
`);
if (failed) {
  console.error(failed);
  process.exit(1);
}
