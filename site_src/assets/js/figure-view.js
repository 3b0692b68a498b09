// Drawings in the answer: look closer, move, tap a part to read its line of the list, save.
//
// One finger scrolls the page, always, unless "Move" is on; two fingers look closer. Without a
// pointer, + and − and the arrows do the same. Nothing glides, so that there is no motion to reduce.

import { savePng, saveSvg } from "./figure-file.js";
import { button, element } from "./notice-bar.js";
import { boxOf, isWhole, moved, pinch, textOf, zoomed } from "./view-box.js";
import { tr } from "./texts.js";

const STEP = 1.5;
/** Share of the view that an arrow key moves. */
const NUDGE = 0.15;
/** A pointer that moved farther than this did not tap. */
const TAP_PX = 6;

/** What a part says first, without what is inside it. @param {Element} part */
export const titleOf = (part) =>
  [...part.children].find((each) => each.localName === "title")?.textContent ?? "";

/**
 * The row of the parts list with a number: one that says so, else by its place.
 * @param {ParentNode} result @param {string} number
 * @returns {Element | null}
 */
export function rowOf(result, number) {
  const place = Number(number);
  if (!Number.isInteger(place) || place < 1) return null;
  const named = result.querySelector(`tr[data-part="${place}"]`);
  return named ?? result.querySelectorAll('[data-table^="parts"] tbody tr')[place - 1] ?? null;
}

/** What to buy, from a row of the list. @param {Element | null} row */
const countOf = (row) => row?.querySelector('.er-value[data-name$=".count"]')?.textContent?.trim() ?? "";

class FigureView {
  /** @param {SVGSVGElement} svg @param {HTMLElement} result */
  constructor(svg, result) {
    this.svg = svg;
    this.result = result;
    this.whole = boxOf(svg.getAttribute("viewBox"));
    this.box = this.whole;
    /** @type {Map<number, {x: number, y: number}>} pointers that are down */
    this.down = new Map();
    this.travelled = 0;
    const figure = svg.closest("figure");
    this.title = figure.querySelector("figcaption")?.textContent || "drawing";
    this.said = element("p", "er-view-said");
    this.said.setAttribute("role", "status");
    this.closely = svg.classList.contains("er-plan");
    const bar = element("div", "er-view-bar");
    if (this.closely) bar.append(...this.#closer());
    bar.append(...this.#saving());
    figure.append(bar, this.said);
    this.#parts();
  }

  #closer() {
    this.move = button(tr("Move"), () => this.#moving(this.move.getAttribute("aria-pressed") !== "true"));
    this.move.setAttribute("aria-pressed", "false");
    const made = [
      ["+", tr("Look closer"), () => this.#zoom(STEP)],
      ["−", tr("From farther away"), () => this.#zoom(1 / STEP)],
      [tr("Whole"), tr("The whole drawing"), () => this.#show(this.whole)],
    ].map(([sign, name, action]) => {
      const each = button(sign, action);
      each.setAttribute("aria-label", sign.length > 1 ? `${sign}: ${name.toLowerCase()}` : name);
      return each;
    });
    this.#listen();
    return [...made, this.move];
  }

  #saving() {
    const failed = (error) => {
      this.said.textContent = tr("The drawing could not be saved: {why}", { why: error.message });
    };
    const whole = textOf(this.whole);
    const ways = [
      button("SVG", () => saveSvg(this.svg, whole, this.title)),
      button("PNG", () => savePng(this.svg, whole, this.title).catch(failed)),
    ];
    for (const way of ways) {
      way.setAttribute("aria-label", tr("{kind}: save the drawing", { kind: way.textContent }));
      way.hidden = true;
    }
    const save = button(tr("Save…"), () => {
      const open = save.getAttribute("aria-expanded") === "true";
      save.setAttribute("aria-expanded", String(!open));
      for (const way of ways) way.hidden = open;
    });
    save.setAttribute("aria-expanded", "false");
    return [save, ...ways];
  }

  /** @param {import("./view-box.js").Box} box */
  #show(box) {
    this.box = box;
    const whole = isWhole(box, this.whole);
    this.svg.setAttribute("viewBox", textOf(whole ? this.whole : box));
    this.svg.classList.toggle("er-closer", !whole);
    if (whole) this.#moving(false);
  }

  /** @param {number} factor @param {{x: number, y: number}} [at] */
  #zoom(factor, at) {
    this.#show(zoomed(this.box, this.whole, factor, at));
  }

  /** @param {boolean} on */
  #moving(on) {
    this.move.setAttribute("aria-pressed", String(on));
    this.svg.classList.toggle("er-moving", on);
  }

  /** Place of a pointer as a share of what is seen. @param {{x: number, y: number}} at */
  #share({ x, y }) {
    const seen = this.svg.getBoundingClientRect();
    return { x: (x - seen.left) / seen.width, y: (y - seen.top) / seen.height };
  }

