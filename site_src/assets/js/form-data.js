// What stands in a form <-> document.  Knows the markup that html_form.py writes; knows
// nothing of storage, links or Python.  Python alone decides what is acceptable.

import { tr } from "./texts.js";

/** @typedef {"us" | "metric"} UnitSystem */

/** A number as people type it, without any unit: digits, separators, fractions, sign. */
const BARE = /^[\d\s.,+\-−/½¼¾⅓⅔⅛eE]+$/u;
const NUMBER_AND_UNIT = /^\s*([-+−]?\d(?:[\d.,\s]*\d)?)\s*([^\d.,\s].*)$/su;

const LONGEST = 40_200;
/** Rows that the first press adds to an empty table: a curve of one point says nothing. */
const FIRST_ROWS = 2;

/** @param {Element} field @returns {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement} */
export const control = (field) => field.querySelector(".er-control [name]");
/** @param {Element} field @returns {HTMLSelectElement | null} */
const chooser = (field) => field.querySelector(".er-unit");
/** @param {Element} root fields that stand in no table */
const plainFields = (root) =>
  [...root.querySelectorAll(".er-field")].filter((field) => !field.closest(".er-table"));
/** @param {Element} root @returns {HTMLElement[]} */
const tables = (root) => [...root.querySelectorAll(".er-table")];
/** @param {Element} table */
export const rowsOf = (table) => [...table.querySelectorAll(":scope > .er-rows > .er-row")];
/** @param {Element} row */
export const fieldsOf = (row) => [...row.querySelectorAll(".er-field")];
/** Whether a box can show a value. @param {unknown} value */
const isPlain = (value) => ["string", "number", "boolean"].includes(typeof value);
/** @param {Element} field column name of a field in a row */
const column = (field) => field.dataset.field.split(".").pop();

/** Whether the box holds a unit of its own, so that the chooser beside it does not count. */
export function hasOwnUnit(field) {
  const text = control(field).value.trim();
  return text !== "" && !BARE.test(text);
}

/**
 * What a field holds, as a design file writes it.
 * @param {Element} field
 * @returns {string}
 */
export function readField(field) {
  const box = control(field);
  if (box.type === "checkbox") return box.checked ? "yes" : "no";
  // A pasted megabyte is cut, but stays longer than any text may be, so Python refuses it by name.
  const text = box.value.slice(0, LONGEST).trim();
  const unit = chooser(field);
  if (!unit || text === "" || hasOwnUnit(field)) return text;
  return `${text} ${unit.value}`.trim();
}

/**
 * @param {Element} field
 * @param {unknown} value
 * @param {UnitSystem} system shown by the chooser when the value names no unit it offers; for a
 *   number without any unit the chooser stays empty, because nobody chose one
 */
export function writeField(field, value, system) {
  const box = control(field);
  const text = isPlain(value) ? String(value) : "";
  if (box.type === "checkbox") {
    box.checked = value === true || /^(yes|true)$/i.test(text);
    return;
  }
  const unit = chooser(field);
  if (!unit) {
    if (box.tagName === "SELECT" && ![...box.options].some((option) => option.value === text)) {
      // A choice that this page does not know stays visible, so that Python can refuse it by name.
      const option = new Option(text.slice(0, 60) || "choose…", text);
      box.add(option);
    }
    box.value = text;
    return;
  }
  const found = NUMBER_AND_UNIT.exec(text);
  const offered = found && [...unit.options].some((option) => option.value === found[2].trim());
  box.value = offered ? found[1] : text.trim();
  const bare = text.trim() !== "" && BARE.test(text);
  const usual = bare ? "" : field.dataset[system === "us" ? "unitUs" : "unitMetric"];
  unit.value = offered ? found[2].trim() : usual;
  markUnit(field);
}

/** Show whether the chooser counts. */
export function markUnit(field) {
  const unit = chooser(field);
  if (unit) unit.disabled = hasOwnUnit(field);
}

/**
 * @param {Element} table
 * @param {Record<string, unknown>[]} rows
 * @param {UnitSystem} system
 */
export function writeTable(table, rows, system) {
  const most = Number(table.dataset.most);
  table.querySelector(":scope > .er-rows").replaceChildren();
  for (const values of rows.slice(0, most)) addRow(table, values, system);
  labelAdd(table);
}

/** Say on the button what it adds. @param {Element} table */
function labelAdd(table) {
  table.querySelector(":scope > .er-add").textContent = rowsOf(table).length
    ? tr("Add another")
    : tr("Add the first entry");
}

/**
 * Add an empty row, or the first rows of a table that may stay empty.
 * @param {Element} table
 * @param {UnitSystem} system
 * @returns {Element | null} the first new row, or null when the table is full
 */
