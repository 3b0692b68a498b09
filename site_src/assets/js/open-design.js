// The saved design that is open on a calculator page: its name, whether it is saved, and saving.

import { replace } from "./actions.js";
import { button, element, hideBar, showBar } from "./notice-bar.js";
import { sameDocument } from "./saved.js";
import * as state from "./state.js";
import { HOME, LOCALE, tr } from "./texts.js";


/** @param {string} id */
const slotOf = (id) => `saved-${id}`;

export class OpenDesign {
  /**
   * @param {import("./calc-form.js").CalcForm} calc
   * @param {import("./saved.js").Saved} saved
   * @param {import("./content.js").Content} content
   */
  constructor(calc, saved, content) {
    this.calc = calc;
    this.saved = saved;
    this.content = content;
    /** @type {import("./saved.js").SavedDesign | null} as it was saved, or opened */
    this.record = null;
    this.#build();
    calc.addEventListener("changed", () => this.#show());
    saved.addEventListener("change", ({ id }) => id === this.record?.id && this.#changedElsewhere());
    this.#addActions();
  }

  #build() {
    this.panel = element("section", "er-open-design");
    this.panel.setAttribute("aria-label", tr("Saved design"));
    this.panel.hidden = true;
    this.title = element("strong", "");
    this.said = element("span", "er-open-said");
    const line = element("p", "");
    line.append(this.title, " ", this.said);
    this.saveAgain = button(tr("Save changes"), () => this.save());
    this.asBefore = button(tr("Show as saved"), () => this.#revert());
    const name = button(tr("Rename"), () => this.#nameBox());
    this.back = button("", () => this.content.leave());
    this.panel.append(line, this.saveAgain, name, this.asBefore, this.back);
    this.calc.root.prepend(this.panel);
  }

  #addActions() {
    const keep = button(tr("Save on this device"), () => this.save());
    keep.classList.add("er-keep");
    this.another = button(tr("Save as another"), () => this.#saveNew());
    this.another.hidden = true;
    const list = element("a", "er-button", tr("Saved designs"));
    list.href = new URL("saved/", HOME).href;
    this.compareLink = element("a", "er-button er-to-compare", tr("Compare"));
    this.compareLink.setAttribute("aria-label", tr("Compare with a saved design"));
    const place = this.calc.root.querySelector(".er-actions");
    // Said where it was pressed: on a phone the top of the page is out of sight.
    this.spoken = element("p", "er-keep-said");
    this.spoken.setAttribute("role", "status");
    place.prepend(keep, this.another, list, this.compareLink, this.spoken);
    const point = () => {
      const what = encodeURIComponent(`typed:${this.calc.id}:${this.calc.slot}`);
      this.compareLink.href = new URL(`saved/#compare=${what}`, HOME).href;
    };
    this.calc.addEventListener("changed", point);
    point();
  }

  /** Show a saved design, with what was changed in it here. @param {import("./saved.js").SavedDesign} record */
  open(record) {
    const { calc } = this;
    const slot = slotOf(record.id);
    const before = state.baseOf(calc.id, slot);
    this.record = record;
    calc.base = before || record.revision;
    const changed = this.content.fillSlot(slot, record.document);
    this.#settle(record, changed ? calc.base : record.revision);
    if (calc.base !== record.revision) this.#changedElsewhere();
  }

  close() {
    this.record = null;
    this.calc.base = 0;
    this.#show();
  }

  /** @param {import("./saved.js").SavedDesign} record @param {number} base */
  #settle(record, base) {
    const { calc } = this;
    this.record = record;
    calc.base = base;
    state.save(calc.id, calc.slot, calc.read(), base);
    this.#show();
  }

  #isChanged() {
    return this.record !== null && !sameDocument(this.record.document, this.#document());
  }

  /** What stands in the form; its name where the box for it is empty. */
  #document() {
    const document = this.calc.read();
    return document.name || !this.record ? document : { ...document, name: this.record.name };
  }

  #show() {
    const { record } = this;
    this.panel.hidden = this.another.hidden = record === null;
    if (!record) return;
    const changed = this.#isChanged();
    this.title.textContent = `“${record.name}”`;
    const place = this.saved.isFleeting(record.id) ? tr("is not kept: it goes with this page.") : tr("is saved on this device.");
    if (changed) this.#say("");
    const text = changed ? tr("was changed since it was saved. The changes are kept here until you save them.") : place;
    if (this.said.textContent !== text) this.said.textContent = text;
    this.saveAgain.hidden = this.asBefore.hidden = !changed;
    [this.back.textContent] = this.content.wayBack();
  }

