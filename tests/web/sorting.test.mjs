// Cells in order: figures as figures, texts as texts, empty ones last.
import assert from "node:assert/strict";
import { test } from "node:test";
import { compare, keyOf } from "../../site_src/assets/js/sorting.js";

test("a full figure counts before the text that people read", () => {
  assert.equal(keyOf("0.0003", "2.65 gal/min"), 0.0003);
});

test("a plain number in a text is a number", () => {
  assert.equal(keyOf(undefined, "1049.75"), 1049.75);
  assert.equal(keyOf(undefined, "−3"), -3);
  assert.equal(keyOf(undefined, "2–3"), "2–3");
});

test("empty cells come last both ways", () => {
  const keys = [3, null, 1, 2];
  assert.deepEqual([...keys].sort((a, b) => compare(a, b, 1)), [1, 2, 3, null]);
  assert.deepEqual([...keys].sort((a, b) => compare(a, b, -1)), [3, 2, 1, null]);
});

test("texts with numbers go by these numbers", () => {
  const keys = ["10 zones", "9 zones"];
  assert.deepEqual([...keys].sort((a, b) => compare(a, b, 1)), ["9 zones", "10 zones"]);
});
