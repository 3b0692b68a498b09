// Runs the packed Python as the page's worker would, and asks every calculator; ends with 1 at a fault.
// Usage: node check_python.mjs PYODIDE_FOLDER PACKED_FOLDER JS_FOLDER
//
// What was trimmed away too far shows here: every module of the package is imported, every calculator
// answers its examples and a bad text in every field; and a start from a snapshot gives the same answers.
import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const [pyodide, packed, scripts] = process.argv.slice(2).map((path) => resolve(path));
const { loadPyodide } = await import(pathToFileURL(join(pyodide, "pyodide.mjs")).href);

/** The page's own modules: a folder that says so makes every Node.js read them as modules. */
async function pageModules() {
  const folder = mkdtempSync(join(tmpdir(), "evenrow-"));
  try {
    writeFileSync(join(folder, "package.json"), '{"type": "module"}');
    for (const name of ["binary-modules.js", "python-start.js"]) {
      copyFileSync(join(scripts, name), join(folder, name));
    }
    const load = (name) => import(pathToFileURL(join(folder, name)).href);
    return { ...(await load("binary-modules.js")), ...(await load("python-start.js")) };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

const { ARCHIVES, BINARY_MODULES, startKept, startPlain } = await pageModules();
const read = (name) => readFileSync(join(packed, name));
const parts = () => ({
  archives: Promise.resolve(ARCHIVES.map((name) => new Uint8Array(read(`${name}.zip`)))),
  modules: Promise.all(BINARY_MODULES.map((name) => WebAssembly.compile(read(`${name}.wasm`)))),
});
const options = { indexURL: pyodide, stdLibURL: join(packed, "python_stdlib.zip") };
const questions = readFileSync(join(dirname(fileURLToPath(import.meta.url)), "check_python.py"), "utf8");

let snapshot;
const keep = (taken) => (snapshot = taken);
const cannotKeep = (error) => {
  throw error;
};
// Without this, Node.js shows the line of the runtime that threw: a megabyte.
process.on("uncaughtException", (error) => {
  console.error(String(error?.message ?? error).slice(0, 4000));
  process.exit(1);
});

const plain = await startPlain(loadPyodide, options, parts(), { keep, cannotKeep });
const answers = plain.runPython(questions);
const kept = await startKept(loadPyodide, options, parts(), snapshot);
if (kept.runPython(questions) !== answers) {
  console.error("Python gives other answers when it is started from a snapshot.");
  process.exit(1);
}
