// Texts in an answer that people take along, an order or a table: copied, or kept as a file.

import { button, element } from "./notice-bar.js";
import { tr } from "./texts.js";

/** Spreadsheets read a file without this mark in an old character set. */
const UTF8_MARK = "\ufeff";
/** Kinds of file that an answer may hold; anything else is kept as plain text. */
const KINDS = ["text/plain", "text/csv"];

/**
 * A file name that stays inside the folder where it is saved.
 * @param {string | undefined} name
 * @returns {string}
 */
export function safeName(name) {
  const plain = (name ?? "").replace(/[^A-Za-z0-9._-]+/g, "-").replace(/^[.-]+/, "");
  return plain.slice(0, 60) || "list.txt";
}

/**
 * What goes into the file.
 * @param {string} text
 * @param {string | undefined} mediaType
 * @returns {{parts: string[], type: string}}
 */
export function fileOf(text, mediaType) {
  const type = KINDS.includes(mediaType ?? "") ? mediaType : "text/plain";
  // A page's text has bare line ends; lines of a table end with both, as RFC 4180 has it.
  const body = type === "text/csv" ? UTF8_MARK + text.replace(/\r?\n/g, "\r\n") : text;
  return { parts: [body], type: `${type};charset=utf-8` };
}

/**
 * Put a text on the clipboard; where the browser refuses, select it to be copied by hand.
 * @param {Element} from holds the text
 * @param {Element} said where to say what happened
 */
export async function copyText(from, said) {
  try {
    await navigator.clipboard.writeText(from.textContent);
    said.textContent = tr("Copied.");
  } catch {
    getSelection()?.selectAllChildren(from);
    from.focus();
    said.textContent = tr("Marked: copy it by hand.");
  }
}

/** @param {HTMLElement} place @param {Element} from @param {Element} said */
function save(place, from, said) {
  const { parts, type } = fileOf(from.textContent, place.dataset.mediaType);
  const link = element("a", "");
  link.href = URL.createObjectURL(new Blob(parts, { type }));
  link.download = safeName(place.dataset.filename);
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  said.textContent = tr("Saved as {file}.", { file: link.download });
}

/**
 * Give one text its buttons.
 * @param {HTMLElement} place
 */
export function dress(place) {
  const text = place.querySelector("pre");
  const title = place.querySelector("summary")?.textContent ?? "";
  if (!text) return;
  place.dataset.ready = "yes";
  const said = element("span", "er-document-said");
  said.setAttribute("role", "status");
  const copy = button(tr("Copy"), () => copyText(text, said));
  copy.setAttribute("aria-label", `${tr("Copy")}: ${title}`);
  const download = button(tr("Download"), () => save(place, text, said));
  download.setAttribute("aria-label", `${tr("Download")}: ${title}`);
  const bar = element("div", "er-document-bar");
  bar.append(copy, download, said);
  text.before(bar);
}

/**
 * Give the texts of an answer their buttons, now and whenever the answer is replaced.
 * @param {import("./calc-form.js").CalcForm} calc
 */
export function mountDocuments(calc) {
  const mount = () => {
    for (const place of calc.result.querySelectorAll(".er-document:not([data-ready])")) dress(place);
  };
  calc.addEventListener("phase", mount);
  mount();
}
