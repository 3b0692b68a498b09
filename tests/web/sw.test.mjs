// What the service worker answers, played against a scope, a cache and a network of its own.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import vm from "node:vm";

const ORIGIN = "https://farm.example";
const SCOPE = `${ORIGIN}/sub/`;
const FILES = { "index.html": "1", "zones/index.html": "2", "assets/a.css": "3" };

/** @returns {(path: string, mode?: string) => Promise<Response | null>} null: left to the browser */
function worker() {
  const listeners = {};
  const file = new URL("../../site_src/sw.js", import.meta.url);
  const release = JSON.stringify({ release: "r", runtime: "t", python: "p", files: FILES, runtimeFiles: {} });
  const source = readFileSync(file, "utf8").replace(/\/\* RELEASE \*\/ \{.*\};/, `${release};`);
  assert.ok(source.includes(release));
  const cache = {
    match: async (address) => {
      const path = address.slice(SCOPE.length);
      return Object.hasOwn(FILES, path) ? new Response(path) : undefined;
    },
  };
  vm.runInNewContext(source, {
    self: {
      location: new URL(`${SCOPE}sw.js`),
      addEventListener: (name, listener) => (listeners[name] = listener),
    },
    caches: { open: async () => cache },
    fetch: async () => new Response("from the network", { status: 404 }),
    Response,
    URL,
  });
  return async (path, mode = "navigate") => {
    let answer = null;
    const respondWith = (given) => (answer = given);
    listeners.fetch({ request: { url: ORIGIN + path, method: "GET", mode }, respondWith });
    return answer;
  };
}

test("a page is answered from what is kept", async () => {
  const ask = worker();
  assert.equal(await (await ask("/sub/zones/?x=1")).text(), "zones/index.html");
  assert.equal(await (await ask("/sub/")).text(), "index.html");
  assert.equal(await (await ask("/sub/zones/index.html")).text(), "zones/index.html");
  assert.equal(await (await ask("/sub/assets/a.css", "no-cors")).text(), "assets/a.css");
});

test("a folder without its slash is sent to the address with it", async () => {
  const answer = await worker()("/sub/zones?x=1");
  assert.equal(answer.status, 301);
  assert.equal(answer.headers.get("location"), `${SCOPE}zones/?x=1`);
});

test("only what the release names counts, not what every object has", async () => {
  for (const path of ["/sub/toString", "/sub/constructor", "/sub/constructor/", "/sub//evil.example"]) {
    const answer = await worker()(path);
    assert.equal(answer.status, 404, path);
  }
});

test("what lies outside of the scope is left to the browser", async () => {
  assert.equal(await worker()("/other/zones"), null);
});
