// Undo and redo of what was changed in a form; kept through a reload of the tab.

import { button, element } from "./notice-bar.js";
import * as data from "./form-data.js";
import * as state from "./state.js";
import { tr } from "./texts.js";

/** Most steps back, and most text that they may hold together. [characters] */
const MOST = 60;
const MOST_TEXT = 400_000;
/** Typing on in one box within this time is one step. */
const ONE_STEP_MS = 4_000;

/** A line of texts with a place in it; pure, so that it can be tested without a page. */
export class Line {
  /** @param {string[]} texts @param {number} at */
  constructor(texts = [], at = texts.length - 1) {
    this.texts = texts;
    this.at = at;
    this.where = "";
    this.time = 0;
  }

  /** @param {string | null} text written by `toText` @returns {Line} */
  static from(text) {
    try {
      const { texts, at } = JSON.parse(text);
      const sound =
        Array.isArray(texts) &&
        texts.every((each) => typeof each === "string") &&
        Number.isInteger(at) &&
        at >= -1 &&
        at < texts.length;
      return sound ? new Line(texts, at) : new Line();
    } catch {
      return new Line();
    }
  }

  toText() {
    return JSON.stringify({ texts: this.texts, at: this.at });
  }

  get now() {
    return this.texts[this.at] ?? "";
  }

  get canUndo() {
    return this.at > 0;
  }

  get canRedo() {
    return this.at < this.texts.length - 1;
  }

  /**
   * Take note of what stands there now.
   * @param {string} text
   * @param {string} where box in which it was typed, "" for anything else
   * @param {number} time [ms]
   */
  note(text, where, time) {
    if (text === this.now) return;
    const goesOn = where !== "" && where === this.where && time - this.time < ONE_STEP_MS;
    this.where = where;
    this.time = time;
    if (goesOn && !this.canRedo && this.canUndo) this.texts[this.at] = text;
    else {
      this.texts.splice(this.at + 1, Infinity, text);
      this.at++;
    }
    this.#bound();
  }

  #bound() {
    const size = () => this.texts.reduce((sum, text) => sum + text.length, 0);
    while (this.texts.length > MOST || (this.texts.length > 2 && size() > MOST_TEXT)) {
      this.texts.shift();
      this.at--;
    }
  }

  /** @param {1 | -1} by @returns {string | null} what stands there then */
  move(by) {
    if (by < 0 ? !this.canUndo : !this.canRedo) return null;
    this.at += by;
    this.where = "";
    return this.now;
  }

  /** Put what stands in the form for what was asked of it. @param {string} text */
  settle(text) {
    this.texts[this.at] = text;
  }
}

/** Whether typing goes on in a box, which undoes by itself. @param {EventTarget | null} at */
function isTyping(at) {
  if (!(at instanceof Element)) return false;
  return at.matches("textarea, [contenteditable], input:not([type=checkbox]):not([type=radio]):not([type=file])");
}

/**
 * Give a form its undo and redo.
 * @param {import("./calc-form.js").CalcForm} calc
 */
export function mountHistory(calc) {
  let slot = "";
  let line = new Line();
  let moving = false;
  /** Box in which something was just typed. */
  let typedIn = "";
  const key = (name) => `history:${calc.id}:${name}`;
  const said = element("span", "er-unseen");
  said.setAttribute("role", "status");

  const show = () => {
    // Not "disabled": the focus must not be lost with the last step.
    undo.setAttribute("aria-disabled", String(!line.canUndo));
    redo.setAttribute("aria-disabled", String(!line.canRedo));
  };

  const note = () => {
    const text = JSON.stringify(calc.read());
    if (slot !== calc.slot) {
      slot = calc.slot;
      line = Line.from(state.recall(key(slot)));
    }
    if (moving) line.settle(text);
    else line.note(text, typedIn, Date.now());
    typedIn = "";
    state.rememberHere(key(slot), line.toText());
    show();
  };

  /** @param {1 | -1} by */
  const go = (by) => {
    const before = line.now;
    const text = line.move(by);
    if (text === null) return;
    moving = true;
    try {
      calc.fill(JSON.parse(text));
    } finally {
      moving = false;
    }
    const what = differing(calc.form, before, text);
    said.textContent = by < 0 ? tr("Undone: {what}.", { what }) : tr("Done again: {what}.", { what });
    show();
  };

  const undo = button(tr("Undo"), () => go(-1));
  const redo = button(tr("Redo"), () => go(1));
  undo.classList.add("er-undo");
  redo.classList.add("er-redo");
  undo.setAttribute("aria-keyshortcuts", "Control+Z Meta+Z");
  redo.setAttribute("aria-keyshortcuts", "Control+Shift+Z Meta+Shift+Z Control+Y");
  const group = element("div", "er-steps-back");
  group.setAttribute("role", "group");
  group.setAttribute("aria-label", tr("Changes in the form"));
  group.append(undo, redo, said);
  calc.root.querySelector(".er-toolbar").append(group);

  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || isTyping(event.target)) return;
    const pressed = event.key.toLowerCase();
    if (pressed !== "z" && !(pressed === "y" && event.ctrlKey)) return;
    event.preventDefault();
    go(pressed === "y" || event.shiftKey ? 1 : -1);
  });
  // Ahead of the form's own listener, which sends "changed".
  calc.form.addEventListener(
    "input",
    ({ target }) => (typedIn = isTyping(target) ? target.name : ""),
    { capture: true },
  );
  calc.addEventListener("changed", note);
  // What was typed on the way to a saved design can still be undone there.
  calc.addEventListener("moved", ({ to }) => {
    state.rememberHere(key(to), line.toText());
    note();
  });
  show();
}

/**
 * Say in which field two texts of a document differ.
 * @param {HTMLFormElement} form
 * @param {string} before
 * @param {string} after
 */
function differing(form, before, after) {
  const [old, now] = [before, after].map((text) => flat(JSON.parse(text)));
  const names = [...new Set([...Object.keys(old), ...Object.keys(now)])];
  const changed = names.filter((name) => old[name] !== now[name]);
  const labels = changed.map((name) => {
    const at = data.findField(form, name);
    return at ? data.labelOf(at) : tr("units");
  });
  const different = [...new Set(labels)];
  if (different.length !== 1) return tr("{count} fields", { count: different.length });
  const [field] = different;
  const value = changed.length === 1 && now[changed[0]];
  return value ? tr("{field}, now {value}", { field, value }) : field;
}

/** @param {any} value @param {string} [at] @returns {Record<string, any>} leaves by dotted name */
function flat(value, at = "") {
  if (typeof value !== "object" || value === null) return { [at]: value };
  return Object.assign(
    {},
    ...Object.entries(value).map(([key, each]) => flat(each, at ? `${at}.${key}` : key)),
  );
}
