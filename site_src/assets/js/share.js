// Document <-> link text.  The twin of share.py: same format, same limits, same codes.
//
// Everything in a link is hostile until checked: the text is bounded before it is decoded,
// expanding stops at a limit, and the result is plain data without prototype tricks.

import { tr } from "./texts.js";

export const VERSION = 1;
export const LIMITS = {
  fragment: 16_000,
  address: 2_000,
  expanded: 131_072,
  depth: 6,
  values: 4_000,
  text: 40_000,
  open: 50,
};
const FORBIDDEN = new Set(["__proto__", "constructor", "prototype"]);

/** A link that cannot be used; `code` is stable, `message` is for people. */
export class LinkError extends Error {
  /**
   * @param {string} code
   * @param {string} message
   */
  constructor(code, message) {
    super(message);
    this.code = code;
  }
}

const damaged = () =>
  new LinkError(
    "link_damaged",
    tr("This link is damaged: part of it is missing or was changed on the way. Ask for it again, and copy all of it."),
  );

const tooDeep = () =>
  new LinkError("link_too_deep", tr("This link is nested deeper than a design can be."));

/**
 * @param {ReadableStream<Uint8Array>} stream
 * @param {number} limit most bytes to read
 * @returns {Promise<Uint8Array>}
 */
async function collect(stream, limit) {
  const reader = stream.getReader();
  const parts = [];
  let size = 0;
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    size += value.length;
    if (size > limit) {
      reader.cancel().catch(() => {});
      throw new LinkError("link_too_large", tr("This link holds more than a design can hold."));
    }
    parts.push(value);
  }
  const all = new Uint8Array(size);
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}

/**
 * @param {Uint8Array} bytes
 * @param {TransformStream} transform
 * @param {number} limit
 */
function through(bytes, transform, limit) {
  const writer = transform.writable.getWriter();
  // Failures reach the reading side too; unhandled here they would only be noise.
  writer.write(bytes).catch(() => {});
  writer.close().catch(() => {});
  return collect(transform.readable, limit);
}

/** @param {Uint8Array} packed zlib data @returns {Promise<Uint8Array>} */
const inflated = (packed) => through(packed, new DecompressionStream("deflate"), LIMITS.expanded);

/** Whether zlib data still unpacks without its last byte. @param {Uint8Array} packed */
async function endsEarly(packed) {
  try {
    await inflated(packed.subarray(0, -1));
    return true;
  } catch {
    return false;
  }
}

/** @param {Uint8Array} bytes */
function toBase64Url(bytes) {
  let text = "";
  for (const byte of bytes) text += String.fromCharCode(byte);
  return btoa(text).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
}

/** @param {string} text */
function fromBase64Url(text) {
  let raw;
  try {
    raw = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
  } catch {
    throw damaged();
  }
  return Uint8Array.from(raw, (ch) => ch.charCodeAt(0));
}

const badValue = () =>
  new LinkError("link_bad_value", tr("This link holds something that no design can hold."));

/** Counted in code points, as Python counts. @param {string} text @param {number} most */
function longerThan(text, most) {
  if (text.length <= most) return false;
  return text.length > 2 * most || [...text].length > most;
}

/** @param {string} text @param {number} most @returns {string} */
function checkedText(text, most) {
  if (longerThan(text, most)) {
    throw new LinkError("link_text_too_long", tr("A text in this link is too long."));
  }
  // Half of a surrogate pair is no character.
  if (/\p{Surrogate}/u.test(text)) throw badValue();
  return text;
}

/** @param {string} key @returns {string} */
function checkedKey(key) {
  if (!/^[A-Za-z0-9_-]{1,60}$/.test(key) || FORBIDDEN.has(key)) {
    throw new LinkError("link_bad_key", tr("This link holds a name that no design has."));
  }
  return key;
}

/**
 * Check that data is what a document may hold; return a copy that cannot reach any prototype.
 * @param {unknown} value
 * @param {number} longest characters that a text may have
 */
export function checked(value, longest = LIMITS.text) {
  let count = 0;
  /**
   * @param {unknown} item
   * @param {number} depth
   * @returns {any}
   */
  const walk = (item, depth) => {
    if (++count > LIMITS.values) {
      throw new LinkError("link_too_many", tr("This link holds more values than a design can hold."));
    }
    if (typeof item === "string") return checkedText(item, longest);
    if (typeof item === "boolean") return item;
    // Written so that NaN fails too.
    if (typeof item === "number" && Math.abs(item) <= Number.MAX_SAFE_INTEGER) return item;
    if (typeof item !== "object" || item === null) throw badValue();
    if (depth > LIMITS.depth) throw tooDeep();
    if (Array.isArray(item)) return item.map((each) => walk(each, depth + 1));
    const copy = Object.create(null);
    for (const [key, each] of Object.entries(item)) copy[checkedKey(key)] = walk(each, depth + 1);
    return copy;
  };
  if (typeof value !== "object" || value === null || Array.isArray(value)) throw badValue();
  return walk(value, 1);
}

