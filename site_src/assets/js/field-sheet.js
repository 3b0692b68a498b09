// The field sheet: asked of Python, looked at on the screen, printed from there.
//
// It stands in a tree of its own, so that neither the page's styles nor the sheet's touch the other.

import { marked } from "./catalogue-mark.js";
import { core, DroppedError } from "./core-client.js";
import { button, element, showBar } from "./notice-bar.js";
import { encode } from "./share.js";
import { LOCALE, tr } from "./texts.js";

/** The calculator whose designs have a sheet. */
const WHOLE_FIELD = "whole-field";
const OPEN = "er-sheet-open";
/** Width of a side and of some air beside it. [mm] */
const ROOM = 198;
const PIXELS_PER_MM = 96 / 25.4;

/**
 * What is asked of Python for a sheet.
 * @param {object} source the document
 * @param {string} address of the page, without a fragment
 * @param {Date} day
 * @returns {Promise<object>}
 */
export async function sheetRequest(source, address, day) {
  // A design that is too long for a link has a sheet all the same, without a code.
  const fragment = await encode(marked(source)).catch(() => "");
  const date = day.toLocaleDateString(LOCALE, { dateStyle: "long" });
  const link = fragment && /^https?:/.test(address) ? `${address}#${fragment}` : "";
  return { v: 1, op: "sheet", document: source, link, date };
}

/** How much smaller a side is shown, so that it fits. @param {number} width of the window [px] */
export const fitted = (width) => Math.min(1, width / (ROOM * PIXELS_PER_MM));

/** What went wrong, and what would work. @param {{message: string, changes: string[]}} error */
export const refusal = ({ message, changes }) =>
  [
    tr("There is no sheet of this: {why}.", { why: message }),
    ...changes.map((change) => tr("What would work: {change}.", { change })),
  ].join(" ");

/**
 * The button that makes the sheet, for a calculator that has one.
 * @param {import("./calc-form.js").CalcForm} calc
 * @returns {HTMLElement[]} the button, or none
 */
export function sheetButtons(calc) {
  if (calc.id !== WHOLE_FIELD) return [];
  const made = button(tr("Field sheet"), () => makeSheet(calc, made));
  made.classList.add("er-sheet-button");
  return [made];
}

/** @param {import("./calc-form.js").CalcForm} calc @param {HTMLElement} asked */
async function makeSheet(calc, asked) {
  if (asked.getAttribute("aria-busy")) return;
  asked.setAttribute("aria-busy", "true");
  asked.textContent = tr("Making the sheet …");
  try {
    const request = await sheetRequest(calc.read(), `${location.origin}${location.pathname}`, new Date());
    const reply = await core.ask("sheet", request);
    if (reply.ok) showSheet(reply, asked);
    else showBar(calc.root, "sheet", refusal(reply.error));
  } catch (error) {
    if (!(error instanceof DroppedError)) {
      showBar(calc.root, "sheet", tr("The sheet could not be made: {why}", { why: error.message }));
    }
  } finally {
    asked.removeAttribute("aria-busy");
    asked.textContent = tr("Field sheet");
  }
}

/** Show paper, to look at and to print. @param {{title: string, html: string, css: string}} sheet @param {HTMLElement} asked gets the focus back */
export function showSheet(sheet, asked) {
  const titleBefore = document.title;
  const scrolled = window.scrollY;
  const view = element("section", "er-sheet-view");
  view.setAttribute("aria-label", sheet.title);
  const bar = element("div", "er-sheet-bar");
  const print = button(tr("Print"), () => window.print());
  print.classList.add("er-primary");
  // Going back is also what the phone's own button does.
  bar.append(print, button(tr("Close"), () => history.back()));
  const paper = element("div", "er-sheet-paper");
  const fit = () => view.style.setProperty("--er-fit", String(fitted(document.documentElement.clientWidth)));
  const style = new CSSStyleSheet();
  style.replaceSync(sheet.css);
  const inside = paper.attachShadow({ mode: "open" });
  inside.adoptedStyleSheets = [style];
  // Python has escaped every text in it.
  inside.innerHTML = sheet.html;
  view.append(bar, paper);
  fit();

  const close = () => {
    removeEventListener("popstate", close);
    removeEventListener("keydown", leave);
    removeEventListener("resize", fit);
    view.remove();
    document.body.classList.remove(OPEN);
    document.title = titleBefore;
    window.scrollTo(0, scrolled);
    asked.focus();
  };
  /** @param {KeyboardEvent} event */
  const leave = (event) => {
    if (event.key === "Escape") history.back();
  };
  history.pushState(null, "");
  addEventListener("popstate", close);
  addEventListener("keydown", leave);
  addEventListener("resize", fit);
  document.body.classList.add(OPEN);
  document.body.append(view);
  // A file made of the print is called like the sheet.
  document.title = sheet.title;
  window.scrollTo(0, 0);
  print.focus();
}
