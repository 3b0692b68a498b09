// The way to the network, shut for good.  The policy that stands in a page does not bind its
// worker, and nothing there needs the network once Python runs.

/** Everything in a worker that can send something away. */
export const WAYS_OUT = [
  "fetch",
  "fetchLater",
  "XMLHttpRequest",
  "WebSocket",
  "WebSocketStream",
  "WebTransport",
  "EventSource",
  "importScripts",
  // A worker of a worker would have all of these anew.
  "Worker",
  "SharedWorker",
];

/** @param {any} owner @param {string} name */
function shut(owner, name) {
  // Along the whole chain: what an ancestor still holds could be called from there.
  for (let at = owner; at; at = Object.getPrototypeOf(at)) {
    if (!Object.hasOwn(at, name)) continue;
    Object.defineProperty(at, name, {
      value: function refused() {
        throw new Error(`${name} is shut: calculating needs no network.`);
      },
      writable: false,
      configurable: false,
    });
  }
}

/** @param {any} scope the worker's global object */
export function shutNetwork(scope) {
  for (const name of WAYS_OUT) shut(scope, name);
  shut(scope.navigator, "sendBeacon");
  // These two fetch by themselves; reading and keeping go on.
  for (const name of ["add", "addAll"]) shut(scope.Cache?.prototype, name);
}
