// What shuts the network must find every way out, also those that an ancestor holds.
import assert from "node:assert/strict";
import { test } from "node:test";

import { shutNetwork, WAYS_OUT } from "../../site_src/assets/js/no-network.js";

function played() {
  const sent = [];
  const way = (name) =>
    function called() {
      sent.push(name);
    };
  const ancestor = Object.fromEntries(WAYS_OUT.map((name) => [name, way(name)]));
  const scope = Object.create(ancestor);
  scope.fetch = way("own fetch");
  scope.navigator = Object.create({ sendBeacon: way("sendBeacon") });
  scope.Cache = class {
    add() {
      sent.push("add");
    }

    addAll() {
      sent.push("addAll");
    }

    put() {
      return "kept";
    }
  };
  return { scope, ancestor, sent };
}

test("every way out throws and sends nothing", () => {
  const { scope, ancestor, sent } = played();
  shutNetwork(scope);
  for (const owner of [scope, ancestor]) {
    for (const name of WAYS_OUT) {
      assert.throws(() => owner[name]("https://a.example"), /no network/, name);
      assert.throws(() => new owner[name]("https://a.example"), /no network/, name);
    }
  }
  assert.throws(() => scope.navigator.sendBeacon("https://a.example"), /no network/);
  const cache = new scope.Cache();
  assert.throws(() => cache.add("https://a.example"), /no network/);
  assert.throws(() => cache.addAll([]), /no network/);
  assert.equal(cache.put(), "kept");
  assert.deepEqual(sent, []);
});

test("what is shut cannot be opened again", () => {
  const { scope, sent } = played();
  shutNetwork(scope);
  assert.throws(() => (scope.fetch = () => sent.push("again")), TypeError);
  assert.throws(() => Object.defineProperty(scope, "fetch", { value: () => 1 }), TypeError);
  assert.deepEqual(sent, []);
});

test("what a browser does not have is no fault", () => {
  shutNetwork({ navigator: {} });
});
