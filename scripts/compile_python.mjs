// Compiles every .py file below a folder with Pyodide's own Python and removes the source.
// Usage: node compile_python.mjs PYODIDE_FOLDER FOLDER PLAN
// PLAN is a JSON file: {trim: null | {roots, cut}, documented}.  With trim, modules that the roots cannot
// lead to go first (needed_modules.py).  Docstrings and asserts stay only in files whose path starts with
// one of `documented`; line tables go everywhere (short_lines.py).
import { readFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const [pyodideFolder, folder, plan] = process.argv.slice(2).map((path) => resolve(path));
const { loadPyodide } = await import(pathToFileURL(join(pyodideFolder, "pyodide.mjs")).href);
const python = await loadPyodide({ indexURL: pyodideFolder });
for (const [place, root] of [
  ["/stage", folder],
  ["/scripts", dirname(fileURLToPath(import.meta.url))],
]) {
  python.FS.mkdir(place);
  python.FS.mount(python.FS.filesystems.NODEFS, { root }, place);
}
python.globals.set("PLAN", readFileSync(plan, "utf8"));
// An unchecked hash keeps the date out of the files: same source, same bytes.
const failed = python.runPython(`
import json, py_compile, sys
from pathlib import Path

sys.path.insert(0, "/scripts")
from needed_modules import trim
from short_lines import shorten

stage, plan = Path("/stage"), json.loads(PLAN)
if plan["trim"]:
    trim(stage, plan["trim"]["roots"], set(plan["trim"]["cut"]))
failed = []
for source in sorted(stage.rglob("*.py")):
    target, name = source.with_suffix(".pyc"), str(source.relative_to(stage))
    try:
        py_compile.compile(
            str(source), cfile=str(target), dfile=name, doraise=True,
            optimize=0 if name.startswith(tuple(plan["documented"])) else 2,
            invalidation_mode=py_compile.PycInvalidationMode.UNCHECKED_HASH,
        )
        shorten(target)
        source.unlink()
    except py_compile.PyCompileError as error:
        failed.append(str(error))
"\\n".join(failed)
`);
if (failed) {
  console.error(failed);
  process.exit(1);
}
