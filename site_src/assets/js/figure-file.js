// A drawing as a file that stands alone: SVG with its styles inside, PNG at twice the size.

import { element } from "./notice-bar.js";
import { tr } from "./texts.js";

const WIDTH = 960;
const MARGIN = 16;
/** Canvases larger than this fail on phones. */
const CANVAS_MOST = 4096;

/**
 * Put values in the place of the page's variables.
 * @param {string} css
 * @param {(name: string) => string} valueOf
 */
export function resolved(css, valueOf) {
  let text = css;
  // A value may itself be a variable, but not without end.
  for (let round = 0; round < 5 && text.includes("var("); round += 1) {
    text = text.replace(/var\(\s*(--[\w-]+)\s*(?:,([^()]*))?\)/g, (_, name, otherwise) =>
      valueOf(name).trim() || (otherwise ?? "").trim() || "currentColor",
    );
  }
  return text;
}

/** @param {string} title @param {string} ending */
export function fileName(title, ending) {
  const plain = title
    .normalize("NFKD")
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-")
    .replace(/^-+|-+$/g, "")
    .slice(0, 60)
    .replace(/-+$/, "");
  return `${plain || "drawing"}.${ending}`;
}

/** Size of the picture: twice the drawing's, less where a canvas would be too large. @param {number} width @param {number} height */
export function pictureSize(width, height) {
  const factor = Math.min(2, CANVAS_MOST / Math.max(width, height));
  return { width: Math.round(width * factor), height: Math.round(height * factor) };
}

/** The rules of our style sheets that touch a drawing, as text. @param {SVGElement} svg */
function rulesFor(svg) {
  const found = [];
  for (const sheet of document.styleSheets) {
    if (sheet.href && new URL(sheet.href).origin !== location.origin) continue;
    if (sheet.media.mediaText === "print") continue;
    for (const rule of sheet.cssRules) {
      if (!(rule instanceof CSSStyleRule) || !rule.selectorText.includes(".er-")) continue;
      if (svg.matches(rule.selectorText) || svg.querySelector(rule.selectorText)) found.push(rule.cssText);
    }
  }
  return found.join("\n");
}

/**
 * Read the page's variables as they are on paper: light, whatever the screen is.
 * @template T
 * @param {(valueOf: (name: string) => string) => T} use
 * @returns {T}
 */
function onPaper(use) {
  const probe = element("div", "");
  probe.dataset.mdColorScheme = "default";
  probe.hidden = true;
  document.body.append(probe);
  const style = getComputedStyle(probe);
  const used = use((name) => style.getPropertyValue(name));
  probe.remove();
  return used;
}

/**
 * @param {SVGElement} svg
 * @param {string} viewBox of the whole drawing
 * @returns {{text: string, width: number, height: number}}
 */
export function standalone(svg, viewBox) {
  const [, , across, down] = viewBox.split(" ").map(Number);
  const copy = /** @type {SVGElement} */ (svg.cloneNode(true));
  const width = WIDTH;
  const height = Math.round(((down + 2 * MARGIN) / (across + 2 * MARGIN)) * WIDTH);
  copy.setAttribute("viewBox", `${-MARGIN} ${-MARGIN} ${across + 2 * MARGIN} ${down + 2 * MARGIN}`);
  copy.setAttribute("width", String(width));
  copy.setAttribute("height", String(height));
  copy.setAttribute("class", svg.getAttribute("class").replace(/er-(closer|moving)/g, ""));
  for (const name of ["data-view", "tabindex", "aria-hidden", "focusable"]) copy.removeAttribute(name);
  for (const each of copy.querySelectorAll("[tabindex]")) {
    for (const name of ["tabindex", "role", "aria-pressed"]) each.removeAttribute(name);
  }
  for (const each of copy.querySelectorAll(".er-chosen")) each.classList.remove("er-chosen");
  const rules = `${rulesFor(svg)}\n.er-sheet{fill:var(--er-paper)}`;
  const css = onPaper((valueOf) => resolved(rules, valueOf));
  const style = document.createElementNS(svg.namespaceURI, "style");
  style.textContent = `${css}\nsvg[class]{font-family:system-ui,sans-serif;overflow:hidden}`;
  const sheet = document.createElementNS(svg.namespaceURI, "rect");
  sheet.setAttribute("class", "er-sheet");
  for (const [name, value] of [["x", -MARGIN], ["y", -MARGIN], ["width", across + 2 * MARGIN], ["height", down + 2 * MARGIN]]) {
    sheet.setAttribute(String(name), String(value));
  }
  const first = [...copy.children].find((each) => !["title", "desc"].includes(each.localName));
  copy.insertBefore(style, first ?? null);
  copy.insertBefore(sheet, first ?? null);
  return { text: new XMLSerializer().serializeToString(copy), width, height };
}

/** @param {Blob} blob @param {string} name */
function give(blob, name) {
  const link = element("a", "");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

/** @param {SVGElement} svg @param {string} viewBox @param {string} title */
export function saveSvg(svg, viewBox, title) {
  const { text } = standalone(svg, viewBox);
  give(new Blob([text], { type: "image/svg+xml" }), fileName(title, "svg"));
}

/** @param {SVGElement} svg @param {string} viewBox @param {string} title */
export async function savePng(svg, viewBox, title) {
  const { text, width, height } = standalone(svg, viewBox);
  const image = new Image();
  // The page's policy lets in pictures from data, not from blobs.
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(text)}`;
  await image.decode();
  const canvas = document.createElement("canvas");
  const size = pictureSize(width, height);
  canvas.width = size.width;
  canvas.height = size.height;
  canvas.getContext("2d").drawImage(image, 0, 0, size.width, size.height);
  const blob = await new Promise((done) => canvas.toBlob(done, "image/png"));
  if (!blob) throw new Error(tr("This browser could not make the picture."));
  give(blob, fileName(title, "png"));
}
