// Designs that were saved under a name, on this device.  Nothing here leaves it.

import { checked, checkHead } from "./share.js";
import { DatabaseShelf, MemoryShelf, Store, TextShelf } from "./store.js";
import { tr } from "./texts.js";

const BASE = new URL("../../", import.meta.url).pathname;
const LONGEST_NAME = 80;
/** As in state.js: a text that is too long stays, so that Python can say so at its field. */
const LONGEST = 4_000;
export const FROM_OTHER_TAB = tr("(from the other tab)");

/**
 * @typedef {object} SavedDesign
 * @property {string} id
 * @property {number} revision grows by one with each change
 * @property {string} name
 * @property {string} calculator
 * @property {Record<string, any>} document
 * @property {number} at when it was changed last [ms]
 * @property {string} catalogue name and version of the catalogue that was in use then
 */

/** A name that can be shown on one line. @param {unknown} text @returns {string} */
export function plainName(text) {
  const name = typeof text === "string" ? text : "";
  const line = name.slice(0, 400).replace(/[\p{C}\p{Zl}\p{Zp}\s]+/gu, " ").trim();
  return [...line].slice(0, LONGEST_NAME).join("").trim();
}

/**
 * The name itself, or with a number where it is taken.
 * @param {string} name
 * @param {Iterable<string>} taken
 */
export function freeName(name, taken) {
  const used = new Set(taken);
  if (!used.has(name)) return name;
  const stem = name.replace(/ \(\d+\)$/, "");
  for (let number = 2; ; number++) {
    const tail = ` (${number})`;
    const next = [...stem].slice(0, LONGEST_NAME - tail.length).join("") + tail;
    if (!used.has(next)) return next;
  }
}

/**
 * What stands in the store, checked: other pages of this origin can write there too.
 * @param {any} raw
 * @returns {SavedDesign | null}
 */
export function readRecord(raw) {
  try {
    const { id, revision, name, calculator, at, catalogue } = raw;
    const sound =
      /^[a-z0-9-]{1,40}$/.test(id) &&
      /^[a-z0-9-]{1,40}$/.test(calculator) &&
      Number.isSafeInteger(revision) &&
      revision > 0 &&
      Number.isFinite(at) &&
      plainName(name) !== "";
    if (!sound) return null;
    const document = checked(raw.document, LONGEST);
    checkHead(document);
    const mark = plainName(catalogue);
    return { id, revision, name: plainName(name), calculator, document, at, catalogue: mark };
  } catch {
    return null;
  }
}

/** Where saved designs stand, best place first. */
export const shelves = () => [
  new DatabaseShelf(`evenrow:${BASE}`),
  new TextShelf(`evenrow:${BASE}:design:`),
  new MemoryShelf(),
];

/** @returns {EventTarget & {postMessage: (data: any) => void} | null} hears of the other tabs */
function otherTabs() {
  try {
    return new BroadcastChannel(`evenrow:${BASE}:saved`);
  } catch {
    return null;
  }
}

/** What to say, once, when a design goes with the page. */
export const LOST = {
  full:
    tr("There is no room left in this browser’s store for this site: the design goes with this page. Save it as a file, or delete saved designs that you no longer need."),
  refused:
    tr("This browser keeps no designs for this site: this one goes with this page. Save it as a file."),
};

/**
 * All saved designs.  Sends "change" with `id` when another tab changed one, and "lost" (see
 * `Store`) when one cannot be kept.
 */
export class Saved extends EventTarget {
  /** @param {{store?: Store, channel?: any, catalogue?: string, clock?: () => number}} [parts] */
  constructor({ store = new Store(shelves()), channel = otherTabs(), catalogue = "", clock = Date.now } = {}) {
    super();
    this.store = store;
    this.channel = channel;
    this.catalogue = catalogue;
    this.clock = clock;
    /** How many records of the last list could not be read. */
    this.unreadable = 0;
    store.addEventListener("lost", (event) =>
      this.dispatchEvent(Object.assign(new Event("lost"), { full: event.full })),
    );
    channel?.addEventListener("message", ({ data }) => {
      if (typeof data?.id === "string") this.#tell(data.id);
    });
  }

