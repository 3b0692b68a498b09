// Undo and redo: one line of texts, bounded, kept as text.
import assert from "node:assert/strict";
import { test } from "node:test";
import "./played-page.mjs";
import { Line } from "../../site_src/assets/js/history.js";

function typed(...texts) {
  const line = new Line();
  texts.forEach((text, index) => line.note(text, "", index));
  return line;
}

test("back and forth again", () => {
  const line = typed("a", "b", "c");
  assert.deepEqual([line.canUndo, line.canRedo], [true, false]);
  assert.equal(line.move(-1), "b");
  assert.equal(line.move(-1), "a");
  assert.equal(line.move(-1), null);
  assert.equal(line.move(1), "b");
  assert.equal(line.move(1), "c");
  assert.equal(line.move(1), null);
});

test("a change after going back ends what could be done again", () => {
  const line = typed("a", "b", "c");
  line.move(-1);
  line.note("d", "", 9);
  assert.deepEqual(line.texts, ["a", "b", "d"]);
  assert.equal(line.canRedo, false);
});

test("the same text again is no step", () => {
  const line = typed("a", "a", "b", "b");
  assert.deepEqual(line.texts, ["a", "b"]);
});

test("typing on in one box is one step; a pause or another box is the next", () => {
  const line = typed("");
  line.note("start", "", 0);
  for (const [text, where, time] of [
    ["1", "length", 100],
    ["12", "length", 300],
    ["12 f", "count", 500],
    ["12 ft", "count", 60_000],
  ]) {
    line.note(text, where, time);
  }
  assert.deepEqual(line.texts, ["start", "12", "12 f", "12 ft"]);
});

test("typing never swallows the first state, nor one that was gone back to", () => {
  const line = new Line();
  line.note("start", "length", 0);
  line.note("1", "length", 1);
  assert.deepEqual(line.texts, ["start", "1"]);
  line.note("12", "length", 2);
  line.move(-1);
  line.note("9", "length", 3);
  assert.deepEqual(line.texts, ["start", "9"]);
});

test("the line is bounded in steps and in text, and keeps the newest", () => {
  const many = typed(...Array.from({ length: 500 }, (_, index) => String(index)));
  assert.equal(many.texts.length, 60);
  assert.equal(many.now, "499");
  assert.equal(many.move(-1), "498");
  const large = typed(...Array.from({ length: 20 }, (_, index) => `${index}`.padEnd(100_000, "x")));
  assert.ok(large.texts.join("").length <= 400_000);
  assert.ok(large.now.startsWith("19"));
  const huge = typed("a".repeat(300_000), "b".repeat(300_000));
  assert.equal(huge.canUndo, true, "one step back is always there");
});

test("it comes back from its text, and from nothing else", () => {
  const line = typed("a", "b", "c");
  line.move(-1);
  const back = Line.from(line.toText());
  assert.deepEqual([back.texts, back.at, back.now], [["a", "b", "c"], 1, "b"]);
  for (const bad of [null, "", "{", "[]", '{"texts":[1],"at":0}', '{"texts":["a"],"at":5}', '{"texts":"a","at":0}']) {
    assert.deepEqual(Line.from(bad).texts, []);
  }
});
