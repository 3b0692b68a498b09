// Texts to take along: what goes into the file, its name, and copying with and without leave.
import assert from "node:assert/strict";
import { test } from "node:test";

import { copyText, dress, fileOf, mountDocuments, safeName } from "../../site_src/assets/js/documents.js";

/** As much of an element as the buttons need. */
class Played {
  constructor(tag) {
    this.tag = tag;
    this.dataset = {};
    this.children = [];
    this.attributes = {};
    this.listeners = {};
    this.textContent = "";
    this.found = {};
  }

  setAttribute(name, value) {
    this.attributes[name] = value;
  }

  addEventListener(name, action) {
    this.listeners[name] = action;
  }

  append(...more) {
    this.children.push(...more);
  }

  before(bar) {
    this.bar = bar;
  }

  focus() {
    this.focused = true;
  }

  click() {
    clicked.push(this);
  }

  querySelector(wanted) {
    return this.found[wanted] ?? null;
  }
}

const clicked = [];
globalThis.document = { createElement: (tag) => new Played(tag) };

/** Let the clipboard take texts, or refuse them. */
function clipboard(writeText) {
  Object.defineProperty(globalThis, "navigator", { value: { clipboard: { writeText } }, configurable: true });
}

function place(text) {
  const made = new Played("details");
  made.dataset = { filename: "parts.csv", mediaType: "text/csv" };
  made.found.pre = Object.assign(new Played("pre"), { textContent: text });
  made.found.summary = Object.assign(new Played("summary"), { textContent: "List" });
  return made;
}

test("a table is UTF-8 with a mark, its lines end as RFC 4180 has it", () => {
  const made = fileOf("a,b\n1,–\r\n", "text/csv");
  assert.deepEqual(made, { parts: ["\ufeffa,b\r\n1,–\r\n"], type: "text/csv;charset=utf-8" });
});

test("plain text stays as it is, and nothing becomes a page", () => {
  assert.deepEqual(fileOf("x\n", "text/plain").parts, ["x\n"]);
  for (const kind of ["text/html", "", undefined]) assert.equal(fileOf("x", kind).type, "text/plain;charset=utf-8");
});

test("a file stays in its folder", () => {
  assert.equal(safeName("parts.csv"), "parts.csv");
  assert.equal(safeName("../../etc/passwd"), "etc-passwd");
  for (const none of ["", "...", undefined]) assert.equal(safeName(none), "list.txt");
  assert.ok(safeName("a".repeat(500)).length <= 60);
});

test("what is copied is the whole text, and it is said", async () => {
  let taken = "";
  clipboard(async (text) => (taken = text));
  const said = new Played("span");
  await copyText(place("one\ntwo").found.pre, said);
  assert.equal(taken, "one\ntwo");
  assert.equal(said.textContent, "Copied.");
});

test("where the clipboard is refused, the text is marked", async () => {
  clipboard(async () => {
    throw new Error("no");
  });
  let marked = null;
  globalThis.getSelection = () => ({ selectAllChildren: (what) => (marked = what) });
  const said = new Played("span");
  const { pre } = place("one").found;
  await copyText(pre, said);
  assert.equal(marked, pre);
  assert.ok(pre.focused);
  assert.match(said.textContent, /by hand/);
});

test("each text gets named buttons, once, and Download gives the file", () => {
  const made = place("a\n");
  const calc = new Played("div");
  calc.result = { querySelectorAll: () => (made.dataset.ready ? [] : [made]) };
  mountDocuments(calc);
  calc.listeners.phase();
  const [copy, download, said] = made.found.pre.bar.children;
  assert.deepEqual([copy.attributes["aria-label"], download.attributes["aria-label"]], ["Copy: List", "Download: List"]);
  assert.equal(said.attributes.role, "status");
  URL.createObjectURL = () => "blob:x";
  URL.revokeObjectURL = () => {};
  const later = globalThis.setTimeout;
  globalThis.setTimeout = () => 0;
  download.listeners.click();
  globalThis.setTimeout = later;
  assert.equal(clicked.at(-1).download, "parts.csv");
  assert.equal(said.textContent, "Saved as parts.csv.");
});

test("a fold without a text is left alone", () => {
  const bare = new Played("details");
  dress(bare);
  assert.equal(bare.dataset.ready, undefined);
});
