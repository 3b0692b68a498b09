// Records kept on this device: in the browser's database, else in its plain store, else in memory.
//
// A record is plain data with an `id` and a `revision` that grows by one with every change.  A
// change is decided inside one transaction, so that two tabs never overwrite each other unseen.

/**
 * @typedef {{id: string, revision: number, [name: string]: any}} Stored
 * @typedef {(now: Stored | null) => Stored | null | undefined} Decide the record to keep, null to
 *   take it away, undefined to leave it
 * @typedef {{name: string, all: () => Promise<Stored[]>,
 *   change: (id: string, decide: Decide) => Promise<void>}} Shelf
 */

/** A database that does not answer is given up. */
const PATIENCE_MS = 5_000;
const TABLE = "designs";

/** @param {Stored | null | undefined} a @param {Stored | null | undefined} b */
const newer = (a, b) => (!a ? (b ?? null) : !b || a.revision >= b.revision ? a : b);

/** The browser's database. */
export class DatabaseShelf {
  name = "database";

  /** @param {string} title of the database @param {() => IDBFactory} factory */
  constructor(title, factory = () => indexedDB) {
    this.title = title;
    this.factory = factory;
    /** @type {Promise<IDBDatabase> | null} */
    this.opened = null;
  }

  /** @returns {Promise<IDBDatabase>} */
  #open() {
    this.opened ??= new Promise((resolve, reject) => {
      const late = setTimeout(() => reject(new Error("the database does not answer")), PATIENCE_MS);
      // Throws where a browser allows no database at all.
      const request = this.factory().open(this.title, 1);
      request.onupgradeneeded = () => request.result.createObjectStore(TABLE, { keyPath: "id" });
      request.onerror = () => reject(request.error);
      request.onsuccess = () => {
        clearTimeout(late);
        const database = request.result;
        // Another tab may want to replace the database; one that was closed is opened again.
        database.onversionchange = () => database.close();
        database.onclose = () => (this.opened = null);
        resolve(database);
      };
    });
    this.opened.catch(() => (this.opened = null));
    return this.opened;
  }

  async all() {
    const database = await this.#open();
    return new Promise((resolve, reject) => {
      const request = database.transaction(TABLE).objectStore(TABLE).getAll();
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error);
    });
  }

  /** @param {string} id @param {Decide} decide */
  async change(id, decide) {
    const database = await this.#open();
    await new Promise((resolve, reject) => {
      // Written to the disk before it counts: a battery may be empty in a minute.
      const work = database.transaction(TABLE, "readwrite", { durability: "strict" });
      const table = work.objectStore(TABLE);
      let fault = null;
      const read = table.get(id);
      read.onsuccess = () => {
        try {
          const wanted = decide(read.result ?? null);
          if (wanted === null) table.delete(id);
          else if (wanted) table.put(wanted);
        } catch (error) {
          fault = error;
          work.abort();
        }
      };
      work.oncomplete = () => resolve(undefined);
      work.onabort = () => reject(fault ?? work.error ?? new Error("the change was given up"));
    });
  }
}

/** The browser's plain store of texts. */
export class TextShelf {
  name = "texts";

  /** @param {string} prefix of its keys @param {() => Storage} area */
  constructor(prefix, area = () => localStorage) {
    this.prefix = prefix;
    this.area = area;
  }

  async all() {
    const area = this.area();
    const found = [];
    for (const key of Object.keys(area)) {
      if (key.startsWith(this.prefix)) found.push(this.#read(key.slice(this.prefix.length)));
    }
    return found.filter(Boolean);
  }

  /** @param {string} id @returns {Stored | null} */
  #read(id) {
    try {
      return JSON.parse(this.area().getItem(this.prefix + id) ?? "null");
    } catch (error) {
      if (error instanceof SyntaxError) return null;
      throw error;
    }
  }

  /** @param {string} id @param {Decide} decide */
  async change(id, decide) {
    const work = () => {
      const wanted = decide(this.#read(id));
      if (wanted === null) this.area().removeItem(this.prefix + id);
      else if (wanted) this.area().setItem(this.prefix + id, JSON.stringify(wanted));
    };
    // Reading and writing are two steps here; where there are locks nothing comes between.
    const locks = globalThis.navigator?.locks;
    if (locks) await locks.request(this.prefix + id, async () => work());
    else work();
  }
}

/** Memory: goes with the page, and never refuses. */
export class MemoryShelf {
  name = "memory";
  /** @type {Map<string, Stored>} */
  records = new Map();

  async all() {
    return [...this.records.values()];
  }

  /** @param {string} id @param {Decide} decide */
  async change(id, decide) {
    const wanted = decide(this.records.get(id) ?? null);
    if (wanted === null) this.records.delete(id);
    else if (wanted) this.records.set(id, structuredClone(wanted));
  }
}

/**
 * Shelves behind each other: what the first refuses goes to the next.  Sends "lost" when only the
 * last one, memory, took something; `full` says whether for want of room.
 */
export class Store extends EventTarget {
  /** @param {Shelf[]} shelves the last one must never refuse */
  constructor(shelves) {
    super();
    this.shelves = shelves;
    /** Ids of what is in memory alone. @type {Set<string>} */
    this.fleeting = new Set();
  }

  /** @param {Shelf} shelf @returns {Promise<Stored[]>} nothing from one that refuses */
  async #from(shelf) {
    try {
      return await shelf.all();
    } catch (error) {
      console.info(`Not kept in ${shelf.name}:`, String(error));
      return [];
    }
  }

  /** @returns {Promise<Stored[]>} of each the newest */
  async all() {
    /** @type {Map<string, Stored>} */
    const found = new Map();
    for (const shelf of this.shelves) {
      for (const record of await this.#from(shelf)) {
        if (typeof record?.id === "string") found.set(record.id, newer(found.get(record.id), record));
      }
    }
    return [...found.values()];
  }

  /** @param {string} id @returns {Promise<Stored | null>} */
  async get(id) {
    return (await this.all()).find((record) => record.id === id) ?? null;
  }

  /**
   * Change one record.
   * @param {string} id
   * @param {Decide} decide is called at least once, each time with the newest there is
   * @returns {Promise<Stored | null>} what stands there now
   */
  async change(id, decide) {
    const copies = new Map();
    for (const shelf of this.shelves) {
      copies.set(shelf, (await this.#from(shelf)).find((record) => record.id === id));
    }
    let full = false;
    for (const shelf of this.shelves) {
      const others = this.shelves.filter((each) => each !== shelf && copies.get(each));
      const elsewhere = others.map((each) => copies.get(each)).reduce(newer, null);
      /** @type {Stored | null | undefined} */
      let wanted;
      let now = null;
      try {
        await shelf.change(id, (here) => {
          now = newer(here, elsewhere);
          wanted = decide(now);
          return wanted;
        });
      } catch (error) {
        if (shelf === this.shelves.at(-1)) throw error;
        full ||= error?.name === "QuotaExceededError";
        console.info(`Not kept in ${shelf.name}:`, String(error));
        continue;
      }
      if (wanted === undefined) return now;
      // An older copy would come back once the newer one goes.
      for (const each of others) await each.change(id, () => null).catch(() => {});
      this.#tell(id, shelf, wanted, full);
      return wanted;
    }
    throw new Error("no shelf took it");
  }

  /** @param {string} id @param {Shelf} shelf @param {Stored | null} kept @param {boolean} full */
  #tell(id, shelf, kept, full) {
    if (!kept || shelf.name !== "memory") this.fleeting.delete(id);
    else {
      this.fleeting.add(id);
      this.dispatchEvent(Object.assign(new Event("lost"), { full }));
    }
  }
}