export function addEmpty(table, system) {
  const first = !rowsOf(table).length && table.dataset.fewest === "0";
  const row = addRow(table, null, system);
  for (let more = 1; first && more < FIRST_ROWS; more++) addRow(table, null, system);
  labelAdd(table);
  return row;
}

/**
 * @param {Element} table
 * @param {Record<string, unknown> | null} values null: an empty row with the units of the last one
 * @param {UnitSystem} system
 * @returns {Element | null} the new row, or null when the table is full
 */
function addRow(table, values, system) {
  const rows = rowsOf(table);
  if (rows.length >= Number(table.dataset.most)) return null;
  const template = table.querySelector(":scope > .er-row-template");
  const html = template.innerHTML
    .replaceAll("__row__", String(rows.length))
    .replaceAll("__number__", String(rows.length + 1));
  // The template is our own page's markup; values are set below, never as markup.
  const holder = document.createElement("template");
  holder.innerHTML = html;
  const row = holder.content.firstElementChild;
  for (const element of row.querySelectorAll(".er-js")) element.hidden = false;
  fieldsOf(row).forEach((field, index) => {
    if (values) {
      writeField(field, Object.hasOwn(values, column(field)) ? values[column(field)] : "", system);
      return;
    }
    writeField(field, "", system);
    const last = rows.length && chooser(fieldsOf(rows.at(-1))[index]);
    if (last?.value) chooser(field).value = last.value;
  });
  table.querySelector(":scope > .er-rows").append(row);
  return row;
}

/** @param {Element} table @param {Element} row @param {UnitSystem} system */
export function removeRow(table, row, system) {
  const kept = rowsOf(table).filter((each) => each !== row);
  const values = kept.map((each) =>
    Object.fromEntries(fieldsOf(each).map((field) => [column(field), readField(field)])),
  );
  // Written anew, because names and ids count from zero without a gap.
  writeTable(table, values, system);
}

/** @param {Element} table @returns {{values: Record<string, string>, index: number}[]} */
function filledRows(table) {
  return rowsOf(table)
    .map((row, index) => {
      const entries = fieldsOf(row).map((field) => [column(field), readField(field)]);
      return { values: Object.fromEntries(entries.filter(([, text]) => text !== "")), index };
    })
    .filter(({ values }) => Object.values(values).some((text) => text !== "no"));
}

/** @param {Record<string, any>} target @param {string} path @param {unknown} value */
export function put(target, path, value) {
  const parts = path.split(".");
  const last = parts.pop();
  for (const part of parts) target = target[part] ??= {};
  target[last] = value;
}

/** @param {any} source @param {string} path */
export function get(source, path) {
  for (const part of path.split(".")) {
    if (typeof source !== "object" || source === null || !Object.hasOwn(source, part)) {
      return undefined;
    }
    source = source[part];
  }
  return source;
}

/**
 * @param {HTMLFormElement} form
 * @returns {Record<string, any>} document; empty fields and empty rows are left out
 */
export function readDocument(form) {
  const result = { evenrow: 1, calculator: form.dataset.calculator, units: form.dataset.units };
  for (const field of plainFields(form)) {
    const text = readField(field);
    if (text !== "") put(result, field.dataset.field, text);
  }
  for (const table of tables(form)) {
    put(result, table.dataset.table, filledRows(table).map(({ values }) => values));
  }
  return result;
}

/** @param {any} value @param {string} prefix @returns {string[]} dotted names of all leaves */
function leaves(value, prefix = "") {
  if (typeof value !== "object" || value === null || Array.isArray(value)) return [prefix];
  return Object.keys(value).flatMap((key) => leaves(value[key], prefix ? `${prefix}.${key}` : key));
}

/** @param {unknown} rows what stands for a table @param {string} name @returns {string[]} */
function unusableRows(rows, name) {
  if (rows === undefined) return [];
  if (!Array.isArray(rows)) return [name];
  return rows.flatMap((row, index) =>
    isRow(row)
      ? Object.keys(row).filter((key) => !isPlain(row[key])).map((key) => `${name}.${index}.${key}`)
      : [`${name}.${index}`],
  );
}

/** @param {unknown} row */
const isRow = (row) => typeof row === "object" && row !== null && !Array.isArray(row);

/**
 * Fill the form from a document.
 * @param {HTMLFormElement} form
 * @param {Record<string, any>} source
 * @returns {string[]} names that this form does not know, or that hold what no box can show
 */
