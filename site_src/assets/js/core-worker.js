// Runs Python away from the page, so that the page never blocks.
//
// Boot: runtime (-> kept) -> packages -> core -> ready | failed.  Text goes in, text comes out; no
// Python object ever crosses.  Messages to the page:
//   {event: "stage", stage, progress}        while starting
//   {event: "ready", info, start}            once; start: "plain" or "kept" (from the snapshot)
//   {event: "failed", stage, message}        once, final: the page starts a new worker
//   {id, reply}                              one per request; reply is JSON text
// Message from the page: {id, request}, request is JSON text.

import { BINARY_MODULES } from "./binary-modules.js";
import { shutNetwork } from "./no-network.js";
import { ARCHIVES, startKept, startPlain } from "./python-start.js";
import { snapshotStore } from "./snapshot.js";

const RUNTIME = new URL("../runtime/", import.meta.url);
const LIBRARY = "python_stdlib";
// Filled in by the build: changes with the runtime, and with our package.
const PYTHON_ID = /* PYTHON_ID */ "";
// Filled in by the build: names of the WebAssembly files, by those that are used here, after their bytes.
const WASM_FILES = /* WASM_FILES */ {};
// After the first answer, so that it competes with nothing; on a page that asks nothing, after a while.
const KEEP_AFTER_MS = 300;
const KEEP_UNASKED_MS = 5000;
const STAGES = { runtime: 0.05, kept: 0.3, packages: 0.55, core: 0.75, ready: 1 };

/** @type {((text: string) => string) | null} */
let call = null;
/** @type {{id: number, request: string}[]} */
const waiting = [];
let stage = "runtime";
const snapshots = snapshotStore(PYTHON_ID);
let fromSnapshot = false;

/** @param {string} name */
function enter(name) {
  stage = name;
  postMessage({ event: "stage", stage: name, progress: STAGES[name] });
}

/** @param {string} name file beside the runtime @returns {Promise<Response>} */
async function file(name) {
  const answer = await fetch(new URL(name, RUNTIME));
  if (!answer.ok) throw new Error(`${name}: the server answered ${answer.status}`);
  return answer;
}

