// The run-length table: three taps to one number. Reads the numbers from the table on the page,
// which is the only copy of them; without this script the table still reads and filters itself.

import { element } from "./notice-bar.js";
import { encode } from "./share.js";
import * as state from "./state.js";
import { tr } from "./texts.js";

/** Name under which the choices are kept on this device. */
const KEPT = "run-length-table";
/** In the order of the taps; the last two have a usual value. */
const PICKS = ["device", "spacing", "slope", "eu", "pressure"];
const NAMES = { device: "er-d", spacing: "er-s", slope: "er-g", eu: "er-t", pressure: "er-p" };
const TITLES = {
  spacing: tr("Emitter spacing"),
  slope: tr("Slope along the row"),
  pressure: tr("Pressure at the start"),
};
const ALL = "all";

/**
 * What one cell says.
 * @param {Element} cell td of the table
 * @returns {{us: string, metric: string, mark: string}} lengths as shown, and what stops the run
 */
export function readCell(cell) {
  return {
    us: cell.querySelector("b").textContent,
    metric: cell.querySelector("i").textContent,
    mark: cell.querySelector("sup")?.textContent ?? "",
  };
}

/**
 * @param {{us: string, metric: string}} found
 * @param {"us" | "metric"} system
 * @returns {{big: string, small: string, plain: boolean}} plain: a number, not words
 */
export function lengthWords(found, system) {
  const units = { us: "ft", metric: "m" };
  const other = system === "us" ? "metric" : "us";
  if (!/\d/.test(found[system])) return { big: tr("no run"), small: "", plain: false };
  return {
    big: `${found[system]}\u00a0${units[system]}`,
    small: !/\d/.test(found[other]) ? "" : `${found[other]}\u00a0${units[other]}`,
    plain: /^[\d.]+$/.test(found[system]),
  };
}

/**
 * @param {{us: string, metric: string, mark: string}} found
 * @param {"us" | "metric"} system
 * @param {Record<string, string>} limits words by mark
 */
export function limitWords(found, system, limits) {
  const limit = limits[found.mark];
  // Words without a number: not even one emitter; a number with words: longer than that.
  if (!/\d/.test(found[system])) return tr("Even the first emitter breaks this limit: {limit}.", { limit });
  if (!/^[\d.]+$/.test(found[system])) return tr("Nothing stops it up to there.");
  return tr("What stops it from being longer: {limit}.", { limit });
}

/**
 * The document that the run-length calculator opens with these choices.
 * @param {Record<string, string>} chosen
 * @param {"us" | "metric"} units
 */
export function documentOf(chosen, units) {
  return {
    evenrow: 1,
    calculator: "run-length",
    units,
    line: { device: chosen.device, spacing: chosen.spacing },
    pressure: chosen.pressure,
    ground: { row_slope: chosen.slope },
    limits: { eu: chosen.eu },
  };
}

class LookUp {
  /** @param {HTMLElement} root .er-look */
  constructor(root) {
    this.root = root;
    this.answer = root.querySelector(".er-look-answer");
    this.exact = root.querySelector(".er-look-exact");
    this.plainLink = this.exact.getAttribute("href");
    /** Set by touch or mouse: only then does a choice go on to the next; arrow keys stay. */
    this.byPointer = false;
    this.limits = Object.fromEntries(
      [...root.querySelectorAll(".er-key [data-mark]")].map((e) => [e.dataset.mark, e.dataset.words]),
    );
    const device = this.fold("device");
    device.after(this.#newFold("spacing"), this.#newFold("slope"));
    this.fold("eu").after(this.#newFold("pressure"));
    this.answer.hidden = false;
    this.#fillSlopes();
    const kept = state.load(KEPT, "own") ?? {};
    for (const pick of PICKS) this.#choose(pick, kept[pick]);
    this.#openNext("device");
    this.#show();
    root.addEventListener("pointerdown", () => (this.byPointer = true));
    root.addEventListener("keydown", () => (this.byPointer = false));
    root.addEventListener("change", (event) => this.#changed(event));
  }

  /** @param {string} pick @returns {HTMLDetailsElement} */
  fold(pick) {
    return this.root.querySelector(`.er-pick[data-pick="${pick}"]`);
  }

  /** @param {string} pick */
  #newFold(pick) {
    const fold = element("details", "er-group er-pick");
    fold.dataset.pick = pick;
    const summary = element("summary", "");
    const title = element("span", "er-pick-title", TITLES[pick]);
    summary.append(title, " ", element("strong", ""));
    const set = element("fieldset", "");
    set.setAttribute("aria-label", TITLES[pick]);
    set.append(element("div", "er-options er-options-short"));
    fold.append(summary, set);
    return fold;
  }

  /** @param {string} pick @param {[string, string][]} options value and words */
  #fill(pick, options) {
    const labels = options.map(([value, words]) => {
      const label = element("label", "er-option");
      const radio = element("input", "");
      radio.type = "radio";
      radio.name = NAMES[pick];
      radio.value = value;
      label.append(radio, element("span", "", words));
      return label;
    });
    this.fold(pick).querySelector(".er-options").replaceChildren(...labels);
  }

  #fillSlopes() {
    const heads = this.root.querySelector(".er-run thead").querySelectorAll("[data-slope]");
    this.#fill("slope", [...heads].map((head) => [head.dataset.slope, head.textContent]));
  }