  #listen() {
    const { svg } = this;
    svg.setAttribute("tabindex", "0");
    svg.addEventListener("keydown", (event) => this.#key(event));
    svg.addEventListener("pointerdown", (event) => {
      this.down.set(event.pointerId, { x: event.clientX, y: event.clientY });
      if (this.down.size === 1) this.travelled = 0;
    });
    svg.addEventListener("pointermove", (event) => this.#moved(event));
    for (const name of ["pointerup", "pointercancel", "pointerleave"]) {
      svg.addEventListener(name, (event) => this.down.delete(event.pointerId));
    }
    // Two fingers are ours; one is the page's, which scrolls.
    const two = (event) => event.touches.length > 1 && event.preventDefault();
    svg.addEventListener("touchstart", two, { passive: false });
    svg.addEventListener("touchmove", two, { passive: false });
    svg.addEventListener(
      "wheel",
      (event) => {
        // A wheel alone scrolls the page; with Ctrl, or as a pinch on a touch pad, it looks closer.
        if (!event.ctrlKey) return;
        event.preventDefault();
        this.#zoom(Math.exp(-event.deltaY / 200), this.#share({ x: event.clientX, y: event.clientY }));
      },
      { passive: false },
    );
  }

  /** @param {PointerEvent} event */
  #moved(event) {
    const before = this.down.get(event.pointerId);
    if (!before) return;
    const now = { x: event.clientX, y: event.clientY };
    const others = [...this.down].filter(([id]) => id !== event.pointerId);
    this.down.set(event.pointerId, now);
    this.travelled += Math.hypot(now.x - before.x, now.y - before.y);
    if (others.length) {
      const done = pinch([before, others[0][1]], [now, others[0][1]]);
      this.#zoom(done.factor, this.#share(done.from));
      this.#drag(done.from, done.to);
    } else if (event.pointerType === "mouse" || this.move.getAttribute("aria-pressed") === "true") {
      this.#drag(before, now);
    }
  }

  /** @param {{x: number, y: number}} from @param {{x: number, y: number}} to */
  #drag(from, to) {
    const [a, b] = [this.#share(from), this.#share(to)];
    this.#show(moved(this.box, this.whole, a.x - b.x, a.y - b.y));
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    const nudges = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "+" || event.key === "=") this.#zoom(STEP);
    else if (event.key === "-" || event.key === "−") this.#zoom(1 / STEP);
    else if (event.key === "0" || event.key === "Escape") this.#show(this.whole);
    else if (event.key in nudges && !isWhole(this.box, this.whole)) {
      const [right, down] = nudges[event.key];
      this.#show(moved(this.box, this.whole, right * NUDGE, down * NUDGE));
    } else return;
    event.preventDefault();
  }

  /** Numbers and points can be tapped, and chosen by key. */
  #parts() {
    for (const part of this.svg.querySelectorAll(".er-part[tabindex]")) {
      part.setAttribute("role", "button");
      part.setAttribute("aria-pressed", "false");
    }
    this.svg.addEventListener("click", (event) => {
      const part = event.target instanceof Element && event.target.closest(".er-part");
      if (part && this.travelled <= TAP_PX) this.#choose(part);
    });
    this.svg.addEventListener("keydown", (event) => {
      const part = event.target instanceof Element && event.target.closest(".er-part[tabindex]");
      if (!part || (event.key !== "Enter" && event.key !== " ")) return;
      event.preventDefault();
      this.#choose(part);
    });
  }

  /** @param {Element} part */
  #choose(part) {
    const { part: number, option } = part.dataset;
    const again = part.classList.contains("er-chosen");
    for (const each of this.svg.querySelectorAll(".er-chosen")) each.classList.remove("er-chosen");
    for (const each of this.svg.querySelectorAll("[aria-pressed]")) each.setAttribute("aria-pressed", "false");
    for (const each of this.result.querySelectorAll("tr.er-chosen")) each.classList.remove("er-chosen");
    this.said.replaceChildren();
    if (again) return;
    const alike = number
      ? [...this.svg.querySelectorAll(".er-part")].filter((each) => each.dataset.part === number)
      : [part];
    for (const each of alike) {
      each.classList.add("er-chosen");
      if (each.hasAttribute("aria-pressed")) each.setAttribute("aria-pressed", "true");
    }
    this.said.append(titleOf(part));
    if (number) this.#tell(number);
    if (option !== undefined) {
      this.svg.dispatchEvent(new CustomEvent("er-option", { bubbles: true, detail: { id: option } }));
    }
  }

  /** Say what to buy, and offer the way to the list. @param {string} number */
  #tell(number) {
    const row = rowOf(this.result, number);
    if (!row) return;
    row.classList.add("er-chosen");
    const count = countOf(row);
    if (count) this.said.append(` · ${tr("buy {count}", { count })} `);
    this.said.append(
      button(tr("Show in the list"), () => {
        row.setAttribute("tabindex", "-1");
        row.focus({ preventScroll: true });
        row.scrollIntoView({ block: "center" });
      }),
    );
  }
}

/**
 * Make the drawings of an answer come alive, now and whenever the answer is replaced.
 * @param {import("./calc-form.js").CalcForm} calc
 */
export function mountFigures(calc) {
  const mount = () => {
    for (const svg of calc.result.querySelectorAll(".er-figure svg:not([data-view])")) {
      svg.dataset.view = "yes";
      new FigureView(svg, calc.result);
    }
  };
  calc.addEventListener("phase", mount);
  mount();
}
