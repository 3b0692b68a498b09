// What a form shows: what was typed here, a design from a link, an example, or a saved design.
//
// Each has a slot of its own in state.js, so that opening one never overwrites another.  The
// address says which: "#design=…", "#demo=…", "#saved=…", nothing for one's own.

import { calculatorOf, replace, tellUnknown } from "./actions.js";
import { otherCatalogue } from "./catalogue-mark.js";
import { fileName } from "./design-files.js";
import { hideBar, showBar } from "./notice-bar.js";
import { OpenDesign } from "./open-design.js";
import { checkHead, decode, isDesignLink, LinkError } from "./share.js";
import * as state from "./state.js";
import { HOME, tr } from "./texts.js";

const meta = (name) => document.querySelector(`meta[name="${name}"]`)?.content ?? "";
const CALCULATORS = meta("evenrow-calculators").split(" ").filter(Boolean);
const place = document.querySelector(".er-calc") ?? document.querySelector(".md-content__inner");
const DEMO = /^#?demo=([\p{L}\p{N}-]{1,60})$/u;
const SAVED = /^#?saved=([a-z0-9-]{1,40})$/;

/** The fragment as people write it: browsers escape letters that are not English. */
function fragment() {
  try {
    return decodeURIComponent(location.hash);
  } catch {
    return location.hash;
  }
}

/** @returns {Promise<any>} the document in the address, or null after saying why not */
export async function documentInLink() {
  if (!isDesignLink(location.hash)) return null;
  try {
    const source = await decode(location.hash);
    checkHead(source);
    return source;
  } catch (error) {
    refuseLink(error instanceof LinkError ? error.message : tr("This link cannot be read."));
    return null;
  }
}

/** Say why a link shows nothing, and whose figures these are then. @param {string} why */
function refuseLink(why) {
  const id = document.querySelector(".er-calc")?.dataset.calculator;
  const whose = id && state.load(id, "own") ? tr("what you typed here before") : tr("our example");
  const figures = tr("The figures below are not the sender’s design but {whose}.", { whose });
  showBar(place, "link", id ? `${why} ${figures}` : why);
  // A reload or a copied address must not bring the refused link back.
  history.replaceState(null, "", location.pathname + location.search);
}

/** Go to the page that a document is for; true when on the way. @param {any} source @param {string} here */
export function wentElsewhere(source, here) {
  const wanted = calculatorOf(source);
  if (wanted === here) return false;
  if (!CALCULATORS.includes(wanted)) {
    refuseLink(tr("This link is for a calculator that this Evenrow does not have."));
    return true;
  }
  location.replace(new URL(`${wanted}/${location.hash}`, HOME));
  return true;
}

export class Content {
  /** @param {import("./calc-form.js").CalcForm} calc @param {import("./saved.js").Saved} saved */
  constructor(calc, saved) {
    this.calc = calc;
    this.saved = saved;
    this.shownKey = `shown:${calc.id}`;
    this.design = new OpenDesign(calc, saved, this);
    this.#mountExamples();
    addEventListener("hashchange", () => {
      const at = fragment();
      if (isDesignLink(at) || DEMO.test(at) || SAVED.test(at) || calc.slot !== "own") this.show();
    });
  }

  /** Fill the form from what the address names, or from what was last shown here. */
  async show() {
    hideBar(place, "link");
    const at = fragment();
    if (isDesignLink(at)) return this.#showLink(at);
    const demo = DEMO.exec(at)?.[1];
    if (demo) return this.#showDemo(demo);
    const id = SAVED.exec(at)?.[1];
    if (id) return this.#showSaved(id);
    const last = state.recall(this.shownKey) ?? "";
    if (DEMO.test(last) || SAVED.test(last)) {
      history.replaceState(null, "", `${location.pathname}${location.search}#${last}`);
      return this.show();
    }
    return this.showOwn();
  }

  /** Be at a fragment without a jump, and come back to it. @param {string} at @param {boolean} [push] */
  goTo(at, push = false) {
    const address = `${location.pathname}${location.search}#${at}`;
    if (push) history.pushState(null, "", address);
    else history.replaceState(null, "", address);
    state.remember(this.shownKey, at);
  }

  /** Leave what is shown for one's own. */
  leave() {
    history.replaceState(null, "", location.pathname);
    hideBar(place, "link");
    this.showOwn();
  }

  showOwn() {
    const { calc } = this;
    state.remember(this.shownKey, null);
    calc.slot = "own";
    this.design.close();
    const own = state.load(calc.id, "own");
    if (own) {
      try {
        calc.fill(own);
      } catch (error) {
        console.info("The form could not be filled.", String(error));
        state.forget(calc.id, "own");
        calc.reset();
        showBar(place, "own", tr("What was kept here from before cannot be shown. This is our example."));
      }
    } else {
      // A link's values may stand there: they must not pass for one's own.
      calc.reset();
    }
  }

  /** @returns {[string, () => void]} label and action that lead to one's own */
  wayBack() {
    const own = state.load(this.calc.id, "own");
    return [own ? tr("Back to what I typed") : tr("Start my own"), () => this.leave()];
  }

