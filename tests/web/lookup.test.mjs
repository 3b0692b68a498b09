// The look-up: what a cell says, in words, and the design that goes on to the calculator.
import assert from "node:assert/strict";
import { test } from "node:test";

const look = await import("../../site_src/assets/js/lookup.js");
const { decode, encode } = await import("../../site_src/assets/js/share.js");

const LIMITS = { "": "emission uniformity", L: "lowest pressure of the line" };

/** A cell as the page has it. */
const cell = (parts) => ({
  querySelector: (tag) => (tag in parts ? { textContent: parts[tag] } : null),
});

test("a cell is read with and without its letter", () => {
  assert.deepEqual(look.readCell(cell({ b: "560", i: "170.5" })), {
    us: "560",
    metric: "170.5",
    mark: "",
  });
  assert.equal(look.readCell(cell({ b: "560", i: "170.5", sup: "L" })).mark, "L");
});

test("the number stands in the chosen unit, the other below", () => {
  const found = { us: "560", metric: "170.5", mark: "" };
  assert.deepEqual(look.lengthWords(found, "us"), {
    big: "560\u00a0ft",
    small: "170.5\u00a0m",
    plain: true,
  });
  assert.equal(look.lengthWords(found, "metric").big, "170.5\u00a0m");
  assert.match(look.limitWords(found, "us", LIMITS), /emission uniformity/);
});

test("a run that is longer than the table goes names no limit", () => {
  const found = { us: "1984", metric: "over 600", mark: "L" };
  assert.equal(look.lengthWords(found, "metric").big, "over 600\u00a0m");
  assert.equal(look.lengthWords(found, "metric").plain, false);
  assert.match(look.limitWords(found, "metric", LIMITS), /Nothing stops it/);
  assert.match(look.limitWords(found, "us", LIMITS), /lowest pressure/);
});

test("no run at all says what the first emitter breaks", () => {
  const found = { us: "none", metric: "none", mark: "L" };
  assert.deepEqual(look.lengthWords(found, "us"), { big: "no run", small: "", plain: false });
  assert.match(look.limitWords(found, "us", LIMITS), /first emitter breaks this limit: lowest pressure/);
});

test("what is still to be tapped is said in order", () => {
  assert.match(look.missingWords({ device: "all" }), /tape or dripline/);
  assert.match(look.missingWords({ device: "tape-22", spacing: "" }), /spacing/);
  assert.match(look.missingWords({ device: "tape-22", spacing: "30 cm", slope: "" }), /slope/);
});

test("the choices travel to the calculator in a link", async () => {
  const chosen = { device: "tape-22", spacing: "30 cm", slope: "-1 %", eu: "85 %", pressure: "8 psi" };
  const back = await decode(await encode(look.documentOf(chosen, "us")));
  assert.equal(
    JSON.stringify(back),
    '{"evenrow":1,"calculator":"run-length","units":"us","line":{"device":"tape-22",' +
      '"spacing":"30 cm"},"pressure":"8 psi","ground":{"row_slope":"-1 %"},"limits":{"eu":"85 %"}}',
  );
});
