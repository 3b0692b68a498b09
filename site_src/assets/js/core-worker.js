// Runs Python away from the page, so that the page never blocks.
//
// Boot: runtime (-> kept) -> packages -> core -> ready | failed.  Text goes in, text comes out; no
// Python object ever crosses.  Messages to the page:
//   {event: "stage", stage, progress}        while starting
//   {event: "ready", info, start}            once; start: "plain" or "kept" (from the snapshot)
//   {event: "failed", stage, message}        once, final: the page starts a new worker
//   {id, reply}                              one per request; reply is JSON text
// Message from the page: {id, request}, request is JSON text.

import { shutNetwork } from "./no-network.js";
import { snapshotStore } from "./snapshot.js";

const RUNTIME = new URL("../runtime/", import.meta.url);
// Filled in by the build.
const RUNTIME_ID = /* RUNTIME_ID */ "";
const KEEP_AFTER_MS = 1500;
// Parts of the standard library that every start needs: in the snapshot they are there at once.
const WARM = "import dataclasses, datetime, difflib, html, numbers, pickle, shutil, sysconfig, tomllib, zipfile";
const STAGES = { runtime: 0.05, kept: 0.3, packages: 0.55, core: 0.75, ready: 1 };

/** @type {((text: string) => string) | null} */
let call = null;
/** @type {{id: number, request: string}[]} */
const waiting = [];
let stage = "runtime";
const snapshots = snapshotStore(RUNTIME_ID);
let fromSnapshot = false;

/** @param {string} name */
function enter(name) {
  stage = name;
  postMessage({ event: "stage", stage: name, progress: STAGES[name] });
}

/**
 * @param {string} name file beside the runtime
 * @returns {Promise<Uint8Array>}
 */
async function bytes(name) {
  const answer = await fetch(new URL(name, RUNTIME));
  if (!answer.ok) throw new Error(`${name}: the server answered ${answer.status}`);
  return new Uint8Array(await answer.arrayBuffer());
}

/** Keep a snapshot once the first answer is out and the device is idle. @param {any} python */
function takeSnapshot(python) {
  python.runPython(WARM);
  const memory = python.makeMemorySnapshot();
  setTimeout(() => snapshots.keep(memory), KEEP_AFTER_MS);
}

/**
 * Start Python from the snapshot, or plainly.
 * @param {(options: object) => Promise<any>} loadPyodide
 * @param {object} options
 */
async function start(loadPyodide, options) {
  const { memory, make } = await found;
  if (memory) {
    try {
      enter("kept");
      const python = await loadPyodide({ ...options, _loadSnapshot: memory });
      // What was drawn by lot before the snapshot would be the same at every start.
      python.runPython("import random; random.seed()");
      fromSnapshot = true;
      snapshots.worked();
      return python;
    } catch (error) {
      console.info("The kept start did not work here; starting plainly.", String(error));
      await snapshots.refuse();
    }
  }
  if (make) {
    try {
      const python = await loadPyodide({ ...options, _makeSnapshot: true });
      takeSnapshot(python);
      return python;
    } catch (error) {
      console.info("No start could be kept here; starting plainly.", String(error));
      await snapshots.refuse();
    }
  }
  return loadPyodide(options);
}

const found = snapshots.find();

async function boot() {
  enter("runtime");
  // All downloads start now; the archives arrive while the runtime compiles.
  const archives = Promise.all([bytes("numpy.zip"), bytes("core.zip")]);
  archives.catch(() => {}); // awaited below; this only keeps an early failure from being "unhandled"
  const [{ loadPyodide }, lock] = await Promise.all([
    import(new URL("pyodide.js", RUNTIME).href),
    fetch(new URL("pyodide-lock.json", RUNTIME)).then((answer) => answer.text()),
  ]);
  const python = await start(loadPyodide, {
    indexURL: RUNTIME.href,
    lockFileContents: lock,
    packageBaseUrl: RUNTIME.href,
  });
  enter("packages");
  const site = python.runPython("import sysconfig; sysconfig.get_path('purelib')");
  for (const archive of await archives) {
    python.unpackArchive(archive, "zip", { extractDir: site });
  }
  enter("core");
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
