// A row's values go into a document, and nothing else of it changes.
import assert from "node:assert/strict";
import { test } from "node:test";

globalThis.document ??= { baseURI: "http://localhost/" };
const { merged } = await import("../../site_src/assets/js/choices.js");

const source = () => ({
  evenrow: 1,
  calculator: "options",
  units: "us",
  line: { device: "a", spacing: "12 in", own: { cv: "4 %" } },
  rows: [{ lines: "1", length: "62 ft" }, { lines: "2", length: "9 m" }],
});

test("values go in by name, rows by number, the rest stays", () => {
  const before = source();
  const after = merged(before, { "line.device": "b", "rows.1.lines": "3", "header.feed": "tee" }, "whole-field");
  assert.deepEqual(after, {
    ...source(),
    calculator: "whole-field",
    line: { ...source().line, device: "b" },
    rows: [{ lines: "1", length: "62 ft" }, { lines: "3", length: "9 m" }],
    header: { feed: "tee" },
  });
  assert.deepEqual(before, source());
});

test("an empty text empties its field", () => {
  assert.deepEqual(merged(source(), { "line.own.cv": "" }, "x").line.own, {});
});

test("a row that is not there changes nothing", () => {
  assert.deepEqual(merged(source(), { "rows.7.lines": "3" }, "options"), source());
});

test("no name reaches a prototype", () => {
  merged(source(), { "__proto__.polluted": "yes", "line.constructor.prototype.polluted": "yes" }, "x");
  assert.equal({}.polluted, undefined);
});
