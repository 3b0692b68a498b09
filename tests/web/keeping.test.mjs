// What goes along from page to page, into files, and into a comparison.
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { PlayedStorage } from "./played-page.mjs";

globalThis.location = { hash: "", pathname: "/", href: "http://localhost/" };
globalThis.document = { querySelector: () => null };
const { addedRow, joined, taken, withRow } = await import("../../site_src/assets/js/carry.js");
const { asked, candidates } = await import("../../site_src/assets/js/compare.js");
const { fileName } = await import("../../site_src/assets/js/design-files.js");
const state = await import("../../site_src/assets/js/state.js");

beforeEach(() => {
  globalThis.localStorage = new PlayedStorage();
  globalThis.sessionStorage = new PlayedStorage();
});

test("what is empty here goes along as empty, a number goes last", () => {
  const found = taken({ flow: "1 m³/h" }, { "line.device": "line.device", "line.own.cv": "cv" }, {
    line: { device: "tape" },
  });
  assert.deepEqual(found, [
    ["line.device", "tape"],
    ["cv", ""],
    ["flow", "1 m³/h"],
  ]);
});

test("rows of the same crop keep what only the other page knows", () => {
  const old = [{ crop: "a", length: "1 m", path: "2 m" }, { crop: "b", path: "3 m" }];
  assert.deepEqual(joined(old, [{ crop: "a", length: "5 m" }, { crop: "c", length: "6 m" }, { crop: "d" }]), [
    { crop: "a", length: "5 m", path: "2 m" },
    { crop: "c", length: "6 m" },
    { crop: "d" },
  ]);
  assert.deepEqual(joined([{ length: "1 m" }], [{ area: "2 m²" }]), [{ area: "2 m²" }]);
});

test("file names come from the design's name and stay in their folder", () => {
  assert.equal(fileName("Raspberries by the shed"), "raspberries-by-the-shed");
  assert.equal(fileName("../../etc/passwd"), "etc-passwd");
  assert.equal(fileName("Beete für Möhren"), "beete-für-möhren");
  assert.equal(fileName("\\..:*?"), "");
  assert.equal(fileName(undefined), "");
  assert.equal(fileName("x".repeat(200)).length, 60);
});

test("the address says what to compare", () => {
  assert.deepEqual(asked("#compare=saved:a,typed%3Azones%3Aown"), ["saved:a", "typed:zones:own"]);
  assert.deepEqual(asked("#compare=saved:a"), ["saved:a"]);
  for (const bad of ["", "#saved=a", "#compare=", "#compare=%ff", `#compare=${"x".repeat(999)}`]) {
    assert.deepEqual(asked(bad), []);
  }
});

test("saved designs and what stands in forms can be compared", () => {
  const titles = { zones: "Zones", "run-length": "Run length" };
  const record = { id: "a", name: "A", calculator: "zones", document: { evenrow: 1 } };
  const gone = { ...record, id: "b", calculator: "gone" };
  state.save("zones", "own", { evenrow: 1, flow: "1" });
  state.save("zones", "saved-a", { evenrow: 1, flow: "2", name: "A" });
  const found = candidates([record, gone], titles, ["typed:zones:saved-a", "typed:nowhere:own", "typed:zones:none"]);
  assert.deepEqual(
    found.map(({ value, label }) => [value, label]),
    [
      ["saved:a", "A"],
      ["typed:zones:saved-a", "Zones: A, on the page"],
      ["typed:zones:own", "Zones: what you typed"],
    ],
  );
});

test("what a tab hands on is read once, and by that tab alone", () => {
  state.rememberHere("carried:zones", "x");
  assert.deepEqual(Object.keys(localStorage), []);
  assert.equal(state.takeHere("carried:zones"), "x");
  assert.equal(state.takeHere("carried:zones"), null);
  state.remember("shown:zones", "demo=a");
  globalThis.sessionStorage = new PlayedStorage();
  assert.equal(state.recall("shown:zones"), "demo=a");
  state.remember("shown:zones", null);
  assert.equal(state.recall("shown:zones"), null);
});

test("a check is added to a log, dated today where it has no date, and once only", () => {
  const added = { row: { measured: "88 %" }, inputs: { "check.date": "date", "check.note": "note" }, dated: "date" };
  const today = new Date(2026, 4, 3, 23, 30);
  assert.deepEqual(addedRow(added, {}, today), { measured: "88 %", date: "2026-05-03" });
  const own = { check: { date: "1 May 2026", note: "flushed" } };
  const row = addedRow(added, own, today);
  assert.deepEqual(row, { measured: "88 %", date: "1 May 2026", note: "flushed" });
  const log = withRow([{ date: "2025-05-01", measured: "90 %" }], row);
  assert.equal(log.length, 2);
  assert.deepEqual(log[1], row);
  assert.equal(withRow(log, row), log);
});
