// What part of a drawing is seen: pure arithmetic on view boxes, without the page.

/** @typedef {{x: number, y: number, width: number, height: number}} Box */

/** Closest look: one eighth of the drawing. */
export const CLOSEST = 8;

/** @param {string | null} text of a viewBox @returns {Box} */
export function boxOf(text) {
  const [x, y, width, height] = (text ?? "").trim().split(/[\s,]+/).map(Number);
  if (!(width > 0 && height > 0)) return { x: 0, y: 0, width: 1, height: 1 };
  return { x, y, width, height };
}

/** @param {Box} box @returns {string} */
export const textOf = ({ x, y, width, height }) =>
  [x, y, width, height].map((value) => String(Math.round(value * 100) / 100)).join(" ");

/** @param {number} value @param {number} low @param {number} high */
const within = (value, low, high) => Math.min(Math.max(value, low), high);

/** Keep a box inside the whole drawing, of its shape, no closer than allowed. @param {Box} box @param {Box} whole @returns {Box} */
export function kept(box, whole) {
  const width = within(box.width, whole.width / CLOSEST, whole.width);
  const height = (width * whole.height) / whole.width;
  return {
    x: within(box.x, whole.x, whole.x + whole.width - width),
    y: within(box.y, whole.y, whole.y + whole.height - height),
    width,
    height,
  };
}

/**
 * Look closer (factor above 1) or from farther away; what lies at a place stays there.
 * @param {Box} box @param {Box} whole @param {number} factor
 * @param {{x: number, y: number}} [at] share of the box, 0 to 1 each way
 * @returns {Box}
 */
export function zoomed(box, whole, factor, at = { x: 0.5, y: 0.5 }) {
  const width = within(box.width / factor, whole.width / CLOSEST, whole.width);
  const height = (width * whole.height) / whole.width;
  const x = box.x + (box.width - width) * at.x;
  const y = box.y + (box.height - height) * at.y;
  return kept({ x, y, width, height }, whole);
}

/** Move by shares of what is seen. @param {Box} box @param {Box} whole @param {number} right @param {number} down */
export const moved = (box, whole, right, down) =>
  kept({ ...box, x: box.x + right * box.width, y: box.y + down * box.height }, whole);

/** @param {Box} box @param {Box} whole */
export const isWhole = (box, whole) => box.width > whole.width * 0.999;

/**
 * What two fingers did between two moments: how much farther apart, and where their middle is.
 * @param {{x: number, y: number}[]} before @param {{x: number, y: number}[]} now
 */
export function pinch(before, now) {
  const apart = ([a, b]) => Math.max(Math.hypot(a.x - b.x, a.y - b.y), 1);
  const middle = ([a, b]) => ({ x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 });
  return { factor: apart(now) / apart(before), from: middle(before), to: middle(now) };
}
