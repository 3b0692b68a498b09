// What Python found wrong, in words: a box above the answer and a line at each field.
//
// What nobody could type yet (a table that only just came into sight, a field never visited) is
// asked for, not found wrong.

import * as data from "./form-data.js";
import { button, element } from "./notice-bar.js";
import { tr } from "./texts.js";

/** Remember that a field or a table was used. @param {Element} at */
export function markUsed(at) {
  at.dataset.used = "yes";
}

/** A new document: nothing was used yet. @param {HTMLFormElement} form */
export function forgetUse(form) {
  for (const each of form.querySelectorAll("[data-used]")) delete each.dataset.used;
}

/** Whether something only waits to be filled in. @param {Element | null} at */
const isAwaited = (at) =>
  Boolean(at) && data.isEmpty(at) && !at.dataset.used && !at.closest(".er-table")?.dataset.used;

/** @param {HTMLFormElement} form @param {Element} result */
export function clearProblems(form, result) {
  for (const slot of form.querySelectorAll(".er-error")) {
    slot.hidden = true;
    slot.textContent = "";
    slot.classList.remove("er-wanted");
  }
  for (const bad of form.querySelectorAll("[aria-invalid]")) bad.removeAttribute("aria-invalid");
  for (const box of result.querySelectorAll(":scope > .er-problem")) box.remove();
}

/**
 * Say what is wrong with what was typed.
 * @param {HTMLFormElement} form
 * @param {Element} result
 * @param {any} error of a reply
 * @returns {[string, string]} the same in two short words
 */
export function showInputProblems(form, result, error) {
  const found = (error.errors?.length ? error.errors : [error]).map((each) => ({
    each,
    at: each.field ? data.findField(form, each.field) : null,
  }));
  const wrong = found.filter(({ at }) => !isAwaited(at)).length;
  const count = wrong || found.length;
  const several = count > 1;
  const look = several
    ? tr("{count} entries need another look.", { count })
    : tr("One entry needs another look.");
  const fill = several
    ? tr("Fill in {count} entries and the answer follows.", { count })
    : tr("Fill in what is still empty and the answer follows.");
  const entries = several ? tr("{count} entries", { count }) : tr("one entry");
  const box = element("div", wrong ? "er-problem" : "er-problem er-wanted");
  box.setAttribute("role", "status");
  box.append(element("p", "er-problem-title", `${wrong ? look : fill} ${tr("The answer below is for earlier values.")}`));
  const list = element("ul", "");
  for (const { each, at } of found) {
    const awaited = isAwaited(at);
    const words = awaited ? wanted(at) : asSentence(each.message);
    list.append(problemEntry(each, at, words));
    if (at) markField(at, awaited ? words : sentence(each), awaited);
  }
  box.append(list);
  result.prepend(box);
  return [wrong ? tr("Check") : tr("Fill in"), entries];
}

/** @param {Element} at @returns {string} */
const wanted = (at) =>
  at.matches(".er-table")
    ? tr("Nothing stands here yet: add the first entry.")
    : tr("Nothing stands here yet.");

/** @param {any} each @param {Element | null} at @param {string} words */
function problemEntry(each, at, words) {
  const entry = element("li", "");
  if (!at) {
    entry.textContent = [each.field, sentence(each)].filter(Boolean).join(": ");
    return entry;
  }
  const row = at.closest(".er-row");
  const label = data.labelOf(at) || each.field;
  const number = row ? [...row.parentElement.children].indexOf(row) + 1 : 0;
  entry.append(
    button(row ? tr("{field}, row {number}", { field: label, number }) : label, () => {
      at.closest("details")?.setAttribute("open", "");
      at.scrollIntoView({ block: "center" });
      at.querySelector("[name], .er-add")?.focus();
    }),
    document.createTextNode(` ${words}`),
  );
  return entry;
}

/** @param {Element} at @param {string} words @param {boolean} awaited */
export function markField(at, words, awaited = false) {
  const slot = [...at.children].find((child) => child.classList.contains("er-error"));
  if (!slot) return;
  slot.textContent = slot.textContent ? `${slot.textContent} ${words}` : words;
  slot.hidden = false;
  slot.classList.toggle("er-wanted", awaited);
  at.hidden = false; // a mistake is shown even where the field does not matter just now
  at.closest("details")?.setAttribute("open", "");
  if (at.matches(".er-field") && !awaited) data.control(at).setAttribute("aria-invalid", "true");
}

/** @param {any} error of a reply @returns {HTMLElement} an answer that says that nothing fits */
export function impossibleAnswer(error) {
  const answer = element("div", "er-answer er-impossible");
  const head = element("div", "er-headline");
  head.append(
    element("p", "er-headline-label", tr("Nothing fits as it stands")),
    element("p", "er-verdict", asSentence(error.message)),
  );
  answer.append(head);
  if (error.changes?.length) {
    answer.append(element("h3", "", tr("What would make it work")));
    const list = element("ul", "er-changes");
    for (const change of error.changes) list.append(element("li", "", asSentence(change)));
    answer.append(list);
  }
  return answer;
}

/** @param {any} error of a reply @returns {HTMLElement} a box that says that the fault is ours */
export function faultBox(error) {
  const box = element("div", "er-problem");
  box.append(
    element(
      "p",
      "er-problem-title",
      tr("Evenrow could not work this out. That is a fault in Evenrow, not in what you typed."),
    ),
    element("p", "", asSentence(error.message)),
  );
  const more = element("details", "");
  more.append(element("summary", "", tr("Details for a report")), element("pre", "", error.detail ?? ""));
  box.append(more);
  return box;
}

/** @param {string} [text] @returns {string} with a capital and a full stop */
function asSentence(text) {
  if (!text) return "";
  const started = text[0].toUpperCase() + text.slice(1);
  return /[.!?…]$/.test(started) ? started : `${started}.`;
}

/** @param {any} error @returns {string} all of an error in plain sentences */
function sentence(error) {
  const given = error.given ? tr("You typed “{given}”.", error) : "";
  const accepted = error.accepted ? asSentence(tr("Accepted: {accepted}", error)) : "";
  const hint = error.hint ? asSentence(tr("Try: {hint}", error)) : "";
  return [asSentence(error.message), given, accepted, hint].filter(Boolean).join(" ");
}