/** Read a compressed archive. @param {string} name @returns {Promise<Uint8Array>} */
async function unpacked(name) {
  const small = (await file(`${name}.pack`)).body;
  const stream = small.pipeThrough(new DecompressionStream("gzip"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

/**
 * A file as the browser's own cache holds it, on a later visit. Chromium keeps compiled code beside that,
 * never beside what a service worker answers; and a name after the bytes stands for these bytes alone.
 * @param {string} name @returns {Promise<Response | null>}
 */
async function inOwnCache(name) {
  if (!(await found).kept) return null;
  try {
    // The service worker lets this pass.
    const how = /** @type {RequestInit} */ ({ cache: "only-if-cached", mode: "same-origin" });
    const answer = await fetch(new URL(name, RUNTIME), how);
    return answer.ok ? answer : null;
  } catch {
    return null;
  }
}

/** @param {string} name @returns {Promise<WebAssembly.Module>} */
async function compiled(name) {
  const named = WASM_FILES[name] ?? name;
  const own = await inOwnCache(named);
  try {
    if (own) return await compiledFrom(own);
  } catch {
    // Spoilt there: the kept copy follows.
  }
  return compiledFrom(await file(named));
}

/** Compile a file while it arrives, or after, if the server gives it a type that forbids that. */
async function compiledFrom(answer) {
  if (answer.headers.get("content-type") === "application/wasm") return WebAssembly.compileStreaming(answer);
  return WebAssembly.compile(await answer.arrayBuffer());
}

/** A promise that is waited for later: until then its failure is not "unhandled". */
function later(promise) {
  promise.catch(() => {});
  return promise;
}

/** @type {Promise<Uint8Array[]> | null} */
let asked = null;

/** Ask for the archives once: the standard library, then ARCHIVES. A kept start brings its own. */
function archives() {
  asked ??= later(Promise.all([LIBRARY, ...ARCHIVES].map(unpacked)));
  return asked;
}

/** @param {Promise<Uint8Array[]>} all @param {Promise<WebAssembly.Module[]>} modules */
function parts(all, modules) {
  return { archives: all.then((each) => each.slice(1)), modules };
}

/**
 * Start Python from the snapshot.
 * @param {import("./snapshot.js").Kept | null} kept
 * @returns {Promise<any>} null when there is none or it does not work
 */
async function tryKept(loadPyodide, options, modules, kept) {
  if (!kept) return null;
  try {
    enter("kept");
    const all = Promise.resolve(kept.archives);
    const own = { ...options, stdLibURL: Promise.resolve(kept.archives[0]) };
    const python = await startKept(loadPyodide, own, parts(all, modules), kept);
    fromSnapshot = true;
    snapshots.worked();
    return python;
  } catch (error) {
    // What did not arrive is no fault of the snapshot: the start as a whole has failed then.
    await modules;
    console.info("The kept start did not work here; starting plainly.", String(error));
    await snapshots.refuse();
    return null;
  }
}

/** @type {import("./python-start.js").Snapshot | null} taken, and not yet kept */
let taken = null;

async function keepTaken() {
  const snapshot = taken;
  taken = null;
  if (snapshot) snapshots.keep({ ...snapshot, archives: await archives() });
}

/** Keep the snapshot once the first answer is out. @param {import("./python-start.js").Snapshot} snapshot */
function keep(snapshot) {
  taken = snapshot;
  setTimeout(keepTaken, KEEP_UNASKED_MS);
}

/** @param {unknown} error */
function cannotKeep(error) {
  console.info("No start could be kept here.", String(error));
  snapshots.refuse();
}

/** What is kept here; nothing after a start from it hung, which only the page could notice. */
async function find() {
  if (globalThis.name === "plain") await snapshots.refuse();
  return snapshots.find();
}

const found = find();

async function boot() {
  enter("runtime");
  const modules = later(Promise.all(BINARY_MODULES.map((name) => compiled(`${name}.wasm`))));
  const runtime = later(
    Promise.all([
      compiled("pyodide.asm.wasm"),
      import(new URL("pyodide.js", RUNTIME).href),
      file("pyodide-lock.json").then((answer) => answer.text()),
      // Read ahead; the loader finds it there.
      import(new URL("pyodide.asm.js", RUNTIME).href),
    ]),
  );
  const { kept, make } = await found;
  if (!kept) archives();
  const [wasmModule, { loadPyodide }, lock] = await runtime;
  const options = {
    indexURL: RUNTIME.href,
    lockFileContents: lock,
    packageBaseUrl: RUNTIME.href,
    wasmModule,
  };
  let python = await tryKept(loadPyodide, options, modules, await kept);
  if (!python) {
    // Waited for: the loader itself would go on without the library.
    const [library] = await archives();
    const own = { ...options, stdLibURL: Promise.resolve(library) };
    python = await startPlain(loadPyodide, own, parts(archives(), modules), {
      keep: make ? keep : undefined,
      cannotKeep,
      onStage: enter,
    });
  }
  const web = python.pyimport("evenrow.calculators.web");
  call = (text) => web.call(text);
  const info = call(JSON.stringify({ v: 1, op: "info" }));
  // All that is left to do is to calculate, and to keep the snapshot on this device.
  shutNetwork(globalThis);
  enter("ready");
  postMessage({ event: "ready", info, start: fromSnapshot ? "kept" : "plain" });
  for (const message of waiting.splice(0)) answer(message);
}

/** @param {{id: number, request: string}} message */
function answer({ id, request }) {
  if (!call) return;
  try {
    postMessage({ id, reply: call(request) });
    if (taken) setTimeout(keepTaken, KEEP_AFTER_MS);
  } catch (error) {
    // The Python side never raises; only the runtime itself can end here (out of memory).
    if (fromSnapshot) snapshots.refuse();
    postMessage({ event: "failed", stage: "running", message: String(error).slice(0, 2000) });
  }
}

addEventListener("message", ({ data }) => {
  if (call) answer(data);
  else waiting.push(data);
});

boot().catch(async (error) => {
  if (fromSnapshot) await snapshots.refuse();
  postMessage({ event: "failed", stage, message: String(error?.message ?? error).slice(0, 2000) });
});
