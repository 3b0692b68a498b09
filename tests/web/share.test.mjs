// The link codec of the page against the vectors that the Python codec is tested with too.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { inflateSync } from "node:zlib";

import {
  checked,
  checkHead,
  decode,
  encode,
  isDesignLink,
  LinkError,
} from "../../site_src/assets/js/share.js";

const file = new URL("../vectors/links.json", import.meta.url);
const vectors = JSON.parse(readFileSync(file, "utf8"));

test("the vector file holds cases", () => {
  assert.ok(vectors.good.length >= 5);
  assert.ok(vectors.bad.length >= 20);
});

for (const { name, document, fragment } of vectors.good) {
  test(`good link: ${name}`, async () => {
    assert.deepEqual(JSON.parse(JSON.stringify(await decode(fragment))), document);
    assert.deepEqual(
      JSON.parse(JSON.stringify(await decode(`https://example.org/a/b/#${fragment}`))),
      document,
    );
    const again = await decode(await encode(document));
    assert.deepEqual(JSON.parse(JSON.stringify(again)), document);
  });
}

for (const { name, fragment, code } of vectors.bad) {
  test(`bad link: ${name}`, async () => {
    await assert.rejects(decode(fragment), (error) => {
      assert.ok(error instanceof LinkError, `not a LinkError: ${error?.stack}`);
      assert.equal(error.code, code);
      assert.match(error.message, /^[A-Z].*\.$/s);
      return true;
    });
  });
}

for (const address of ["", "https://farm.example/#", `${"a".repeat(2000)}#`]) {
  test(`white space of ASCII around a link does not matter: ${address.slice(0, 30)}`, async () => {
    const link = address + (await encode({ evenrow: 1 }));
    assert.equal((await decode(`\f\r\n\t ${link} \t\n\r\f`)).evenrow, 1);
  });
}

test("a link is compact UTF-8 JSON in zlib format", async () => {
  const fragment = await encode({ evenrow: 1, name: "Größe" });
  const payload = Buffer.from(fragment.slice("design=1.".length), "base64url");
  assert.equal(inflateSync(payload).toString("utf8"), '{"evenrow":1,"name":"Größe"}');
});

test("a decoded document reaches no prototype", async () => {
  const document = await decode(await encode({ rows: [{ length: "30 m" }] }));
  assert.equal(Object.getPrototypeOf(document), null);
  assert.equal(Object.getPrototypeOf(document.rows[0]), null);
  assert.throws(() => checked(JSON.parse('{"__proto__": {"polluted": "yes"}}')), LinkError);
  assert.equal({}.polluted, undefined);
});

test("a design too long for a link is refused with a way out", async () => {
  const noise = Array.from({ length: 1900 }, (_, i) => ({ length: `${Math.sin(i) * 1e6} m` }));
  await assert.rejects(encode({ rows: noise }), { code: "link_too_long", message: /Save it/ });
});

test("only fragments that start with design= count as links", () => {
  assert.ok(isDesignLink("#design=1.x"));
  assert.ok(isDesignLink("design="));
  assert.ok(!isDesignLink("#__tabbed_1"));
  assert.ok(!isDesignLink(""));
});

test("what stands at the head of a document is checked as Python checks it", () => {
  checkHead({ evenrow: 1 });
  checkHead({ evenrow: 1, units: "us" });
  checkHead({ evenrow: 1, units: "metric" });
  for (const [document, code] of [
    [{}, "missing"],
    [{ evenrow: 2 }, "newer_version"],
    [{ evenrow: 0 }, "wrong_version"],
    [{ evenrow: 1.5 }, "wrong_version"],
    [{ evenrow: "1" }, "wrong_version"],
    [{ evenrow: true }, "wrong_version"],
    [{ evenrow: 1, units: "imperial" }, "not_a_choice"],
    [{ evenrow: 1, units: {} }, "not_a_choice"],
  ]) {
    assert.throws(() => checkHead(checked(document)), (error) => {
      assert.ok(error instanceof LinkError);
      assert.equal(error.code, code, JSON.stringify(document));
      return true;
    });
  }
});
