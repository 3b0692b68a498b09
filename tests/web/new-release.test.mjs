// When a page looks for a newer release; page, clock, network and registration are played.
import assert from "node:assert/strict";
import { beforeEach, mock, test } from "node:test";

const { AGAIN_MS, EVERY_MS, lookout } = await import("../../site_src/assets/js/new-release.js");

const SCRIPT = new URL("https://a.example/sw.js");
let asked;
let network;
let registration;

beforeEach(() => {
  mock.timers.reset();
  mock.timers.enable({ apis: ["Date"], now: 1e12 });
  asked = [];
  network = () => new Response("");
  globalThis.document = { visibilityState: "visible" };
  Object.defineProperty(globalThis, "navigator", { value: { onLine: true }, configurable: true });
  globalThis.fetch = async (address, { cache }) => {
    asked.push(`${cache} ${address}`);
    return network();
  };
  registration = Object.assign(new EventTarget(), {
    installing: null,
    update: async () => asked.push("update"),
  });
});

const ONE_LOOK = ["reload https://a.example/sw.js", "update"];

test("it looks past the browser's cache, once an hour, while it is seen and has a network", async () => {
  const look = lookout(registration, SCRIPT);
  document.visibilityState = "hidden";
  await look();
  document.visibilityState = "visible";
  navigator.onLine = false;
  await look();
  assert.deepEqual(asked, []);
  navigator.onLine = true;
  await look();
  assert.deepEqual(asked, ONE_LOOK);
  mock.timers.tick(EVERY_MS - 1);
  await look();
  assert.equal(asked.length, 2);
  mock.timers.tick(1);
  await look();
  assert.deepEqual(asked, [...ONE_LOOK, ...ONE_LOOK]);
});

for (const [what, fails] of [
  ["no network", () => (network = () => Promise.reject(new TypeError("gone")))],
  ["no such file", () => (network = () => new Response("", { status: 404 }))],
  ["a broken service worker", () => (registration.update = () => Promise.reject(new TypeError("cut")))],
]) {
  test(`it looks again soon after ${what}`, async () => {
    fails();
    const look = lookout(registration, SCRIPT);
    await look();
    const before = asked.length;
    await look();
    assert.equal(asked.length, before);
    mock.timers.tick(AGAIN_MS);
    await look();
    assert.ok(asked.length > before);
  });
}

test("it looks again soon after a release that could not be kept whole", async () => {
  const look = lookout(registration, SCRIPT);
  await look();
  const coming = Object.assign(new EventTarget(), { state: "installing" });
  registration.installing = coming;
  registration.dispatchEvent(new Event("updatefound"));
  coming.state = "redundant";
  coming.dispatchEvent(new Event("statechange"));
  mock.timers.tick(AGAIN_MS);
  await look();
  assert.deepEqual(asked, [...ONE_LOOK, ...ONE_LOOK]);
});
