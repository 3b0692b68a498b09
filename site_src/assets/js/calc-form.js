// One calculator on a page: typed values in, live answer out.

import { core, DroppedError } from "./core-client.js";
import * as data from "./form-data.js";
import { button, element } from "./notice-bar.js";
import * as state from "./state.js";

const PAUSE_MS = 250;

export class CalcForm {
  /** @param {HTMLElement} root .er-calc */
  constructor(root) {
    this.root = root;
    /** @type {HTMLFormElement} */
    this.form = root.querySelector(".er-form");
    this.result = root.querySelector(".er-result");
    this.id = this.form.dataset.calculator;
    this.slot = "own";
    this.timer = 0;
    this.defaultAnswers = {
      [this.form.dataset.units]: this.result.innerHTML,
      us: root.querySelector(".er-result-us")?.innerHTML,
    };
    for (const each of root.querySelectorAll(".er-js")) each.hidden = false;
    for (const field of root.querySelectorAll(".er-field")) data.markUnit(field);
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
      data.markUnit(field);
      data.showRelevant(form);
      this.changed(PAUSE_MS);
    });
    form.addEventListener("focusin", () => core.start(), { once: true });
    form.addEventListener("click", (event) => {
      const pressed = event.target instanceof Element && event.target.closest("button");
      if (!pressed) return;
      const table = pressed.closest(".er-table");
      const system = form.dataset.units;
      if (pressed.classList.contains("er-add")) {
        // An empty line changes no answer yet, so nothing runs and nothing is found wrong.
        data.addRow(table, null, system)?.querySelector("[name]")?.focus();
      } else if (pressed.classList.contains("er-remove")) {
        data.removeRow(table, pressed.closest(".er-row"), system);
        table.querySelector(".er-add").focus();
        this.changed(0);
      }
    });
    for (const radio of form.querySelectorAll('input[name="er-units"]')) {
      radio.addEventListener("change", () => {
        state.keepSetting("units", radio.value);
        this.changeSystem(radio.value);
      });
    }
  }

  /** @param {"us" | "metric"} system */
  changeSystem(system) {
    const pristine = data.isPristine(this.form);
    data.changeSystem(this.form, system);
    if (pristine && this.defaultAnswers[system]) this.#show(this.defaultAnswers[system], false);
    this.changed(0);
  }

  /** Replace everything typed. @param {Record<string, any>} source @returns {string[]} unknown names */
  fill(source) {
    const unknown = data.writeDocument(this.form, source);
    this.changed(0);
    return unknown;
  }

  /** Put back what stands there at first. */
  reset() {
    data.writeDefaults(this.form, state.preferredUnits());
    this.changed(0);
  }

  read() {
    return data.readDocument(this.form);
  }

  /** Keep what is typed, then answer after a pause. @param {number} pause */
  changed(pause) {
    state.save(this.id, this.slot, this.read());
    this.result.setAttribute("aria-busy", "true");
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.update(), pause);
  }

  /** Ask Python for the answer to what stands in the form. */
  async update() {
    clearTimeout(this.timer);
    const asked = this.read();
    this.result.setAttribute("aria-busy", "true");
    try {
      const reply = await core.ask(`calc:${this.id}`, { v: 1, op: "calc", document: asked });
      this.result.removeAttribute("aria-busy");
      this.#clearErrors();
      if (reply.ok) this.#show(reply.html, true);
      else this.#showError(reply.error);
    } catch (error) {
      if (error instanceof DroppedError && error.message === "replaced") return;
      this.result.removeAttribute("aria-busy");
      this.root.classList.add("er-stale");
    }
  }

  /**
   * @param {string} html written by our own Python, every foreign text in it escaped
   * @param {boolean} live
   */
  #show(html, live) {
    const open = new Set(
      [...this.result.querySelectorAll("details[open]")].map((each) => whyKey(each)),
    );
    this.result.innerHTML = html;
    for (const each of this.result.querySelectorAll("details")) each.open = open.has(whyKey(each));
    this.result.dataset.live = String(live);
    this.root.classList.remove("er-stale");
    this.#summary();
  }

  /** The one-line answer that stays in sight on phones. */
  #summary() {
    const label = this.result.querySelector(".er-headline-label")?.textContent ?? "";
    const value = this.result.querySelector(".er-headline-value")?.textContent ?? "";
    this.root.querySelector(".er-sticky-label").textContent = label;
    this.root.querySelector(".er-sticky-value").textContent = value;
  }

  #clearErrors() {
    for (const slot of this.form.querySelectorAll(".er-error")) {
      slot.hidden = true;
      slot.textContent = "";
    }
    for (const bad of this.form.querySelectorAll("[aria-invalid]")) {
      bad.removeAttribute("aria-invalid");
    }
    this.result.querySelector(":scope > .er-problem")?.remove();
  }

  /** @param {any} error of a reply */
  #showError(error) {
    this.result.dataset.live = "true";
    if (error.kind === "input") this.#showInputErrors(error);
    else if (error.kind === "impossible") this.#showImpossible(error);
    else this.#showInternal(error);
  }

  /** @param {any} error */
  #showInputErrors(error) {
    const errors = error.errors?.length ? error.errors : [error];
    const box = element("div", "er-problem");
    box.setAttribute("role", "status");
    const many = errors.length > 1 ? `${errors.length} entries need` : "One entry needs";
    box.append(
      element("p", "er-problem-title", `${many} another look. The answer below is for earlier values.`),
    );
    const list = element("ul", "");
    for (const each of errors) {
      const at = each.field ? data.findField(this.form, each.field) : null;
      list.append(this.#problemEntry(each, at));
      if (at) this.#markField(at, each);
    }
    box.append(list);
    this.result.prepend(box);
    this.root.classList.add("er-stale");
    const sticky = this.root.querySelector(".er-sticky-value");
    this.root.querySelector(".er-sticky-label").textContent = "Check";
    sticky.textContent = errors.length > 1 ? `${errors.length} entries` : "one entry";
  }

  /** @param {any} each @param {Element | null} at */
  #problemEntry(each, at) {
    const entry = element("li", "");
    const label = at?.querySelector("label, .er-table-label")?.firstChild?.textContent?.trim();
    if (!at) {
      entry.textContent = [each.field, sentence(each)].filter(Boolean).join(": ");
      return entry;
    }
    const row = at.closest(".er-row");
    const where = row ? `, line ${[...row.parentElement.children].indexOf(row) + 1}` : "";
    entry.append(
      button((label || each.field) + where, () => {
        at.closest("details")?.setAttribute("open", "");
        at.scrollIntoView({ block: "center" });
        at.querySelector("[name]")?.focus();
      }),
      document.createTextNode(` ${asSentence(each.message)}`),
    );
    return entry;
  }

  /** @param {Element} at @param {any} each */
  #markField(at, each) {
    const slot = [...at.children].find((child) => child.classList.contains("er-error"));
    if (!slot) return;
    slot.textContent = slot.textContent ? `${slot.textContent} ${sentence(each)}` : sentence(each);
    slot.hidden = false;
    at.hidden = false; // a mistake is shown even where the field does not matter just now
    if (at.matches(".er-field")) data.control(at).setAttribute("aria-invalid", "true");
    at.closest("details")?.setAttribute("open", "");
  }

  /** @param {any} error */
  #showImpossible(error) {
    const answer = element("div", "er-answer er-impossible");
    const head = element("div", "er-headline");
    head.append(
      element("p", "er-headline-label", "Nothing fits as it stands"),
      element("p", "er-verdict", asSentence(error.message)),
    );
    answer.append(head);
    if (error.changes?.length) {
      answer.append(element("h3", "", "What would make it work"));
      const list = element("ul", "er-changes");
      for (const change of error.changes) list.append(element("li", "", asSentence(change)));
      answer.append(list);
    }
    this.result.replaceChildren(answer);
    this.root.classList.remove("er-stale");
    this.root.querySelector(".er-sticky-label").textContent = "Nothing fits";
    this.root.querySelector(".er-sticky-value").textContent = "see why";
    const at = error.field ? data.findField(this.form, error.field) : null;
    if (at) this.#markField(at, { message: error.message });
  }

  /** @param {any} error */
  #showInternal(error) {
    const box = element("div", "er-problem");
    box.append(
      element("p", "er-problem-title", "Evenrow could not work this out. That is a fault in Evenrow, not in what you typed."),
      element("p", "", asSentence(error.message)),
    );
    const more = element("details", "");
    more.append(element("summary", "", "Details for a report"), element("pre", "", error.detail ?? ""));
    box.append(more);
    this.result.prepend(box);
    this.root.classList.add("er-stale");
  }
}

/** @param {string} [text] @returns {string} with a capital and a full stop */
function asSentence(text) {
  if (!text) return "";
  const started = text[0].toUpperCase() + text.slice(1);
  return /[.!?…]$/.test(started) ? started : `${started}.`;
}

/** @param {any} error @returns {string} all of an error in plain sentences */
function sentence(error) {
  const given = error.given ? `You typed “${error.given}”.` : "";
  const accepted = error.accepted ? asSentence(`Accepted: ${error.accepted}`) : "";
  const hint = error.hint ? asSentence(`Try: ${error.hint}`) : "";
  return [asSentence(error.message), given, accepted, hint].filter(Boolean).join(" ");
}

/** @param {Element} details */
function whyKey(details) {
  const name = details.parentElement?.querySelector("[data-name]");
  return name instanceof HTMLElement ? name.dataset.name : "";
}
