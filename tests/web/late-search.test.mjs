// The theme's search, set up when somebody searches; page and search are played.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { beforeEach, test } from "node:test";

const TEXT = readFileSync(new URL("../../site_src/assets/js/late-search.js", import.meta.url), "utf8");

const SETUP = { type: 0, data: { docs: ["one"] } };
const asks = (data) => ({ type: 2, data });
let worker;
let said;
let heard;

/** A search that takes a while to be set up, as the theme's does. */
const startSearch = () => {
  worker.addEventListener("message", async ({ data }) => {
    heard.push(data);
    await null;
    worker.postMessage(data.type === 0 ? { type: 1 } : { type: 3, data: { items: [data.data] } });
  });
};

const tell = (data) => worker.dispatchEvent(new MessageEvent("message", { data }));
const settled = () => new Promise((resolve) => setTimeout(resolve));

beforeEach(() => {
  said = [];
  heard = [];
  worker = new EventTarget();
  worker.postMessage = (message) => said.push(message);
  // A worker's script, not a module: it is run as one.
  new Function("self", "startSearch", TEXT)(worker, startSearch);
});

test("nothing is set up before somebody searches, and the page is not left waiting", async () => {
  tell(SETUP);
  tell(asks(""));
  await settled();
  assert.deepEqual(said, [{ type: 1 }, { type: 3, data: { items: [] } }]);
  assert.deepEqual(heard, []);
});

test("what was asked first is answered once the search is set up, and all later in turn", async () => {
  tell(SETUP);
  tell(asks("b"));
  tell(asks("ba"));
  await settled();
  assert.deepEqual(heard, [SETUP, asks("b"), asks("ba")]);
  tell(asks(""));
  await settled();
  assert.deepEqual(
    said.map(({ type, data }) => data?.items ?? type),
    [1, ["b"], ["ba"], [""]],
  );
});
