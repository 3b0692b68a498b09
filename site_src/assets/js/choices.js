// Rows of an answer that can be taken: their values go into a design, and its page opens with it.
//
// The way there is a link, as one that is sent: what was typed on that page before stays apart and
// safe, and the browser's Back returns here. Nothing leaves the device.

import { button, showBar } from "./notice-bar.js";
import { encode, LinkError } from "./share.js";
import { HOME, tr } from "./texts.js";

/** A name in a path: what could reach a prototype is none. */
const NAME = /^(?!(?:__proto__|constructor|prototype)$)[A-Za-z0-9_-]{1,60}$/;

/**
 * A document with some values changed; nothing else of it is.
 * @param {Record<string, any>} source
 * @param {Record<string, string>} values text by dotted name, rows counted from 0; "" empties a field
 * @param {string} calculator whose document it becomes
 * @returns {Record<string, any>}
 */
export function merged(source, values, calculator) {
  const copy = JSON.parse(JSON.stringify(source));
  copy.calculator = calculator;
  for (const [path, text] of Object.entries(values)) {
    const parts = path.split(".");
    const last = parts.pop();
    if (![...parts, last].every((part) => NAME.test(part))) continue;
    let at = copy;
    // A row that is not there cannot be changed; a group that is not there can begin.
    for (const part of parts) at = Array.isArray(at) ? at?.[Number(part)] : at && (at[part] ??= {});
    if (typeof at !== "object" || at === null) continue;
    if (text === "") delete at[last];
    else at[last] = String(text);
  }
  return copy;
}

/** @param {import("./calc-form.js").CalcForm} calc @param {HTMLElement} pressed */
async function take(calc, pressed) {
  if (calc.root.classList.contains("er-stale")) {
    const text = tr("These ways are for earlier values: wait until they are worked out anew, then take one.");
    showBar(calc.root, "take", text);
    return;
  }
  try {
    const document = merged(calc.read(), JSON.parse(pressed.dataset.values), pressed.dataset.to);
    location.assign(new URL(`${pressed.dataset.to}/#${await encode(document)}`, HOME));
  } catch (error) {
    const why = error instanceof LinkError ? error.message : tr("It could not be carried over.");
    showBar(calc.root, "take", why);
  }
}

/** @param {HTMLElement} result @param {string} id @returns {HTMLTableRowElement | undefined} */
const rowOf = (result, id) =>
  [...result.querySelectorAll("tr[data-option]")].find((row) => row.dataset.option === id);

/** @param {HTMLElement} row comes into sight, marked */
function show(row) {
  row.setAttribute("tabindex", "-1");
  row.focus({ preventScroll: true });
  row.scrollIntoView({ block: "center" });
}

/** A point of a chart was chosen: mark its row, and offer it. @param {HTMLElement} result @param {CustomEvent} event */
function pointChosen(result, event) {
  const row = rowOf(result, String(event.detail.id));
  if (!row) return;
  row.classList.add("er-chosen");
  const said = event.target.closest("figure")?.querySelector(".er-view-said");
  const takes = row.querySelector(".er-take");
  said?.append(" ", button(tr("Show in the table"), () => show(row)));
  if (takes) said?.append(" ", button(tr("Take this one"), () => takes.click()));
}

/** A row was chosen: mark it and its point. @param {HTMLElement} result @param {HTMLElement} row */
function rowChosen(result, row) {
  const point = [...result.querySelectorAll(".er-part[data-option]")].find(
    (each) => each.dataset.option === row.dataset.option,
  );
  if (point) point.dispatchEvent(new MouseEvent("click", { bubbles: true }));
}

/**
 * Let rows and points be chosen, and rows be taken.
 * @param {import("./calc-form.js").CalcForm} calc
 */
export function mountChoices(calc) {
  const { result } = calc;
  const mount = () => {
    for (const each of result.querySelectorAll(".er-take[hidden]")) {
      each.hidden = false;
      each.setAttribute("aria-label", tr("Take this one: {what}", { what: each.dataset.label }));
    }
  };
  calc.addEventListener("phase", mount);
  mount();
  result.addEventListener("er-option", (event) => pointChosen(result, event));
  result.addEventListener("click", (event) => {
    if (!(event.target instanceof Element)) return;
    const pressed = event.target.closest(".er-take");
    if (pressed) take(calc, pressed);
    else if (!event.target.closest("button, a, summary")) {
      const row = event.target.closest("tr[data-option]");
      if (row) rowChosen(result, row);
    }
  });
}
