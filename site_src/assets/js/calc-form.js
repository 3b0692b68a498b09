// One calculator on a page: typed values in, live answer out.

import { core, DroppedError } from "./core-client.js";
import * as data from "./form-data.js";
import {
  clearProblems,
  faultBox,
  forgetUse,
  impossibleAnswer,
  markField,
  markUsed,
  showInputProblems,
} from "./problems.js";
import * as state from "./state.js";
import { tr } from "./texts.js";

const PAUSE_MS = 250;
/** A quick reply changes nothing at the foot of the screen but the answer itself. */
const WORKING_AFTER_MS = 400;

/**
 * How the answer on the page stands to the form: "built" came with the page and fits, "waiting" is
 * for other values, "current" is the reply, "refused" is for earlier values because these cannot be
 * used, "failed" because there was no reply.
 * @typedef {"built" | "waiting" | "current" | "refused" | "failed"} Phase
 */

export class CalcForm extends EventTarget {
  /** @param {HTMLElement} root .er-calc */
  constructor(root) {
    super();
    this.root = root;
    /** @type {HTMLFormElement} */
    this.form = root.querySelector(".er-form");
    this.result = root.querySelector(".er-result");
    this.id = this.form.dataset.calculator;
    this.slot = "own";
    /** What was filled in last, as text, where that has a slot of its own. */
    this.asGiven = "";
    /** Revision of the saved design that stands here; 0 for none. */
    this.base = 0;
    this.timer = 0;
    this.workingTimer = 0;
    /** @type {Phase} */
    this.phase = "built";
    /** Stands right below the headline, whatever the answer. @type {HTMLElement | null} */
    this.belowHeadline = null;
    /** @type {any} what the last reply found wrong */
    this.refusal = null;
    this.defaultAnswers = {
      [this.form.dataset.units]: this.result.innerHTML,
      us: root.querySelector(".er-result-us")?.innerHTML,
    };
    for (const each of root.querySelectorAll(".er-js")) each.hidden = false;
    for (const field of root.querySelectorAll(".er-field")) data.markUnit(field);
    /** The document that the answer on the page is for, as text. */
    this.shownFor = this.#key();
    this.#unfold(new Map());
    this.#setPhase("built");
    this.#listen();
  }