  /** The spacings and pressures of the chosen line; what is chosen stays where it can. */
  #fillForDevice() {
    const kind = this.#kind();
    const chosen = this.#chosen();
    const rows = kind ? kind.querySelector("tbody").querySelectorAll("[data-spacing]") : [];
    const folds = kind ? [...kind.querySelectorAll(".er-at")] : [];
    this.#fill("spacing", [...rows].map((row) => [row.dataset.spacing, row.textContent]));
    this.#fill("pressure", folds.map((each) => [each.dataset.pressure, each.dataset.words]));
    this.#choose("spacing", chosen.spacing);
    this.#choose("pressure", chosen.pressure);
    if (!this.#chosen().pressure) {
      this.#choose("pressure", folds.find((each) => "rated" in each.dataset)?.dataset.pressure);
    }
  }

  /** @returns {HTMLElement | null} section of the chosen line */
  #kind() {
    const { device } = this.#chosen();
    return [...this.root.querySelectorAll(".er-kind")].find((e) => e.dataset.device === device) ?? null;
  }

  /** @returns {Record<string, string>} */
  #chosen() {
    return Object.fromEntries(
      PICKS.map((pick) => [pick, this.fold(pick).querySelector("input:checked")?.value ?? ""]),
    );
  }

  /** @param {string} pick @param {unknown} value left as it is where there is no such choice */
  #choose(pick, value) {
    const radios = [...this.fold(pick).querySelectorAll("input")];
    const found = radios.find((radio) => radio.value === value);
    if (found) found.checked = true;
    if (pick === "device") this.#fillForDevice();
  }

  /** @param {Event} event */
  #changed(event) {
    const fold = event.target instanceof Element && event.target.closest(".er-pick");
    if (!fold) {
      this.#show();
      return;
    }
    const { pick } = fold.dataset;
    if (pick === "device") this.#fillForDevice();
    if (this.byPointer) {
      fold.open = false;
      this.#openNext(pick).querySelector("summary").focus({ preventScroll: true });
    }
    state.save(KEPT, "own", { evenrow: 1, ...this.#chosen() });
    this.#show();
  }

  /**
   * Open the first of the three that is not chosen yet.
   * @param {string} last what was chosen just now
   * @returns {HTMLElement} where to go on
   */
  #openNext(last) {
    const chosen = this.#chosen();
    const open = ["device", "spacing", "slope"].find((pick) => !chosen[pick] || chosen[pick] === ALL);
    for (const pick of ["device", "spacing", "slope"]) this.fold(pick).open = pick === open;
    return this.fold(open ?? last);
  }

  /** @returns {HTMLElement | null} the cell of what is chosen */
  #cell() {
    const { spacing, slope, eu, pressure } = this.#chosen();
    const at = [...(this.#kind()?.querySelectorAll(".er-at") ?? [])].find(
      (each) => each.dataset.pressure === pressure,
    );
    const group = at && [...at.querySelectorAll("tbody")].find((each) => each.dataset.eu === eu);
    const head = group && [...group.querySelectorAll("[data-spacing]")].find((e) => e.dataset.spacing === spacing);
    const slopes = at ? [...at.querySelectorAll("[data-slope]")].map((each) => each.dataset.slope) : [];
    const place = slopes.indexOf(slope);
    return head && place >= 0 ? head.parentElement.querySelectorAll("td")[place] : null;
  }

  #show() {
    for (const pick of PICKS) {
      const label = this.fold(pick).querySelector("input:checked + span");
      const words = pick === "device" && !this.#kind() ? "" : (label?.textContent ?? "");
      this.fold(pick).querySelector("summary strong").textContent = words;
    }
    for (const each of this.root.querySelectorAll(".er-here")) each.classList.remove("er-here");
    const chosen = this.#chosen();
    for (const pick of ["spacing", "slope", "pressure"]) {
      this.fold(pick).hidden = !this.#kind();
    }
    const cell = this.#cell();
    const [value, limit] = this.answer.querySelectorAll(".er-look-value, .er-look-limit");
    const system = chosenUnits();
    if (!cell) {
      value.replaceChildren(element("span", "", missingWords(chosen)));
      limit.textContent = "";
      this.#link(null);
      return;
    }
    cell.classList.add("er-here");
    // In the table below it is in sight too.
    cell.closest("details").open = true;
    const scroller = cell.closest(".er-run-scroll");
    scroller.scrollLeft = cell.offsetLeft + cell.offsetWidth / 2 - scroller.clientWidth / 2;
    const found = readCell(cell);
    const { big, small, plain } = lengthWords(found, system);
    const number = element("strong", plain ? "" : "er-words", big);
    value.replaceChildren(number, small);
    limit.textContent = limitWords(found, system, this.limits);
    this.#link(documentOf(chosen, system));
  }

  /** Packing takes a moment; a newer choice wins. @param {object | null} document */
  async #link(document) {
    this.wanted = document;
    this.exact.setAttribute("href", this.plainLink);
    if (!document) return;
    const fragment = await encode(document).catch(() => "");
    if (this.wanted === document && fragment) {
      this.exact.setAttribute("href", `${this.plainLink}#${fragment}`);
    }
  }
}

/** @param {Record<string, string>} chosen @returns {string} what to tap next */
export function missingWords(chosen) {
  if (!chosen.device || chosen.device === ALL) return tr("Tap your tape or dripline.");
  if (!chosen.spacing) return tr("Now the emitter spacing.");
  if (!chosen.slope) return tr("Now the slope along the row.");
  return tr("Choose one uniformity.");
}

/** @returns {"us" | "metric"} */
const chosenUnits = () =>
  document.querySelector('[name="er-units"]:checked')?.value === "us" ? "us" : "metric";

function mountUnits() {
  const system = state.preferredUnits();
  for (const radio of document.querySelectorAll('[name="er-units"]')) {
    radio.checked = radio.value === system;
    radio.addEventListener("change", () => state.keepUnits(radio.value));
  }
}

if (globalThis.document) {
  mountUnits();
  for (const root of document.querySelectorAll(".er-look-answer")) {
    new LookUp(root.closest(".er-look"));
  };
}
