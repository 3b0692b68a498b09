// Looking closer at drawings: the arithmetic, the row of a part, and files that stand alone.
import assert from "node:assert/strict";
import { test } from "node:test";

import { fileName, pictureSize, resolved } from "../../site_src/assets/js/figure-file.js";
import { rowOf, titleOf } from "../../site_src/assets/js/figure-view.js";
import { boxOf, CLOSEST, isWhole, kept, moved, pinch, textOf, zoomed } from "../../site_src/assets/js/view-box.js";

const WHOLE = boxOf("0 0 640 320");

test("a view box is read and written", () => {
  assert.deepEqual(WHOLE, { x: 0, y: 0, width: 640, height: 320 });
  assert.equal(textOf({ x: 1 / 3, y: 0, width: 10, height: 5 }), "0.33 0 10 5");
  for (const bad of [null, "", "x", "0 0 0 5"]) assert.ok(boxOf(bad).width > 0);
});

test("what lies under the fingers stays there", () => {
  const at = { x: 0.25, y: 0.75 };
  const closer = zoomed(WHOLE, WHOLE, 2, at);
  assert.equal(closer.width, 320);
  assert.equal(closer.x + at.x * closer.width, at.x * WHOLE.width);
  assert.equal(closer.y + at.y * closer.height, at.y * WHOLE.height);
});

test("closer and back again is the whole drawing", () => {
  const back = zoomed(zoomed(WHOLE, WHOLE, 3, { x: 0.1, y: 0.9 }), WHOLE, 1 / 3);
  assert.deepEqual(back, WHOLE);
  assert.ok(isWhole(back, WHOLE));
});

test("no way leads off the paper", () => {
  let box = WHOLE;
  let seed = 7;
  const random = () => (seed = (seed * 16807) % 2147483647) / 2147483647;
  for (let i = 0; i < 2000; i += 1) {
    box =
      random() < 0.5
        ? zoomed(box, WHOLE, Math.exp(4 * random() - 2), { x: random(), y: random() })
        : moved(box, WHOLE, 4 * random() - 2, 4 * random() - 2);
    assert.ok(box.x >= -1e-9 && box.y >= -1e-9);
    assert.ok(box.x + box.width <= 640 + 1e-9 && box.y + box.height <= 320 + 1e-9);
    assert.ok(box.width >= 640 / CLOSEST - 1e-9 && box.width <= 640);
    assert.ok(Math.abs(box.width - 2 * box.height) < 1e-9);
  }
});

test("the whole drawing cannot be moved", () => {
  assert.deepEqual(moved(WHOLE, WHOLE, 0.5, -0.5), WHOLE);
  assert.deepEqual(kept({ x: 900, y: 900, width: 1e9, height: 1 }, WHOLE), WHOLE);
});

test("two fingers: how far apart, and where their middle went", () => {
  const done = pinch([{ x: 0, y: 0 }, { x: 10, y: 0 }], [{ x: 0, y: 0 }, { x: 20, y: 0 }]);
  assert.equal(done.factor, 2);
  assert.deepEqual(done.from, { x: 5, y: 0 });
  assert.deepEqual(done.to, { x: 10, y: 0 });
  const same = { x: 3, y: 3 };
  assert.ok(Number.isFinite(pinch([same, same], [same, same]).factor));
});

/** A result with three rows in parts tables, and perhaps one that says its number. */
const played = (rows, named) => ({
  querySelector: (wanted) => (named && wanted === `tr[data-part="${named}"]` ? "named" : null),
  querySelectorAll: () => rows,
});

test("a part's row is the one that says so, else the one at its place", () => {
  const rows = ["first", "second", "third"];
  assert.equal(rowOf(played(rows), "2"), "second");
  assert.equal(rowOf(played(rows, 2), "2"), "named");
  for (const bad of ["0", "4", "-1", "1.5", '1"]', "", undefined]) assert.equal(rowOf(played(rows), bad), null);
});

test("a part's title is its own, not that of a part inside it", () => {
  const part = { children: [{ localName: "g", textContent: "no" }, { localName: "title", textContent: "7: tape" }] };
  assert.equal(titleOf(part), "7: tape");
  assert.equal(titleOf({ children: [] }), "");
});

test("variables become values, also those within values", () => {
  const values = { "--a": "var(--b)", "--b": " #123456 " };
  const valueOf = (name) => values[name] ?? "";
  assert.equal(resolved("x{fill:var(--a)}", valueOf), "x{fill:#123456}");
  assert.equal(resolved("x{fill:var(--none, red)}", valueOf), "x{fill:red}");
  assert.equal(resolved("x{fill:var( --none )}", valueOf), "x{fill:currentColor}");
  assert.ok(resolved("x{fill:var(--c)}", () => "var(--c)"));
});

test("file names are plain", () => {
  assert.equal(fileName("Plan of the field: Möhren/../x", "svg"), "plan-of-the-field-mo-hren-x.svg");
  assert.equal(fileName("水", "png"), "drawing.png");
  assert.ok(fileName("a".repeat(500), "svg").length < 70);
});

test("pictures are twice the size, as far as a canvas goes", () => {
  assert.deepEqual(pictureSize(960, 1000), { width: 1920, height: 2000 });
  const tall = pictureSize(960, 4000);
  assert.ok(tall.height <= 4096);
  assert.ok(Math.abs(tall.width / tall.height - 0.24) < 0.001);
});
