// Looks for a newer release while a page is open: browsers themselves look only when one is loaded.

/** A page may stay open for days. */
export const EVERY_MS = 3_600_000;
/** After a look that failed: no network, or a release that is just being put up. */
export const AGAIN_MS = 300_000;
/** Between checks whether it is time; clocks stand still while a device sleeps. */
export const CHECK_MS = 60_000;

/**
 * @param {ServiceWorkerRegistration} registration
 * @param {URL} script address of the service worker
 * @returns {() => Promise<void>} looks now, if the page is seen, there is a network and it is time
 */
export function lookout(registration, script) {
  let next = 0;
  registration.addEventListener("updatefound", () => {
    const coming = registration.installing;
    coming?.addEventListener("statechange", () => {
      if (coming.state === "redundant") next = Math.min(next, Date.now() + AGAIN_MS);
    });
  });
  return async () => {
    if (document.visibilityState !== "visible" || !navigator.onLine || Date.now() < next) return;
    next = Date.now() + EVERY_MS;
    try {
      // Fetched anew into the browser's cache, which the update asks: a server that tells files apart by
      // dates in whole seconds, or keeps the dates of what is put up, calls a changed one unchanged.
      const answer = await fetch(script, { cache: "reload" });
      if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
      await registration.update();
    } catch {
      next = Date.now() + AGAIN_MS;
    }
  };
}

/** Look now, whenever the page is seen or has a network again, and from time to time. @param {() => Promise<void>} look */
export function keepLooking(look) {
  look();
  document.addEventListener("visibilitychange", look);
  addEventListener("online", look);
  setInterval(look, CHECK_MS);
}
