// Which catalogue a design was made with: its name and version go along in links and files, and the
// page says so when it works with another.

import { tr } from "./texts.js";

/** A name from a link may be anything: this much of it is shown. */
const SHOWN = 120;

const ours = () => globalThis.document?.querySelector('meta[name="evenrow-catalogue"]')?.content ?? "";

/**
 * A design as it goes out.
 * @param {Record<string, any>} source
 * @param {string} [mark] name and version of the catalogue that it was made with
 * @returns {Record<string, any>}
 */
export const marked = (source, mark = ours()) => (mark ? { ...source, catalogue: mark } : source);

/**
 * What to say of a design that was made with another catalogue; "" where there is nothing to say.
 * @param {Record<string, any>} source
 * @param {string} [mark]
 * @returns {string}
 */
export function otherCatalogue(source, mark = ours()) {
  const made = source.catalogue;
  if (typeof made !== "string" || !made.trim() || !mark || made === mark) return "";
  return tr(
    "It was made with the catalogue “{made}”; here it is worked out with “{ours}”: lines, parts and prices may differ.",
    { made: made.slice(0, SHOWN), ours: mark },
  );
}
