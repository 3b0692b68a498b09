// Values that go from one calculator's answer into another's form.

import { replace } from "./actions.js";
import * as data from "./form-data.js";
import { showBar } from "./notice-bar.js";
import { checked } from "./share.js";
import * as state from "./state.js";
import { HOME, tr } from "./texts.js";

const MOST_NAMED = 6;
/** Values that were not fetched within this time are old: nobody waits for them. */
const FRESH_MS = 60_000;

/** @param {string} id */
const keyOf = (id) => `carried:${id}`;

/**
 * What a link takes along.
 * @param {Record<string, any>} values of the answer by field of the other: a text, or rows
 * @param {Record<string, string>} inputs field of the other by field of this one
 * @param {Record<string, any>} source what stands in this form
 * @returns {[string, any][]} field of the other and what it gets, "" for what is empty here
 */
export function taken(values, inputs, source) {
  const typed = Object.entries(inputs).map(([from, to]) => [to, data.get(source, from) ?? ""]);
  return [...typed, ...Object.entries(values)];
}

/**
 * A row that a link adds to a table there, such as a check to a log.
 * @param {{row: Record<string, string>, inputs: Record<string, string>, dated: string}} added column
 *   by text of the answer, by field of this form, and the one that has today's date if nothing else
 * @param {Record<string, any>} source what stands in this form
 * @param {Date} today
 */
export function addedRow({ row, inputs, dated }, source, today) {
  const found = { ...row };
  for (const [from, column] of Object.entries(inputs)) {
    const text = data.get(source, from);
    if (text) found[column] = text;
  }
  if (dated && !found[dated]) found[dated] = isoDay(today);
  return found;
}

/** @param {Date} day of the place where the device is */
function isoDay(day) {
  const [year, month, date] = [day.getFullYear(), day.getMonth() + 1, day.getDate()];
  return `${year}-${String(month).padStart(2, "0")}-${String(date).padStart(2, "0")}`;
}

/**
 * A table with a row more, or as it is where that row is there already.
 * @param {Record<string, any>[]} old
 * @param {Record<string, any>} row
 */
export function withRow(old, row) {
  const there = old.some((each) => Object.entries(row).every(([key, text]) => each[key] === text));
  return there ? old : [...old, row];
}

/**
 * A table that comes over a table that is there: rows of the same crop keep what the other
 * calculator does not ask for.  Rows without a crop are not known to be the same.
 * @param {Record<string, any>[]} old
 * @param {Record<string, any>[]} rows
 */
export function joined(old, rows) {
  return rows.map((row, index) =>
    row.crop && old[index]?.crop === row.crop ? { ...old[index], ...row } : row,
  );
}

/**
 * Put what came into what stands in a form.
 * @param {HTMLFormElement} form
 * @param {Record<string, any>} own
 * @param {[string, any, boolean?][]} values the third tells that it is a row to add
 * @returns {{document: Record<string, any>, labels: string[]}} labels of the fields that changed
 */
function merged(form, own, values) {
  const document = structuredClone(own);
  const labels = [];
  for (const [name, value, added] of values) {
    const at = data.findField(form, name);
    const before = data.get(own, name);
    const isTable = at?.matches(".er-table");
    if (added) {
      if (!isTable || !value) continue;
      // What stands there at first is invented: nothing true is added to it.
      const old = data.isUntouched(at, form.dataset.units) ? [] : (before ?? []);
      const wanted = withRow(old, value);
      if (wanted === before) continue;
      data.put(document, name, wanted);
      labels.push(data.labelOf(at).split(",")[0]);
      continue;
    }
    if (!at || isTable !== Array.isArray(value || (isTable ? [] : ""))) continue;
    if (!isTable && !fits(at, value)) continue;
    const wanted = isTable ? joined(before ?? [], value || []) : value;
    if (JSON.stringify(wanted || "") === JSON.stringify(before ?? "")) continue;
    if (isTable && !wanted.length && !before?.length) continue;
    data.put(document, name, wanted);
    labels.push(data.labelOf(at).split(",")[0]);
  }
  return { document, labels };
}

/** Whether a field can take a text: a choice must offer it, an empty one must be allowed. */
function fits(field, value) {
  if (value === "") return field.querySelector(":scope > label > .er-optional") !== null;
  const box = data.control(field);
  return box.tagName !== "SELECT" || [...box.options].some((option) => option.value === value);
}

/** @param {string[]} labels */
function listed(labels) {
  const some = labels.slice(0, MOST_NAMED).join(", ");
  return labels.length > MOST_NAMED ? tr("{some} and {count} more", { some, count: labels.length - MOST_NAMED }) : some;
}

/** Let the links under an answer take its values along. @param {import("./calc-form.js").CalcForm} calc */
export function mountCarry(calc) {
  calc.result.addEventListener("click", (event) => {
    const link = event.target instanceof Element && event.target.closest("a.er-carry");
    if (!link || event.button || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    if (calc.root.classList.contains("er-stale")) {
      showBar(calc.root, "carry", tr("This answer is for earlier values: nothing was taken along. Try again when it is worked out."));
      return;
    }
    const own = calc.read();
    const values = taken(JSON.parse(link.dataset.values), JSON.parse(link.dataset.inputs), own).map(
      ([name, value]) => ({ name, value }),
    );
    for (const [name, added] of Object.entries(JSON.parse(link.dataset.adds ?? "{}"))) {
      values.push({ name, value: addedRow(added, own, new Date()), added: true });
    }
    const from = document.querySelector("h1")?.textContent.trim() ?? calc.id;
    const text = JSON.stringify({ at: Date.now(), from, document: { values } });
    if (!state.rememberHere(keyOf(link.dataset.to), text)) {
      showBar(calc.root, "carry", tr("This browser keeps nothing for this site, so that no value can be taken along."));
      return;
    }
    location.assign(new URL(`${link.dataset.to}/`, HOME));
  });
}

/**
 * Fill in what another page handed on, and say so.
 * @param {import("./calc-form.js").CalcForm} calc
 */
export function takeCarried(calc) {
  const text = state.takeHere(keyOf(calc.id));
  if (!text) return;
  let from = "";
  /** @type {[string, any, boolean][]} */
  let values = [];
  try {
    const whole = JSON.parse(text);
    if (!(Date.now() - whole.at < FRESH_MS)) return;
    from = String(whole.from).slice(0, 60);
    values = checked(whole.document).values.map(({ name, value, added }) => [String(name), value, added === true]);
  } catch (error) {
    console.info("Nothing was taken over.", String(error));
    return;
  }
  const { document, labels } = merged(calc.form, calc.read(), values);
  if (!labels.length) {
    showBar(calc.root, "carry", tr("Everything that comes from {page} stood here already.", { page: from }));
    return;
  }
  const told = tr("Filled in from {page}: {fields}. Everything else is as it was here.", {
    page: from,
    fields: listed(labels),
  });
  replace(calc, () => calc.fill(document), told);
}
