// The field sheet: what is asked of Python for it, how small it is shown, who has one.
import assert from "node:assert/strict";
import { test } from "node:test";

import { fitted, refusal, sheetButtons, sheetRequest } from "../../site_src/assets/js/field-sheet.js";
import { decode } from "../../site_src/assets/js/share.js";

const SOURCE = { evenrow: 1, calculator: "whole-field", name: "Hill" };
const DAY = new Date(2026, 10, 25);

test("the link on the sheet opens the document that the sheet is of", async () => {
  const asked = await sheetRequest(SOURCE, "https://coop.example.org/whole-field/", DAY);
  assert.equal(asked.op, "sheet");
  assert.deepEqual(asked.document, SOURCE);
  assert.ok(asked.link.startsWith("https://coop.example.org/whole-field/#design=1."));
  assert.deepEqual({ ...(await decode(asked.link)) }, SOURCE);
  assert.match(asked.date, /2026/);
});

test("a design that no link can hold has a sheet without a link", async () => {
  const noise = Array.from({ length: 1_500 }, (_, i) => ({ a: String(Math.sin(i)) }));
  const asked = await sheetRequest({ ...SOURCE, rows: noise }, "https://coop.example.org/", DAY);
  assert.equal(asked.link, "");
  assert.equal(asked.op, "sheet");
});

test("a page opened from a folder has no address to print", async () => {
  assert.equal((await sheetRequest(SOURCE, "file:///home/x/index.html", DAY)).link, "");
});

test("a side is shown whole, never larger than it is", () => {
  assert.equal(fitted(1280), 1);
  assert.ok(fitted(360) * 186 * (96 / 25.4) < 360);
  assert.ok(fitted(360) > 0.4);
});

test("a refusal says what would work", () => {
  assert.equal(refusal({ message: "no", changes: [] }), "There is no sheet of this: no.");
  assert.match(refusal({ message: "no", changes: ["a wider pipe"] }), /What would work: a wider pipe\.$/);
});

test("only a whole field has the button", () => {
  const made = { tag: "button", classList: { add() {} }, addEventListener() {} };
  globalThis.document = { createElement: () => made };
  assert.deepEqual(sheetButtons({ id: "run-length" }), []);
  assert.deepEqual(sheetButtons({ id: "whole-field" }), [made]);
  assert.equal(made.textContent, "Field sheet");
});
