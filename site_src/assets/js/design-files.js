// Design files: read what somebody chose, trust nothing in it; write a design as a file.

import { core } from "./core-client.js";
import { element } from "./notice-bar.js";
import { checked, checkHead } from "./share.js";
import { tr } from "./texts.js";

/** Longest design file, as in documents.py. [bytes] */
export const MAX_FILE = 256 * 1024;
const KINDS = { toml: "application/toml", json: "application/json" };

/** Why a file cannot be used, in words for people. */
export class FileProblem extends Error {}

/**
 * A file name that a design's name makes; "" when nothing of it is left.
 * @param {string | undefined} name
 * @returns {string}
 */
export function fileName(name) {
  return (name ?? "")
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]+/gu, "-")
    .replace(/^-+|-+$/g, "")
    .slice(0, 60);
}

/** @param {File} file @param {string} why @returns {string} */
export const unusable = (file, why) => tr("{file} cannot be used: {why}.", { file: file.name, why });

/**
 * Read a design file, TOML or JSON.
 * @param {File} file
 * @returns {Promise<Record<string, any>>} the document, checked
 */
export async function readDesign(file) {
  if (file.size > MAX_FILE) throw new FileProblem(tr("{file} is too long to be a design file.", { file: file.name }));
  /** @type {string} */
  let text;
  try {
    const bytes = await file.arrayBuffer();
    text = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch (error) {
    const why = error instanceof TypeError ? tr("it is not text in UTF-8") : tr("this browser cannot read it");
    throw new FileProblem(unusable(file, why));
  }
  const reply = await core.ask("file", { v: 1, op: "from-toml", text });
  if (!reply.ok) throw new FileProblem(unusable(file, reply.error.message));
  const source = checked(reply.document);
  checkHead(source);
  return source;
}

/**
 * Hand a text to the browser as a file to keep.
 * @param {string} name with its ending
 * @param {string} text
 * @param {string} type
 */
function download(name, text, type) {
  const link = element("a", "");
  link.href = URL.createObjectURL(new Blob([text], { type }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

/**
 * Save a design as a file.
 * @param {Record<string, any>} document
 * @param {string} name of the design
 * @param {"toml" | "json"} kind
 * @returns {Promise<string>} name of the file
 */
export async function saveDesign(document, name, kind) {
  let text = `${JSON.stringify(document, null, 2)}\n`;
  if (kind === "toml") {
    const reply = await core.ask("file", { v: 1, op: "to-toml", document });
    if (!reply.ok) throw new Error(reply.error.message);
    text = reply.text;
  }
  const whole = `${fileName(name) || document.calculator || "design"}.${kind}`;
  download(whole, text, KINDS[kind]);
  return whole;
}
