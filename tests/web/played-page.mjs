// A browser's stores, played: enough for the modules that keep things.

export class PlayedStorage {
  getItem(key) {
    return Object.hasOwn(this, key) ? this[key] : null;
  }

  setItem(key, text) {
    this[key] = text;
  }

  removeItem(key) {
    delete this[key];
  }
}

for (const name of ["localStorage", "sessionStorage"]) {
  Object.defineProperty(globalThis, name, { value: new PlayedStorage(), writable: true, configurable: true });
}

/** What a browser throws when a site has used up its room. */
export const full = () => Object.assign(new Error("no room"), { name: "QuotaExceededError" });
