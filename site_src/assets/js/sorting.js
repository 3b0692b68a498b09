// Tables that can be put in the order of any column: by their heads, or by a list where these are hidden.

import { button, element } from "./notice-bar.js";
import { tr } from "./texts.js";

/** A text that is a number as our tables write one. */
const NUMBER = /^[-−]?\d+(?:\.\d+)?$/;

/**
 * What a cell is sorted by.
 * @param {string | undefined} raw its full figure, where it has one
 * @param {string} text what people read
 * @returns {number | string | null} null for an empty cell
 */
export function keyOf(raw, text) {
  const shown = (raw || text).trim().replace("−", "-");
  if (!shown || shown === "–") return null;
  return raw || NUMBER.test(shown) ? Number(shown) : shown;
}

/**
 * Order of two cells; empty ones come last whichever way it goes.
 * @param {number | string | null} a @param {number | string | null} b @param {1 | -1} way
 */
export function compare(a, b, way) {
  if (a === null || b === null) return Number(a === null) - Number(b === null);
  if (typeof a === "number" && typeof b === "number") return way * (a - b);
  return way * String(a).localeCompare(String(b), "en", { numeric: true });
}

/** @param {Element} row @param {number} column */
function cellKey(row, column) {
  const cell = row.children[column];
  const figure = cell.querySelector(".er-value");
  // What explains a row stands in its first text cell, and is no part of it.
  return keyOf(figure?.dataset.value, figure ? "" : (cell.firstChild?.textContent ?? ""));
}

/** @param {HTMLTableElement} table @param {number} column @param {1 | -1} way */
function sort(table, column, way) {
  const body = table.tBodies[0];
  const rows = [...body.rows].map((row) => ({ row, key: cellKey(row, column) }));
  rows.sort((a, b) => compare(a.key, b.key, way));
  body.append(...rows.map(({ row }) => row));
  [...table.tHead.rows[0].cells].forEach((head, index) => {
    if (index === column) head.setAttribute("aria-sort", way > 0 ? "ascending" : "descending");
    else head.removeAttribute("aria-sort");
  });
}

/** @param {HTMLElement} place a table that can be sorted */
function dress(place) {
  place.dataset.sorting = "yes";
  const table = place.querySelector("table");
  const heads = [...table.tHead.rows[0].cells].filter((head) => head.textContent.trim());
  const list = element("select", "");
  list.setAttribute("aria-label", tr("Order of the table: {table}", { table: place.getAttribute("aria-label") ?? "" }));
  list.add(new Option(tr("as given"), ""));
  const first = [...table.tBodies[0].rows];
  for (const head of heads) {
    const label = head.textContent.trim();
    const column = head.cellIndex;
    const press = button(label, () => {
      sort(table, column, head.getAttribute("aria-sort") === "ascending" ? -1 : 1);
      list.value = "";
    });
    press.className = "er-sort";
    head.replaceChildren(press);
    list.add(new Option(tr("{column}, least first", { column: label }), `${column} 1`));
    list.add(new Option(tr("{column}, most first", { column: label }), `${column} -1`));
  }
  list.addEventListener("change", () => {
    const [column, way] = list.value.split(" ").map(Number);
    if (list.value) return sort(table, column, way < 0 ? -1 : 1);
    table.tBodies[0].append(...first);
    for (const head of heads) head.removeAttribute("aria-sort");
  });
  const label = element("label", "er-sort-list", `${tr("In the order of")} `);
  label.append(list);
  place.before(label);
}

/**
 * Make the tables of an answer sortable, now and whenever the answer is replaced.
 * @param {import("./calc-form.js").CalcForm} calc
 */
export function mountSorting(calc) {
  const mount = () => {
    for (const place of calc.result.querySelectorAll("[data-sortable]:not([data-sorting])")) dress(place);
  };
  calc.addEventListener("phase", mount);
  mount();
}
