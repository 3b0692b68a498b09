// The build puts this before the theme's search worker, as a function `startSearch`, so that the search
// is set up only when somebody searches: that takes a processor for as long as a tenth of Python's start,
// at the same time.  Until then the page hears what it waits for: the search is ready, and nothing is
// found for nothing.

// The theme's messages between page and worker.
const SETUP = 0;
const READY = 1;
const QUERY = 2;
const RESULT = 3;

const send = self.postMessage.bind(self);
let setup = null;
// Questions from before the search was set up.
const waiting = [];
let passes = false;

/** Give a message to the search's own listener. */
function pass(data) {
  passes = true;
  self.dispatchEvent(new MessageEvent("message", { data }));
}

function begin() {
  self.postMessage = (message) => {
    if (message.type !== READY) {
      send(message);
      return;
    }
    for (const question of waiting.splice(0)) pass(question);
  };
  startSearch();
  pass(setup);
  passes = false;
}

self.addEventListener("message", (event) => {
  if (passes) return;
  event.stopImmediatePropagation();
  const message = event.data;
  if (message.type === SETUP) {
    setup = message;
    send({ type: READY });
  } else if (message.type === QUERY && message.data === "" && !waiting.length) {
    send({ type: RESULT, data: { items: [] } });
  } else {
    waiting.push(message);
    if (waiting.length === 1) begin();
  }
});
