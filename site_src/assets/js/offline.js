// Works without a network after the first visit: registers the service worker, tells how it stands.

import { core } from "./core-client.js";
import { keepLooking, lookout } from "./new-release.js";
import { hideBar, showBar } from "./notice-bar.js";
import { BASE, tr } from "./texts.js";

/** @param {Element} place */
function say(place, kind, text, actions, options) {
  const line = document.querySelector(".er-offline");
  if (line && kind === "ready") line.textContent = text;
  else showBar(place, kind, text, actions, options);
}

/** Resolves when Python runs or gave up, so that downloads do not compete with the first answer. */
function quiet() {
  if (!document.querySelector(".er-calc")) return Promise.resolve();
  return new Promise((resolve) => {
    const look = () => {
      if (["ready", "failed"].includes(core.status.stage)) resolve(undefined);
    };
    core.addEventListener("status", look);
    look();
  });
}

/** @param {Element} place where bars are shown */
export async function mountOffline(place) {
  const line = document.querySelector(".er-offline");
  if (!("serviceWorker" in navigator)) {
    const why = isSecureContext ? tr("this browser does not allow it") : tr("it needs an https address");
    if (line) line.textContent = tr("Not kept for offline use: {why}.", { why });
    return;
  }
  // A tab that works offline says so at once; only a first visit waits and downloads.
  if (navigator.serviceWorker.controller) {
    say(place, "ready", tr("Ready offline: this site works without a network."));
  } else {
    await quiet();
    if (line) line.textContent = tr("Keeping a copy for offline use…");
  }
  let reloading = false;
  let hadController = Boolean(navigator.serviceWorker.controller);
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    // The first controller only starts offline use; a later one is the update asked for below.
    if (hadController && !reloading) {
      reloading = true;
      location.reload();
    }
    hadController = true;
  });
  try {
    const script = new URL("sw.js", BASE);
    const registration = await navigator.serviceWorker.register(script, {
      scope: BASE.pathname,
      updateViaCache: "none",
    });
    watch(registration, place);
    await navigator.serviceWorker.ready;
    say(place, "ready", tr("Ready offline: this site works without a network."));
    quiet().then(() => keepLooking(lookout(registration, script)));
  } catch (error) {
    if (navigator.serviceWorker.controller || !navigator.onLine) return;
    if (line) line.textContent = tr("Not kept for offline use: {why}.", { why: tr("this browser does not allow it") });
    console.info("Offline use is off:", String(error));
  }
}

/** @param {ServiceWorkerRegistration} registration @param {Element} place */
function watch(registration, place) {
  const offer = () => {
    const waiting = registration.waiting;
    if (!waiting || !navigator.serviceWorker.controller) return;
    hideBar(place, "update");
    showBar(place, "update", tr("A newer Evenrow is ready. What you typed stays."), [
      [tr("Reload"), () => waiting.postMessage("take-over")],
      // Not in the offline copy, so that the page of the newer release comes, not that of this one.
      [tr("What changed"), () => location.assign(new URL("versions/#changes", BASE))],
    ]);
  };
  const follow = () => {
    const coming = registration.installing;
    coming?.addEventListener("statechange", () => {
      if (coming.state === "installed") offer();
      if (coming.state === "redundant" && !registration.active) {
        const line = document.querySelector(".er-offline");
        if (line) line.textContent = tr("The offline copy is not complete yet; it is tried again next time.");
      }
    });
  };
  offer();
  // Another tab may have begun with it.
  follow();
  registration.addEventListener("updatefound", follow);
}