  /**
   * Fill the form with a design that has a slot of its own, or with what was made of it here.
   * @param {string} slot
   * @param {any} source
   * @param {"us" | "metric"} [units]
   * @returns {boolean} whether it was changed here
   */
  fillSlot(slot, source, units) {
    const { calc } = this;
    const kept = state.load(calc.id, slot);
    calc.slot = slot;
    tellUnknown(calc, calc.write(source, units));
    const asGiven = JSON.stringify(calc.read());
    calc.asGiven = asGiven;
    if (kept && JSON.stringify(kept) !== asGiven) {
      calc.fill(kept);
      return JSON.stringify(calc.read()) !== asGiven;
    }
    calc.fill(source, units);
    return false;
  }

  /** @param {string} at */
  async #showLink(at) {
    const { calc } = this;
    const source = await documentInLink();
    if (!source) return this.showOwn();
    if (wentElsewhere(source, calc.id)) return this.showOwn();
    const slot = await state.linkSlot(at);
    // Another one was opened meanwhile.
    if (fragment() !== at) return this.show();
    this.design.close();
    state.forgetOldLinks();
    let changed = false;
    try {
      changed = this.fillSlot(slot, source);
    } catch (error) {
      console.info("The form could not be filled.", String(error));
      calc.reset();
      state.forget(calc.id, slot);
      refuseLink(tr("The design in this link cannot be shown."));
      return this.showOwn();
    }
    const asSent = () => {
      replace(calc, () => calc.fill(source), tr("This is the design as it was sent."));
      this.show();
    };
    const told = changed
      ? tr("This is a design from a link, with what you changed in it here. What you typed on this device before is kept apart and safe.")
      : tr("This is a design from a link. What you typed on this device before is kept apart and safe.");
    const other = otherCatalogue(source);
    showBar(
      place,
      "link",
      other ? `${told} ${other}` : told,
      [this.wayBack(), ...(changed ? [[tr("Show as sent"), asSent]] : [])],
      { closable: false },
    );
  }

  // --- examples --------------------------------------------------------------------------

  /** @returns {Record<string, any>} the calculator's examples by the word in the address */
  #examples() {
    const text = this.calc.root.querySelector(".er-example-data")?.textContent ?? "{}";
    const chooser = this.calc.root.querySelector(".er-example") ?? { options: [] };
    return Object.fromEntries(
      Object.entries(JSON.parse(text)).map(([key, source]) => {
        const option = [...chooser.options].find(({ value }) => value === key);
        return [fileName(key), { name: option?.textContent ?? key, source }];
      }),
    );
  }

  #mountExamples() {
    const chooser = this.calc.root.querySelector(".er-example");
    chooser?.addEventListener("change", () => {
      const word = fileName(chooser.value);
      chooser.value = "";
      if (!word) return;
      if (DEMO.exec(fragment())?.[1] !== word) this.goTo(`demo=${word}`, true);
      this.#showDemo(word);
    });
  }

  /** @param {string} word */
  #showDemo(word) {
    const { calc } = this;
    const examples = this.#examples();
    if (!Object.hasOwn(examples, word)) {
      showBar(place, "demo", tr("There is no example of that name here."));
      return this.leave();
    }
    const { source, name } = examples[word];
    this.goTo(`demo=${word}`);
    this.design.close();
    const changed = this.fillSlot(`demo-${word}`, source, state.preferredUnits());
    const anew = () => {
      const units = state.preferredUnits();
      replace(calc, () => calc.fill(source, units), tr("“{name}” is filled in anew.", { name }));
      this.#showDemo(word);
    };
    showBar(
      place,
      "link",
      changed
        ? tr("“{name}” is an example; its figures are invented, but for what you changed. What you typed before is kept apart and safe.", { name })
        : tr("“{name}” is an example; its figures are invented. What you typed before is kept apart and safe.", { name }),
      [this.wayBack(), ...(changed ? [[tr("Show the example as it was"), anew]] : [])],
      { closable: false },
    );
  }

  // --- saved designs ---------------------------------------------------------------------

  /** @param {string} id */
  async #showSaved(id) {
    const record = await this.saved.get(id);
    if (SAVED.exec(fragment())?.[1] !== id) return this.show();
    if (!record) {
      showBar(place, "own", tr("That saved design is not on this device any more."));
      return this.leave();
    }
    if (record.calculator !== this.calc.id) {
      if (CALCULATORS.includes(record.calculator)) {
        location.replace(new URL(`${record.calculator}/#saved=${id}`, HOME));
        return undefined;
      }
      showBar(place, "own", tr("That saved design is for a calculator that this Evenrow does not have."));
      return this.leave();
    }
    this.goTo(`saved=${id}`);
    try {
      this.design.open(record);
    } catch (error) {
      console.info("The form could not be filled.", String(error));
      showBar(place, "own", tr("That saved design cannot be shown. It is still in the list, to keep as a file."));
      return this.leave();
    }
    return undefined;
  }
}
