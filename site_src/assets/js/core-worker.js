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
// Filled in by the build: changes with the runtime, and with our package.
const PYTHON_ID = /* PYTHON_ID */ "";
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

/** Compile a file while it arrives, or after, if the server gives it a type that forbids that. */
async function compiled(name) {
  const answer = await file(name);
  if (answer.headers.get("content-type") === "application/wasm") return WebAssembly.compileStreaming(answer);
  return WebAssembly.compile(await answer.arrayBuffer());
}

/**
 * Ask for everything that both starts need, all at once; the waiting is done where it is used.
 * @returns {import("./python-start.js").Parts}
 */
function parts() {
  const archives = Promise.all(ARCHIVES.map(unpacked));
  const modules = Promise.all(BINARY_MODULES.map((name) => compiled(`${name}.wasm`)));
  // This only keeps an early failure from being "unhandled".
  for (const each of [archives, modules]) each.catch(() => {});
  return { archives, modules };
}

/**
 * Start Python from the snapshot.
 * @returns {Promise<any>} null when there is none or it does not work
 */
async function tryKept(loadPyodide, options, ready, kept) {
  if (!kept.memory) return null;
  try {
    enter("kept");
    const python = await startKept(loadPyodide, options, ready, kept);
    fromSnapshot = true;
    snapshots.worked();
    return python;
  } catch (error) {
    // What did not arrive is no fault of the snapshot: the start as a whole has failed then.
    await Promise.all([ready.archives, ready.modules]);
    console.info("The kept start did not work here; starting plainly.", String(error));
    await snapshots.refuse();
    return null;
  }
}

/** @type {import("./python-start.js").Snapshot | null} taken, and not yet kept */
let taken = null;

function keepTaken() {
  if (taken) snapshots.keep(taken);
  taken = null;
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
  const ready = parts();
  const library = unpacked("python_stdlib");
  const [wasmModule, { loadPyodide }, lock, kept] = await Promise.all([
    compiled("pyodide.asm.wasm"),
    import(new URL("pyodide.js", RUNTIME).href),
    file("pyodide-lock.json").then((answer) => answer.text()),
    found,
    // Read ahead; the loader finds it there.
    import(new URL("pyodide.asm.js", RUNTIME).href),
    // The loader itself would go on without it.
    library,
  ]);
  const options = {
    indexURL: RUNTIME.href,
    lockFileContents: lock,
    packageBaseUrl: RUNTIME.href,
    wasmModule,
    stdLibURL: library,
  };
  const python =
    (await tryKept(loadPyodide, options, ready, kept)) ??
    (await startPlain(loadPyodide, options, ready, {
      keep: kept.make ? keep : undefined,
      cannotKeep,
      onStage: enter,
    }));
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