/**
 * Check what every document says at its head, with the words of documents.py: a page that showed
 * another version would write it down as its own.
 * @param {any} document checked
 */
export function checkHead(document) {
  const { evenrow: version, units } = document;
  if (version === undefined) {
    throw new LinkError("missing", tr("The version of this design is missing."));
  }
  if (!Number.isInteger(version) || version < 1) {
    throw new LinkError("wrong_version", tr("This is no version of a design that Evenrow knows."));
  }
  if (version > VERSION) {
    throw new LinkError(
      "newer_version",
      tr("This design was made by a newer Evenrow than this one. Reload this page while online, then open it again."),
    );
  }
  if (units !== undefined && units !== "us" && units !== "metric") {
    throw new LinkError("not_a_choice", tr("This design is in units that are neither us nor metric."));
  }
}

/**
 * Most brackets open at once, outside of texts: looked at before anything is parsed.
 * One walk, the same as in structure.py: its time grows with the length of the text alone.
 * @param {string} text
 */
function mostOpen(text) {
  let open = 0;
  let most = 0;
  let inside = false;
  for (const [found] of text.matchAll(/\\.|["\n[\]{}]/gs)) {
    if (found === '"') inside = !inside;
    // Ends a text that was never closed.
    else if (found === "\n") inside = false;
    else if (inside) continue;
    else if (found === "[" || found === "{") most = Math.max(most, ++open);
    else if (found === "]" || found === "}") open = Math.max(0, open - 1);
  }
  return most;
}

/**
 * Whether a URL fragment claims to be a design.
 * @param {string} fragment with or without "#"
 */
export function isDesignLink(fragment) {
  return fragment.replace(/^#/, "").startsWith("design=");
}

/**
 * @param {object} document
 * @returns {Promise<string>} "design=1.…"
 */
export async function encode(document) {
  const text = JSON.stringify(checked(document));
  const bytes = new TextEncoder().encode(text);
  if (bytes.length > LIMITS.expanded) {
    throw new LinkError("link_too_long", tr("This design is too long for a link. Save it as a file."));
  }
  const packed = await through(bytes, new CompressionStream("deflate"), LIMITS.expanded * 2);
  const fragment = `design=${VERSION}.${toBase64Url(packed)}`;
  if (fragment.length > LIMITS.fragment) {
    throw new LinkError("link_too_long", tr("This design is too long for a link. Save it as a file."));
  }
  return fragment;
}

/**
 * @param {string} given fragment or whole address
 * @returns {Promise<any>} the document, checked
 */
export async function decode(given) {
  const tooLong = () =>
    new LinkError("link_too_long", tr("This link is longer than a design link can be."));
  if (longerThan(given, LIMITS.fragment + LIMITS.address)) throw tooLong();
  // White space of ASCII alone: what else counts as white differs between languages.
  const link = given.replace(/^[ \t\n\f\r]+/, "").replace(/[ \t\n\f\r]+$/, "");
  const mark = link.indexOf("#");
  const fragment = link.slice(mark + 1);
  if (longerThan(fragment, LIMITS.fragment) || longerThan(link.slice(0, mark + 1), LIMITS.address + 1)) {
    throw tooLong();
  }
  if (!fragment.startsWith("design=")) {
    throw new LinkError("link_missing", tr("There is no design in this link."));
  }
  const found = /^design=([0-9]{1,9})\.([A-Za-z0-9_-]*)$/.exec(fragment);
  if (!found || Number(found[1]) < VERSION) throw damaged();
  if (Number(found[1]) > VERSION) {
    throw new LinkError(
      "link_version",
      tr("This link was made by a newer Evenrow. Reload this page while online, then open it again."),
    );
  }
  const packed = fromBase64Url(found[2]);
  let bytes;
  try {
    bytes = await inflated(packed);
  } catch (error) {
    if (error instanceof LinkError) throw error;
    throw damaged();
  }
  // Some engines leave bytes after the end unread.
  if (await endsEarly(packed)) throw damaged();
  let data;
  try {
    const text = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes);
    if (mostOpen(text) > LIMITS.open) throw tooDeep();
    data = JSON.parse(text);
  } catch (error) {
    throw error instanceof LinkError ? error : damaged();
  }
  return checked(data);
}