  #listen() {
    const { form } = this;
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.update();
    });
    form.addEventListener("input", (event) => {
      if (!(event.target instanceof Element)) return;
      const field = event.target.closest(".er-field");
      if (!field) return;
      markUsed(field);
      data.markUnit(field);
      data.showRelevant(form);
      this.changed(PAUSE_MS);
    });
    form.addEventListener("focusin", () => core.start(), { once: true });
    form.addEventListener("focusout", (event) => this.#left(event));
    form.addEventListener("click", (event) => {
      const pressed = event.target instanceof Element && event.target.closest("button");
      if (!pressed) return;
      const table = pressed.closest(".er-table");
      const system = form.dataset.units;
      if (pressed.classList.contains("er-add")) {
        // An empty line changes no answer yet, so nothing runs and nothing is found wrong.
        data.addEmpty(table, system)?.querySelector("[name]")?.focus();
      } else if (pressed.classList.contains("er-remove")) {
        data.removeRow(table, pressed.closest(".er-row"), system);
        table.querySelector(".er-add").focus();
        this.changed(0);
      }
    });
    for (const radio of form.querySelectorAll('input[name="er-units"]')) {
      radio.addEventListener("change", () => {
        state.keepUnits(radio.value);
        this.changeSystem(radio.value);
      });
    }
  }

  /** What was left empty on the way is from now on found wrong. @param {FocusEvent} event */
  #left(event) {
    const at = event.target instanceof Element && event.target.closest(".er-table, .er-field");
    const left = at && (at.closest(".er-table") ?? at);
    if (!left || (event.relatedTarget instanceof Node && left.contains(event.relatedTarget))) return;
    if (left.dataset.used) return;
    markUsed(left);
    if (this.phase === "refused" && this.refusal) this.#refuse(this.refusal);
  }

  #key() {
    return JSON.stringify(this.read());
  }

  /** @param {"us" | "metric"} system */
  changeSystem(system) {
    // Only an untouched form takes the other system's start values; else every value stays.
    if (data.isPristine(this.form)) data.writeDefaults(this.form, system);
    else data.changeSystem(this.form, system);
    this.changed(0);
  }

  /**
   * Replace everything typed.
   * @param {Record<string, any>} source
   * @param {"us" | "metric"} [units] of the answer, where not those of the document
   * @returns {string[]} unknown names
   */
  fill(source, units) {
    const unknown = this.write(source, units);
    this.result.dataset.live = "false";
    this.changed(0);
    return unknown;
  }

  /**
   * Write values into the boxes and leave it at that: nothing is kept, nothing is asked.
   * @param {Record<string, any>} source
   * @param {"us" | "metric"} [units] of the answer, where not those of the document
   * @returns {string[]} unknown names
   */
  write(source, units) {
    const unknown = data.writeDocument(this.form, source);
    forgetUse(this.form);
    if (units) data.changeSystem(this.form, units);
    return unknown;
  }

  /** Put back what stands there at first. */
  reset() {
    data.writeDefaults(this.form, state.preferredUnits());
    forgetUse(this.form);
    this.result.dataset.live = "false";
    this.changed(0);
  }

  read() {
    return data.readDocument(this.form);
  }

  /** Keep what is typed, then answer after a pause. @param {number} pause */
  changed(pause) {
    // What stands there at first is nobody's work; keeping it would pass for something typed.
    if (this.#asAtFirst()) state.forget(this.id, this.slot);
    else state.save(this.id, this.slot, this.read(), this.base);
    this.dispatchEvent(new Event("changed"));
    this.#wait();
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.update(), pause);
  }

  /** Whether an own form or an example stands as it came. */
  #asAtFirst() {
    if (this.slot === "own") return data.isPristine(this.form);
    return this.slot.startsWith("demo-") && this.asGiven === this.#key();
  }

  /** Until the reply: the answer that came with the page where it fits, else marked as old. */
  #wait() {
    this.result.setAttribute("aria-busy", "true");
    const key = this.#key();
    const built = this.defaultAnswers[this.form.dataset.units];
    if (this.shownFor !== key && built && data.isPristine(this.form)) {
      this.#replace(built, key);
      this.result.dataset.live = "false";
    }
    if (this.shownFor !== key) this.#setPhase("waiting");
    else if (this.result.dataset.live !== "true") this.#setPhase("built");
  }

  /** Ask Python for the answer to what stands in the form. */
  async update() {
    clearTimeout(this.timer);
    const asked = this.read();
    this.#wait();
    try {
      const reply = await core.ask(`calc:${this.id}`, { v: 1, op: "calc", document: asked });
      this.result.removeAttribute("aria-busy");
      this.result.dataset.live = "true";
      clearProblems(this.form, this.result);
      this.refusal = null;
      if (reply.ok) this.#answer(reply.html, JSON.stringify(asked));
      else this.#showError(reply.error, JSON.stringify(asked));
    } catch (error) {
      if (error instanceof DroppedError && error.message === "replaced") return;
      this.result.removeAttribute("aria-busy");
      this.#setPhase("failed");
    }
  }

  /** @param {string} html @param {string} key of the document that it answers */
  #answer(html, key) {
    this.#replace(html, key);
    this.#settle();
  }

  /** Typing may have gone on while this answer was worked out. */
  #settle() {
    this.#setPhase(this.shownFor === this.#key() ? "current" : "waiting");
  }

  /**
   * @param {string} html written by our own Python, every foreign text in it escaped
   * @param {string} key of the document that it answers
   */
  #replace(html, key) {
    const folds = new Map(
      [...this.result.querySelectorAll("details")].map((each) => [whyKey(each), each.open]),
    );
    this.result.innerHTML = html;
    this.shownFor = key;
    this.#unfold(folds);
    this.#placeBelowHeadline();
  }

  /** Folds stay as they were; new ones in tables stand open where there is room. @param {Map<string, boolean>} folds */
  #unfold(folds) {
    const wide = matchMedia("(min-width: 60em)").matches;
    for (const each of this.result.querySelectorAll("details")) {
      each.open = folds.get(whyKey(each)) ?? (wide && each.classList.contains("er-detail"));
    }
  }

  #placeBelowHeadline() {
    if (this.belowHeadline) this.result.querySelector(".er-headline")?.after(this.belowHeadline);
  }

  /** @param {HTMLElement} place stands below the headline from now on */
  keepBelowHeadline(place) {
    this.belowHeadline = place;
    this.#placeBelowHeadline();
  }

  /** @param {Phase} phase */
  #setPhase(phase) {
    this.phase = phase;
    this.root.dataset.phase = phase;
    this.root.classList.toggle(
      "er-stale",
      phase !== "built" && phase !== "current" && this.shownFor !== this.#key(),
    );
    clearTimeout(this.workingTimer);
    if (phase !== "waiting") this.#summary();
    else {
      const wait = this.result.dataset.live === "true" ? WORKING_AFTER_MS : 0;
      if (wait) this.workingTimer = setTimeout(() => this.#sticky(tr("Working…"), ""), wait);
      else this.#sticky(tr("Working…"), "");
    }
    this.dispatchEvent(new Event("phase"));
  }

  /** The one-line answer that stays in sight on phones. */
  #summary() {
    if (this.phase === "refused") return;
    if (this.root.classList.contains("er-stale")) {
      this.#sticky(tr("Not worked out yet"), "");
      return;
    }
    const text = (name) => this.result.querySelector(name)?.textContent ?? "";
    const label = text(".er-headline-label");
    if (this.result.querySelector(".er-impossible")) this.#sticky(tr("Nothing fits"), tr("see why"));
    else this.#sticky(label, text(".er-headline-value"), text(".er-verdict"));
  }

  /** @param {string} label @param {string} value @param {string} [verdict] */
  #sticky(label, value, verdict = "") {
    this.root.querySelector(".er-sticky-label").textContent = label;
    this.root.querySelector(".er-sticky-value").textContent = value;
    this.root.querySelector(".er-sticky-verdict").textContent = verdict;
  }

  /** @param {any} error of a reply @param {string} key of the document that was refused */
  #showError(error, key) {
    if (error.kind === "input") {
      this.refusal = error;
      this.#refuse(error);
    } else if (error.kind === "impossible") {
      this.result.replaceChildren(impossibleAnswer(error));
      this.shownFor = key;
      this.#placeBelowHeadline();
      const at = error.field ? data.findField(this.form, error.field) : null;
      if (at) markField(at, error.message);
      this.#settle();
    } else {
      this.result.prepend(faultBox(error));
      this.#setPhase("refused");
      this.#sticky(tr("Not worked out"), tr("see why"));
    }
  }

  /** @param {any} error */
  #refuse(error) {
    clearProblems(this.form, this.result);
    const words = showInputProblems(this.form, this.result, error);
    this.#setPhase("refused");
    this.#sticky(...words);
  }
}

/** @param {HTMLElement} details */
const whyKey = (details) => details.dataset.why ?? "";
