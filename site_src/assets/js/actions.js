// What can be done with a whole design: share it as a link, save it, open it, start over.

import { core, DroppedError } from "./core-client.js";
import { button, element, showBar } from "./notice-bar.js";
import { checked, checkHead, encode, LinkError } from "./share.js";
import { isPristine } from "./form-data.js";
import * as state from "./state.js";

/** Longest design file, as in documents.py. [bytes] */
const MAX_FILE = 256 * 1024;

/** @param {import("./calc-form.js").CalcForm} calc @param {HTMLElement} place */
export function mountActions(calc, place) {
  const output = element("div", "er-share-output");
  output.setAttribute("aria-live", "polite");
  const file = element("input", "");
  file.type = "file";
  file.accept = ".toml,.json,text/plain,application/toml";
  file.hidden = true;
  file.setAttribute("aria-label", "Open a design file");
  file.addEventListener("change", async () => {
    const [chosen] = file.files;
    file.value = "";
    if (chosen) await openFile(calc, chosen);
  });
  const share = button("Copy link", () => copyLink(calc, output));
  share.classList.add("er-primary", "er-share");
  const save = button("Save file", () => saveFile(calc));
  save.classList.add("er-save");
  const open = button("Open file", () => file.click());
  const print = button("Print", () => window.print());
  const reset = button("Start over", () => replace(calc, () => calc.reset(), "Back to the start."));
  reset.classList.add("er-reset");
  place.append(share, save, open, print, reset, file, output);

  // The two that are wanted most, also where the answer begins.
  const top = element("div", "er-quick");
  const topOutput = element("div", "er-share-output");
  topOutput.setAttribute("aria-live", "polite");
  top.append(
    button("Copy link", () => copyLink(calc, topOutput)),
    button("Print", () => window.print()),
    topOutput,
  );
  calc.keepBelowHeadline(top);

  const examples = calc.root.querySelector(".er-example");
  examples?.addEventListener("change", () => {
    const docs = JSON.parse(calc.root.querySelector(".er-example-data").textContent);
    const name = examples.value;
    examples.value = "";
    if (Object.hasOwn(docs, name)) {
      const units = state.preferredUnits();
      replace(calc, () => calc.fill(docs[name], units), `“${name}” is filled in. Its figures are invented.`);
    }
  });
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
    showBar(calc.root, "replaced", "Not all of this could be filled in.", [["Put back what I had", back]]);
    return;
  }
  const undo = () => calc.fill(state.load(calc.id, "before") ?? before);
  showBar(calc.root, "replaced", text, worthKeeping ? [["Put back what I had", undo]] : []);
}

/** @param {import("./calc-form.js").CalcForm} calc @param {HTMLElement} output */
async function copyLink(calc, output) {
  let fragment;
  try {
    fragment = await encode(calc.read());
  } catch (error) {
    const text = error instanceof LinkError ? error.message : "The link could not be made.";
    output.replaceChildren(element("p", "er-error", text));
    return;
  }
  const link = `${location.origin}${location.pathname}#${fragment}`;
  const box = element("input", "er-link");
  box.readOnly = true;
  box.value = link;
  box.setAttribute("aria-label", "Link to this design");
  const said = element("p", "");
  output.replaceChildren(said, box);
  try {
    await navigator.clipboard.writeText(link);
    said.textContent = "Link copied. It holds everything typed here; nothing is stored on a server.";
  } catch {
    said.textContent = "Copy this link by hand; it holds everything typed here.";
    box.focus();
    box.select();
  }
}

/** @param {import("./calc-form.js").CalcForm} calc */
async function saveFile(calc) {
  const asked = calc.read();
  try {
    const reply = await core.ask("file", { v: 1, op: "to-toml", document: asked });
    if (!reply.ok) throw new Error(reply.error.message);
    const blob = new Blob([reply.text], { type: "application/toml" });
    const link = element("a", "");
    link.href = URL.createObjectURL(blob);
    link.download = `${fileName(asked.name) || calc.id}.toml`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  } catch (error) {
    if (!(error instanceof DroppedError)) {
      showBar(calc.root, "file", `The file could not be saved: ${error.message}`);
    }
  }
}

/** @param {string | undefined} name @returns {string} */
function fileName(name) {
  return (name ?? "")
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]+/gu, "-")
    .replace(/^-+|-+$/g, "")
    .slice(0, 60);
}

/** @param {import("./calc-form.js").CalcForm} calc @param {File} chosen */
async function openFile(calc, chosen) {
  if (chosen.size > MAX_FILE) {
    showBar(calc.root, "file", `${chosen.name} is too long to be a design file.`);
    return;
  }
  /** @type {string} */
  let text;
  try {
    const bytes = await chosen.arrayBuffer();
    text = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch (error) {
    const why = error instanceof TypeError ? "it is not text in UTF-8." : "this browser cannot read it.";
    showBar(calc.root, "file", `${chosen.name} cannot be used: ${why}`);
    return;
  }
  try {
    const reply = await core.ask("file", { v: 1, op: "from-toml", text });
    if (!reply.ok) {
      showBar(calc.root, "file", `${chosen.name} cannot be used: ${reply.error.message}`);
      return;
    }
    const source = checked(reply.document);
    checkHead(source);
    openDocument(calc, source, `${chosen.name} is open.`);
  } catch (error) {
    if (!(error instanceof DroppedError)) {
      showBar(calc.root, "file", `${chosen.name} could not be read: ${error.message}`);
    }
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
    showBar(calc.root, "file", `This file is for the page “${calculatorOf(source)}”; open it there.`);
    return;
  }
  let unknown = [];
  replace(calc, () => (unknown = calc.fill(source)), text);
  tellUnknown(calc, unknown);
}

/** @param {import("./calc-form.js").CalcForm} calc @param {string[]} unknown */
export function tellUnknown(calc, unknown) {
  if (!unknown.length) return;
  const names = unknown.slice(0, 5).map((name) => name.slice(0, 60)).join(", ");
  showBar(calc.root, "unknown", `Left out, because this page does not know them: ${names}.`);
}