  #revert() {
    const { calc, record } = this;
    replace(calc, () => calc.fill(record.document), tr("“{name}” as it was saved.", record));
    this.#settle(record, record.revision);
  }

  /** Save what stands in the form: into the open design, or as a new one. */
  async save() {
    if (!this.record) return this.#saveNew();
    const document = this.#document();
    try {
      const { record, beside } = await this.saved.save(this.record.id, document, this.calc.base);
      if (record.id === this.record.id) this.#settle(record, record.revision);
      else this.#moveTo(record);
      if (beside) this.#sayBeside(record.name);
      else this.#say(tr("“{name}” is saved on this device.", record));
    } catch (error) {
      this.#failed(error);
    }
    return undefined;
  }

  async #saveNew() {
    const { calc } = this;
    const document = calc.read();
    const was = calc.slot;
    const heading = window.document.querySelector("h1")?.textContent.trim() ?? calc.id;
    const date = new Date().toLocaleDateString(LOCALE, { dateStyle: "medium" });
    try {
      const record = await this.saved.add(document, document.name ?? `${heading}, ${date}`);
      // Typing may have gone on meanwhile; what is saved is what stood there.
      if (calc.slot !== was) return;
      this.#moveTo(record);
      if (was === "own" && !this.saved.isFleeting(record.id)) state.forget(calc.id, "own");
      this.#show();
      this.#say(tr("Saved on this device as “{name}”.", record));
    } catch (error) {
      this.#failed(error);
    }
  }

  /** Go on with another saved design, which holds what stands in the form. @param {import("./saved.js").SavedDesign} record */
  #moveTo(record) {
    const { calc } = this;
    const typed = calc.read();
    const slot = slotOf(record.id);
    const left = this.record && calc.slot;
    calc.dispatchEvent(Object.assign(new Event("moved"), { to: slot }));
    calc.slot = slot;
    this.content.goTo(`saved=${record.id}`);
    window.document.querySelector('.er-calc > [data-bar="link"]')?.remove();
    this.record = record;
    calc.base = record.revision;
    calc.fill({ ...typed, name: record.name });
    // What was typed into the other one is in this one now.
    if (left) state.forget(calc.id, left);
    this.#settle(record, record.revision);
  }

  #nameBox() {
    const box = this.calc.form.querySelector('[name="name"]');
    box.closest("details").open = true;
    box.focus();
    box.select();
  }

  /** @param {string} text */
  #say(text) {
    this.spoken.textContent = text;
  }

  /** @param {string} name */
  #sayBeside(name) {
    const text = tr("Another tab saved this design meanwhile. Both are kept: yours is “{name}”.", { name });
    this.#say(text);
    hideBar(this.calc.root, "elsewhere");
    showBar(this.calc.root, "saved", text);
  }

  /** @param {unknown} error */
  #failed(error) {
    console.info("Not saved.", String(error));
    showBar(this.calc.root, "saved", tr("This design could not be saved on this device. Save it as a file instead."));
  }

  async #changedElsewhere() {
    const id = this.record?.id;
    const now = await this.saved.get(id);
    if (!this.record || this.record.id !== id) return;
    if (!now) {
      showBar(
        this.calc.root,
        "elsewhere",
        tr("“{name}” was deleted in another tab. It still stands here: save it to keep it.", this.record),
      );
      return;
    }
    if (now.revision === this.calc.base) return;
    const adopt = () => {
      replace(this.calc, () => this.calc.fill(now.document), tr("“{name}” as the other tab saved it.", now));
      this.#settle(now, now.revision);
    };
    showBar(
      this.calc.root,
      "elsewhere",
      tr("Another tab saved “{name}” differently. Saving here keeps both.", now),
      [[tr("Show the other"), adopt]],
    );
  }
}
