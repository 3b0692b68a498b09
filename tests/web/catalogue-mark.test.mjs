import assert from "node:assert/strict";
import test from "node:test";

import { marked, otherCatalogue } from "../../site_src/assets/js/catalogue-mark.js";

test("a design goes out with the catalogue it was made with", () => {
  assert.deepEqual(marked({ evenrow: 1 }, "Hill 2026"), { evenrow: 1, catalogue: "Hill 2026" });
  assert.deepEqual(marked({ evenrow: 1, catalogue: "old" }, "Hill 2026").catalogue, "Hill 2026");
  assert.deepEqual(marked({ evenrow: 1 }, ""), { evenrow: 1 });
});

test("only another catalogue is told, and never at length", () => {
  for (const catalogue of [undefined, "", " ", "Hill 2026", 5, null]) {
    assert.equal(otherCatalogue({ catalogue }, "Hill 2026"), "");
  }
  assert.equal(otherCatalogue({ catalogue: "Valley 1" }, ""), "");
  const told = otherCatalogue({ catalogue: "Valley 1" }, "Hill 2026");
  assert.match(told, /Valley 1.*Hill 2026/);
  assert.ok(otherCatalogue({ catalogue: "x".repeat(5000) }, "Hill 2026").length < 400);
});
