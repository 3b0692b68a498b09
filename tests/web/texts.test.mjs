import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { test } from "node:test";

import { BASE, HOME, LANGUAGE, tr } from "../../site_src/assets/js/texts.js";
import spanish from "../../site_src/assets/js/texts-es.js";

const FOLDER = new URL("../../site_src/assets/js/", import.meta.url);
const MODULES = readdirSync(FOLDER).filter((name) => name.endsWith(".js") && !name.startsWith("texts"));
const placesOf = (text) => [...text.matchAll(/\{(\w+)\}/g)].map(([place]) => place).sort();

/** Every text given to tr in a module; what is not one literal is told instead. */
function textsOf(source) {
  const found = [];
  for (const { index } of source.matchAll(/(?<![\w.])tr\(/g)) {
    const literal = /^tr\(\s*("(?:[^"\\]|\\.)*")/.exec(source.slice(index));
    found.push(literal ? JSON.parse(literal[1]) : `not a literal: ${source.slice(index, index + 60)}`);
  }
  return found;
}

const texts = new Set(MODULES.flatMap((name) => textsOf(readFileSync(new URL(name, FOLDER), "utf8"))));

test("every text of the modules is a literal and has its Spanish, and no other has", () => {
  assert.ok(texts.size > 150);
  assert.deepEqual([...texts].filter((text) => !Object.hasOwn(spanish, text)), []);
  assert.deepEqual(Object.keys(spanish).filter((text) => !texts.has(text)), []);
});

test("a translation has the places of its text, and is one", () => {
  for (const [english, other] of Object.entries(spanish)) {
    assert.deepEqual(placesOf(other), placesOf(english), english);
    assert.ok(other.trim(), english);
    if (/[a-z]+ [a-z]+/i.test(english)) assert.notEqual(other, english);
  }
});

test("no module puts words on the page that do not go through tr", () => {
  // A sentence begins with a capital; what goes to the console, and names of keys, are no such words.
  const sentence = /(["`])([A-Z][a-z]+(?: [^"`]*)?…?)\1/g;
  const apart = new Set(["Escape", "Enter", "Worker"]);
  const loose = MODULES.flatMap((name) =>
    readFileSync(new URL(name, FOLDER), "utf8")
      .replace(/(?<![\w.])tr\(\s*"(?:[^"\\]|\\.)*"/g, "")
      .replace(/console\.info\([^)]*/g, "")
      .replace(/"""[^"]*"""/g, "")
      .split("\n")
      .filter((line) => !/^\s*(?:\/\/|\/?\*)/.test(line))
      .flatMap((line) => [...line.replace(/\s\/\/.*/, "").matchAll(sentence)].map(([, , words]) => words))
      .filter((words) => !apart.has(words))
      .map((words) => `${name}: ${words}`),
  );
  assert.deepEqual(loose, []);
});

test("places are filled, others stay, and nothing that every object has is taken for a text", () => {
  assert.equal(tr("{count} fields", { count: 2 }), "2 fields");
  assert.equal(tr("{count} fields", { count: 2 }, spanish), "2 datos");
  assert.equal(tr("{count} {other}", { count: 2 }), "2 {other}");
  assert.equal(tr("{toString}", {}), "{toString}");
  assert.equal(tr("constructor"), "constructor");
  assert.equal(tr("{name}", { name: "{count} $&", count: 1 }), "{count} $&");
});

test("outside a page the language is English and the site begins above the scripts", () => {
  assert.equal(LANGUAGE, "en");
  assert.equal(HOME.href, BASE.href);
  assert.equal(new URL("assets/js/texts.js", BASE).href, new URL("texts.js", FOLDER).href);
});
