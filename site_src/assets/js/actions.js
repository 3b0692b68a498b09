// What can be done with a whole design: share it as a link, keep it as a file, open one, start over.

import { marked, otherCatalogue } from "./catalogue-mark.js";
import { DroppedError } from "./core-client.js";
import { FileProblem, readDesign, saveDesign } from "./design-files.js";
import { sheetButtons } from "./field-sheet.js";
import { isPristine } from "./form-data.js";
import { button, element, showBar } from "./notice-bar.js";
import { encode, LinkError } from "./share.js";
import * as state from "./state.js";
import { tr } from "./texts.js";

/** @param {import("./calc-form.js").CalcForm} calc @param {HTMLElement} place */
export function mountActions(calc, place) {
  const output = element("div", "er-share-output");
  output.setAttribute("aria-live", "polite");
  const file = element("input", "");
  file.type = "file";
  file.accept = ".toml,.json,text/plain,application/toml";
  file.hidden = true;
  file.setAttribute("aria-label", tr("Open a design file"));
  file.addEventListener("change", async () => {
    const [chosen] = file.files;
    file.value = "";
    if (chosen) await openFile(calc, chosen);
  });
  const share = button(tr("Copy link"), () => copyLink(calc, output));
  share.classList.add("er-primary", "er-share");
  const save = button(tr("Save file"), () => saveFile(calc));
  save.classList.add("er-save");
  const open = button(tr("Open file"), () => file.click());
  const print = button(tr("Print"), () => window.print());
  const reset = button(tr("Start over"), () => replace(calc, () => calc.reset(), tr("Back to the start.")));
  reset.classList.add("er-reset");
  place.append(share, save, open, print, ...sheetButtons(calc), reset, file, output);

  // The two that are wanted most, also where the answer begins.
  const top = element("div", "er-quick");
  const topOutput = element("div", "er-share-output");
  topOutput.setAttribute("aria-live", "polite");
  top.append(
    button(tr("Copy link"), () => copyLink(calc, topOutput)),
    button(tr("Print"), () => window.print()),
    ...sheetButtons(calc),
    topOutput,
  );
  calc.keepBelowHeadline(top);
}

/**
 * Replace what stands in the form, with a way back.
 * @param {import("./calc-form.js").CalcForm} calc
 * @param {() => void} action
 * @param {string} text
 */
export function replace(calc, action, text) {
  const before = calc.read();
  const worthKeeping = !isPristine(calc.form);
  if (worthKeeping) state.save(calc.id, "before", before);
  try {
    action();
  } catch (error) {
    console.info("The form could not be filled.", String(error));
    const back = () => calc.fill(before);
    showBar(calc.root, "replaced", tr("Not all of this could be filled in."), [[tr("Put back what I had"), back]]);
    return;
  }
  const same = JSON.stringify(before) === JSON.stringify(calc.read());
  showBar(calc.root, "replaced", text, same ? [] : [[tr("Put back what I had"), () => calc.fill(before)]]);
}

/** @param {import("./calc-form.js").CalcForm} calc @param {HTMLElement} output */
async function copyLink(calc, output) {
  let fragment;
  try {
    fragment = await encode(marked(calc.read()));
  } catch (error) {
    const text = error instanceof LinkError ? error.message : tr("The link could not be made.");
    output.replaceChildren(element("p", "er-error", text));
    return;
  }
  const link = `${location.origin}${location.pathname}#${fragment}`;
  const box = element("input", "er-link");
  box.readOnly = true;
  box.value = link;
  box.setAttribute("aria-label", tr("Link to this design"));
  const said = element("p", "");
  output.replaceChildren(said, box);
  try {
    await navigator.clipboard.writeText(link);
    said.textContent = tr("Link copied. It holds everything typed here; nothing is stored on a server.");
  } catch {
    said.textContent = tr("Copy this link by hand; it holds everything typed here.");
    box.focus();
    box.select();
  }
}

/** @param {import("./calc-form.js").CalcForm} calc */
async function saveFile(calc) {
  const asked = calc.read();
  try {
    await saveDesign(marked(asked), asked.name || calc.id, "toml");
  } catch (error) {
    if (!(error instanceof DroppedError)) {
      showBar(calc.root, "file", tr("The file could not be saved: {why}", { why: error.message }));
    }
  }
}

/** @param {import("./calc-form.js").CalcForm} calc @param {File} chosen */
async function openFile(calc, chosen) {
  try {
    openDocument(calc, await readDesign(chosen), tr("{file} is open.", { file: chosen.name }));
  } catch (error) {
    if (error instanceof DroppedError) return;
    const unread = tr("{file} could not be read: {why}", { file: chosen.name, why: error.message });
    const text = error instanceof FileProblem ? error.message : unread;
    showBar(calc.root, "file", text);
  }
}

/** @param {any} source @returns {string} id of the calculator that a document is for */
export const calculatorOf = ({ calculator = "whole-field" }) =>
  typeof calculator === "string" ? calculator : "?";

/**
 * @param {import("./calc-form.js").CalcForm} calc
 * @param {any} source
 * @param {string} text
 */
function openDocument(calc, source, text) {
  if (calculatorOf(source) !== calc.id) {
    showBar(calc.root, "file", tr("This file is for the page “{page}”; open it there.", { page: calculatorOf(source) }));
    return;
  }
  let unknown = [];
  const other = otherCatalogue(source);
  replace(calc, () => (unknown = calc.fill(source)), other ? `${text} ${other}` : text);
  tellUnknown(calc, unknown);
}

/** @param {import("./calc-form.js").CalcForm} calc @param {string[]} unknown */
export function tellUnknown(calc, unknown) {
  if (!unknown.length) return;
  const names = unknown.slice(0, 5).map((name) => name.slice(0, 60)).join(", ");
  showBar(calc.root, "unknown", tr("Left out, because this page does not know them: {names}.", { names }));
}