export function writeDocument(form, source) {
  const system = source.units === "us" ? "us" : "metric";
  showSystem(form, system);
  const known = new Set(["evenrow", "calculator", "units", "catalogue"]);
  /** @type {string[]} */
  const unusable = [];
  for (const field of plainFields(form)) {
    known.add(field.dataset.field);
    const value = get(source, field.dataset.field);
    if (value !== undefined && !isPlain(value)) unusable.push(field.dataset.field);
    // What a document may leave out means its default, so that is what the box shows.
    const assumed = value === undefined && field.dataset.assumed;
    writeField(field, assumed ? startText(field, system) : value, system);
  }
  for (const table of tables(form)) {
    known.add(table.dataset.table);
    const rows = get(source, table.dataset.table);
    unusable.push(...unusableRows(rows, table.dataset.table));
    writeTable(table, Array.isArray(rows) ? rows.filter(isRow) : [], system);
  }
  showRelevant(form);
  return [...unusable, ...leaves(source).filter((name) => !known.has(name))];
}

/** Hide what does not matter for the choices made; its values stay. @param {HTMLFormElement} form */
export function showRelevant(form) {
  for (const each of form.querySelectorAll("[data-only-for]")) {
    const choice = findField(form, each.dataset.onlyFor);
    each.hidden = !each.dataset.onlyValues.split(" ").includes(readField(choice));
  }
}

/** @param {HTMLFormElement} form @param {UnitSystem} system */
function showSystem(form, system) {
  form.dataset.units = system;
  for (const radio of form.querySelectorAll('input[name="er-units"]')) {
    radio.checked = radio.value === system;
  }
}

/** @param {Element} table @param {UnitSystem} system */
const startRows = (table, system) =>
  JSON.parse(table.dataset[system === "us" ? "rowsUs" : "rowsMetric"]);
/** @param {Element} field @param {UnitSystem} system */
const startText = (field, system) =>
  field.dataset[system === "us" ? "defaultUs" : "defaultMetric"];

/** Put every field to what stands in it at first. */
export function writeDefaults(form, system) {
  showSystem(form, system);
  for (const field of plainFields(form)) writeField(field, startText(field, system), system);
  for (const table of tables(form)) writeTable(table, startRows(table, system), system);
  showRelevant(form);
}

/** Whether a field or table still holds what stood in it at first. */
export function isUntouched(element, system) {
  if (!element.matches(".er-table")) {
    const text = readField(element);
    // A number alone takes the chooser's unit; a flag left empty means no.
    return text === startText(element, system) || (text === "no" && !startText(element, system));
  }
  const now = filledRows(element).map(({ values }) => values);
  const start = startRows(element, system);
  return (
    now.length === start.length &&
    start.every((row, index) =>
      Object.entries(row).every(([key, text]) => (now[index][key] ?? "") === String(text)),
    )
  );
}

/** Whether everything still stands as at first. */
export function isPristine(form) {
  const system = form.dataset.units;
  return [...plainFields(form), ...tables(form)].every((element) => isUntouched(element, system));
}

/**
 * Show answers in other units. What stands in the fields stays, each value with its own unit;
 * only where nothing was typed yet does the chooser follow.
 * @param {HTMLFormElement} form
 * @param {UnitSystem} system
 */
export function changeSystem(form, system) {
  const [from, to] = system === "us" ? ["unitMetric", "unitUs"] : ["unitUs", "unitMetric"];
  for (const field of form.querySelectorAll(".er-field")) {
    const unit = chooser(field);
    if (!unit || control(field).value.trim() !== "") continue;
    if (unit.value === field.dataset[from]) unit.value = field.dataset[to];
  }
  showSystem(form, system);
}

/** Whether nothing stands in a field or a table. @param {Element} element */
export function isEmpty(element) {
  return element.matches(".er-table") ? !filledRows(element).length : readField(element) === "";
}

/** The words of a field or a table. @param {Element} at @returns {string} */
export function labelOf(at) {
  return at.querySelector("label, .er-table-label")?.firstChild?.textContent?.trim() ?? "";
}

/** What a field holds, as people read it. @param {Element} field @returns {string} */
export function shownText(field) {
  const box = control(field);
  if (box instanceof HTMLSelectElement) return box.value && (box.selectedOptions[0]?.text ?? "");
  if (box.type === "checkbox") return box.checked ? tr("yes") : tr("no");
  return readField(field);
}

/**
 * Find the field that an error names; rows count as in the document, where empty rows are left out.
 * @param {HTMLFormElement} form
 * @param {string} path
 * @returns {Element | null} an .er-field or .er-table
 */
export function findField(form, path) {
  for (const table of tables(form)) {
    const name = table.dataset.table;
    if (path === name) return table;
    if (!path.startsWith(`${name}.`)) continue;
    const [row, ...rest] = path.slice(name.length + 1).split(".");
    const filled = filledRows(table)[Number(row)];
    const fields = filled ? fieldsOf(rowsOf(table)[filled.index]) : [];
    return fields.find((field) => column(field) === rest.join(".")) ?? table;
  }
  return plainFields(form).find((field) => field.dataset.field === path) ?? null;
}
