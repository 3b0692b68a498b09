// What people typed, kept on this device.  Nothing here leaves it.
//
// Each calculator has slots: "own" for what was typed here, one for each link, example and saved
// design that was opened (so that none overwrites "own" or the saved design), "before" for what
// stood there before the last replacement.
// Each tab reads its own copy first, so two tabs do not disturb each other.

import { checked, checkHead } from "./share.js";

const BASE = new URL("../../", import.meta.url).pathname;
const PREFIX = `evenrow:${BASE}:`;
const MOST_SLOTS = 24;
/** Longer than any text may be: what is too long stays, so that Python can say so at its field. */
const LONGEST = 41_000;

let refused = false;
/** @type {(() => void) | null} */
let onRefused = null;

/** Be told once when this browser refuses to keep anything. @param {() => void} listener */
export function whenRefused(listener) {
  onRefused = listener;
  if (refused) listener();
}

/** Whether this browser has refused to keep something. */
export const keepsNothing = () => refused;

function refuse() {
  if (refused) return;
  refused = true;
  onRefused?.();
}

/** @param {() => Storage} area @param {string} key */
function read(area, key) {
  try {
    return area().getItem(PREFIX + key);
  } catch {
    refuse();
    return null;
  }
}

/** @param {() => Storage} area @param {string} key @param {string | null} text */
function write(area, key, text) {
  try {
    if (text === null) area().removeItem(PREFIX + key);
    else area().setItem(PREFIX + key, text);
    return true;
  } catch {
    return false;
  }
}

const device = () => localStorage;
const tab = () => sessionStorage;

/**
 * @param {string} calculator
 * @param {string} slot
 * @returns {Record<string, any> | null}
 */
export function load(calculator, slot) {
  const key = `${calculator}:${slot}`;
  const text = read(tab, key) ?? read(device, key);
  if (!text) return null;
  try {
    // Half of a pair, from a text that was cut, is no reason to lose the rest.
    const whole = (_, value) =>
      typeof value === "string" ? value.replace(/\p{Surrogate}/gu, "\ufffd") : value;
    // Other pages of this origin can write here too.
    const document = checked(JSON.parse(text, whole).document, LONGEST);
    checkHead(document);
    return document;
  } catch {
    return null;
  }
}

/**
 * @param {string} calculator
 * @param {string} slot
 * @param {Record<string, any>} document
 * @param {number} [base] revision of the saved design that it was made from
 */
export function save(calculator, slot, document, base = 0) {
  const key = `${calculator}:${slot}`;
  // In one text with the document: another tab may write here between any two.
  const text = JSON.stringify({ at: Date.now(), document, base });
  write(tab, key, text);
  if (write(device, key, text)) return;
  forgetOldLinks(0);
  if (!write(device, key, text)) refuse();
}

/** Revision that what stands in a slot was made from; 0 for none. @param {string} calculator @param {string} slot */
export function baseOf(calculator, slot) {
  const key = `${calculator}:${slot}`;
  try {
    const { base } = JSON.parse(read(tab, key) ?? read(device, key));
    return Number.isSafeInteger(base) ? base : 0;
  } catch {
    return 0;
  }
}

/** @param {string} calculator @param {string} slot */
export function forget(calculator, slot) {
  write(tab, `${calculator}:${slot}`, null);
  write(device, `${calculator}:${slot}`, null);
}

/** Keep only the newest slots of opened links. @param {number} most */
export function forgetOldLinks(most = MOST_SLOTS) {
  try {
    const keys = Object.keys(localStorage).filter(
      (key) => key.startsWith(PREFIX) && key.includes(":link-"),
    );
    const dated = keys.map((key) => {
      let at = 0;
      try {
        at = JSON.parse(localStorage.getItem(key)).at;
      } catch {
        // unreadable: oldest, goes first
      }
      return { key, at };
    });
    dated.sort((a, b) => b.at - a.at);
    for (const { key } of dated.slice(most)) localStorage.removeItem(key);
  } catch {
    refuse();
  }
}

/** The slot of one link: no two share one, not even made to. @param {string} fragment */
export async function linkSlot(fragment) {
  // Not there on plain http.
  if (!globalThis.crypto?.subtle) return `link-${fragment}`;
  const sum = await crypto.subtle.digest("SHA-256", new TextEncoder().encode(fragment));
  const hex = [...new Uint8Array(sum)].map((byte) => byte.toString(16).padStart(2, "0"));
  return `link-${hex.join("")}`;
}

/** Remember a text, in this tab and for the next one. @param {string} key @param {string | null} text */
export function remember(key, text) {
  write(tab, key, text);
  write(device, key, text);
}

/** Remember a text in this tab alone. @param {string} key @param {string | null} text */
export const rememberHere = (key, text) => write(tab, key, text);

/** @param {string} key @returns {string | null} */
export const recall = (key) => read(tab, key) ?? read(device, key);

/** @param {string} key of what `rememberHere` keeps: read once @returns {string | null} */
export function takeHere(key) {
  const text = read(tab, key);
  write(tab, key, null);
  return text;
}

/** @param {string} name */
export const setting = (name) => read(device, `setting:${name}`);
/** @param {string} name @param {string} value */
const keepSetting = (name, value) => write(device, `setting:${name}`, value);

let chosenUnits = "";

/** Remember the units that were chosen, also where nothing may be kept. @param {"us" | "metric"} system */
export function keepUnits(system) {
  chosenUnits = system;
  keepSetting("units", system);
}

/**
 * Units that were chosen here, else those of whoever keeps the site, else what the browser's region uses.
 * @returns {"us" | "metric"}
 */
export function preferredUnits() {
  const kept =
    chosenUnits ||
    setting("units") ||
    globalThis.document?.querySelector('meta[name="evenrow-units"]')?.content;
  if (kept === "us" || kept === "metric") return kept;
  return /-(US|LR|MM)$/i.test(navigator.language || "") ? "us" : "metric";
}