  /** @param {string} id */
  #tell(id) {
    this.dispatchEvent(Object.assign(new Event("change"), { id }));
  }

  /** Whether a design goes with this page, because nothing could keep it. @param {string} id */
  isFleeting(id) {
    return this.store.fleeting.has(id);
  }

  /** @returns {Promise<SavedDesign[]>} newest first */
  async list() {
    const raw = await this.store.all();
    const found = raw.map(readRecord).filter(Boolean);
    this.unreadable = raw.length - found.length;
    return found.sort((a, b) => b.at - a.at || (a.id < b.id ? -1 : 1));
  }

  /** @param {string} id @returns {Promise<SavedDesign | null>} */
  async get(id) {
    return readRecord(await this.store.get(id));
  }

  /** @param {string} id @param {import("./store.js").Decide} decide */
  async #change(id, decide) {
    const record = await this.store.change(id, decide);
    try {
      this.channel?.postMessage({ id });
    } catch {
      // A closed channel: the other tabs see it when they look again.
    }
    return record;
  }

  /** @param {Record<string, any>} document @param {string} name @param {number} revision */
  #record(id, document, name, revision) {
    return {
      id,
      revision,
      name,
      calculator: document.calculator ?? "whole-field",
      document: { ...document, name },
      at: this.clock(),
      catalogue: this.catalogue,
    };
  }

  async #names() {
    return (await this.list()).map(({ name }) => name);
  }

  /**
   * Save a new design; a name that is taken gets a number.
   * @param {Record<string, any>} document
   * @param {string} name
   * @returns {Promise<SavedDesign>}
   */
  async add(document, name) {
    const free = freeName(plainName(name) || tr("Design"), await this.#names());
    const record = this.#record(newId(), document, free, 1);
    await this.#change(record.id, () => record);
    return record;
  }

  /**
   * Save again what was opened at a revision.  What another tab saved meanwhile stays as it is;
   * this one is kept beside it.
   * @param {string} id
   * @param {Record<string, any>} document
   * @param {number} base revision that it was made from
   * @returns {Promise<{record: SavedDesign, beside: boolean}>}
   */
  async save(id, document, base) {
    let clash = false;
    const record = await this.#change(id, (raw) => {
      const now = readRecord(raw);
      clash = !now || (now.revision !== base && !sameDocument(now.document, document));
      if (clash) return undefined;
      return this.#record(id, document, plainName(document.name) || now.name, now.revision + 1);
    });
    if (!clash) return { record, beside: false };
    const name = plainName(document.name) || record?.name || tr("Design");
    const room = LONGEST_NAME - FROM_OTHER_TAB.length - 1;
    // Gone in the other tab is no clash of names: it is simply saved anew.
    const marked = record ? `${[...name].slice(0, room).join("")} ${FROM_OTHER_TAB}` : name;
    return { record: await this.add(document, marked), beside: Boolean(record) };
  }

  /** @param {string} id @param {string} name @returns {Promise<SavedDesign | null>} */
  async rename(id, name) {
    const wanted = plainName(name);
    const others = (await this.list()).filter((each) => each.id !== id);
    const free = freeName(wanted, others.map((each) => each.name));
    const kept = await this.#change(id, (raw) => {
      const now = readRecord(raw);
      if (!now || !wanted || now.name === free) return undefined;
      const document = { ...now.document, name: free };
      return { ...now, name: free, document, revision: now.revision + 1 };
    });
    return readRecord(kept);
  }

  /** @param {string} id @returns {Promise<SavedDesign | null>} the copy */
  async duplicate(id) {
    const found = await this.get(id);
    return found && this.add(found.document, found.name);
  }

  /** @param {string} id @returns {Promise<SavedDesign | null>} what was taken away */
  async remove(id) {
    /** @type {SavedDesign | null} */
    let gone = null;
    await this.#change(id, (raw) => {
      gone = readRecord(raw);
      return null;
    });
    return gone;
  }

  /** Put a deleted design back. @param {SavedDesign} record */
  async putBack(record) {
    // One revision on, so that a tab that still has it open sees that something happened.
    await this.#change(record.id, (raw) => (raw ? undefined : { ...record, revision: record.revision + 1 }));
  }
}

/** Whether two documents hold the same, whatever the order of their names. */
export const sameDocument = (a, b) => canonical(a) === canonical(b);

/** @param {any} value @returns {string} */
export function canonical(value) {
  return JSON.stringify(value, (_, each) =>
    each && typeof each === "object" && !Array.isArray(each)
      ? Object.fromEntries(Object.entries(each).sort(([a], [b]) => (a < b ? -1 : 1)))
      : each,
  );
}

function newId() {
  // randomUUID is missing on plain http.
  const random = crypto.getRandomValues(new Uint8Array(12));
  return [...random].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
