// The page's one line to Python: starts the worker, numbers the requests, restarts it.
//
// Latest request per form wins: while one runs, only the newest of the same form waits.

import { LANGUAGE, tr } from "./texts.js";

/**
 * @typedef {{stage: string, progress: number, message?: string}} Status
 * @typedef {{owner: string, id: number, request: object, resolve: (reply: object) => void,
 *   reject: (error: Error) => void}} Job
 */

// A start from what is kept takes a second; one that hangs is ended, and a plain one follows.
const KEPT_START_MS = 20_000;

/** Thrown when a request was replaced by a newer one or stopped by the user. */
export class DroppedError extends Error {}

export class CoreClient extends EventTarget {
  /** @param {(plain: boolean) => Worker} makeWorker plain: not from what is kept on the device */
  constructor(makeWorker) {
    super();
    this.makeWorker = makeWorker;
    /** @type {Worker | null} */
    this.worker = null;
    /** @type {Status} */
    this.status = { stage: "off", progress: 0 };
    /** @type {Job | null} */
    this.running = null;
    /** @type {Map<string, Job>} */
    this.waiting = new Map();
    this.lastId = 0;
    /** @type {any} */
    this.info = null;
    this.limit = 0;
    this.keptStartMs = KEPT_START_MS;
  }

  /** Start Python if it is not started; safe to call often. @param {{plain?: boolean}} [how] */
  start({ plain = false } = {}) {
    if (this.worker) return;
    this.#setStatus({ stage: "runtime", progress: 0 });
    let worker;
    try {
      worker = this.makeWorker(plain);
    } catch (error) {
      this.#fail(tr("This browser cannot start a background worker ({why}).", { why: String(error) }));
      return;
    }
    this.worker = worker;
    worker.addEventListener("message", ({ data }) => this.worker === worker && this.#hear(data));
    worker.addEventListener("error", (event) => {
      event.preventDefault();
      if (this.worker === worker) this.#fail(event.message || tr("The worker could not be loaded."));
    });
  }

  /**
   * Ask Python; resolves with the parsed reply.
   * @param {string} owner who asks; a newer request of the same owner replaces this one
   * @param {object} request
   * @returns {Promise<any>}
   */
  ask(owner, request) {
    return new Promise((resolve, reject) => {
      const asked = { language: LANGUAGE, ...request };
      const job = { owner, id: ++this.lastId, request: asked, resolve, reject };
      this.waiting.get(owner)?.reject(new DroppedError("replaced"));
      this.waiting.set(owner, job);
      this.start();
      this.#next();
    });
  }

  /** Stop whatever runs: end the worker, drop all requests, start afresh. */
  stop() {
    this.#end(new DroppedError("stopped"));
    this.start();
  }

  /** Try again after a failure. */
  retry() {
    this.#end(new DroppedError("stopped"));
    this.start();
  }

  #next() {
    if (this.running || this.status.stage !== "ready" || !this.worker) return;
    const [job] = this.waiting.values();
    if (!job) return;
    this.waiting.delete(job.owner);
    this.running = job;
    this.worker.postMessage({ id: job.id, request: JSON.stringify(job.request) });
    this.#tell();
  }

  /** @param {any} data message from the worker */
  #hear(data) {
    if (data.event === "stage") {
      // "ready" counts only with the event of that name, which brings the version.
      if (data.stage !== "ready") this.#setStatus({ stage: data.stage, progress: data.progress });
    } else if (data.event === "ready") {
      this.info = { ...JSON.parse(data.info), start: data.start };
      this.#setStatus({ stage: "ready", progress: 1 });
      this.#next();
    } else if (data.event === "failed") {
      this.#fail(data.message);
    } else if (this.running && data.id === this.running.id) {
      const job = this.running;
      this.running = null;
      // Superseded while it ran: the newer one answers for it.
      if (this.waiting.has(job.owner)) job.reject(new DroppedError("replaced"));
      else job.resolve(JSON.parse(data.reply));
      this.#tell();
      this.#next();
    }
  }

  /** @param {string} message */
  #fail(message) {
    this.#end(new Error(message));
    this.#setStatus({ stage: "failed", progress: 0, message });
  }

  /** @param {Error} error given to every open request */
  #end(error) {
    clearTimeout(this.limit);
    this.worker?.terminate();
    this.worker = null;
    const jobs = [...this.waiting.values()];
    if (this.running) jobs.unshift(this.running);
    this.running = null;
    this.waiting.clear();
    this.status = { stage: "off", progress: 0 };
    for (const job of jobs) job.reject(error);
  }

  /** @param {Status} status */
  #setStatus(status) {
    this.status = status;
    clearTimeout(this.limit);
    if (status.stage === "kept") this.limit = setTimeout(() => this.#restart(), this.keptStartMs);
    this.#tell();
  }

  /** Start a new worker plainly, for the same requests. */
  #restart() {
    this.worker?.terminate();
    this.worker = null;
    this.start({ plain: true });
  }

  #tell() {
    this.dispatchEvent(new Event("status"));
  }
}

/** The page's client. */
export const core = new CoreClient(
  (plain) =>
    new Worker(new URL("core-worker.js", import.meta.url), {
      type: "module",
      name: plain ? "plain" : "",
    }),
);
