// The page of saved designs: the list, files in and out, two designs side by side.

import { marked } from "./catalogue-mark.js";
import { mountCompare } from "./compare.js";
import { DroppedError } from "./core-client.js";
import { FileProblem, readDesign, saveDesign, unusable } from "./design-files.js";
import { button, element, showBar } from "./notice-bar.js";
import { LOST, plainName, Saved } from "./saved.js";
import * as state from "./state.js";
import { HOME, LOCALE, tr } from "./texts.js";

const MOST_FILES = 50;
const meta = (name) => document.querySelector(`meta[name="${name}"]`)?.content ?? "";

/** Titles of the calculators by id. @returns {Record<string, string>} */
const titles = () => JSON.parse(meta("evenrow-titles") || "{}");

class SavedPage {
  /** @param {HTMLElement} root .er-saved */
  constructor(root) {
    this.root = root;
    this.titles = titles();
    this.catalogue = meta("evenrow-catalogue");
    this.saved = new Saved({ catalogue: this.catalogue });
    /** Which design's name is being changed. */
    this.renaming = "";
    this.saved.addEventListener("lost", ({ full }) => this.#bar("lost", LOST[full ? "full" : "refused"]), {
      once: true,
    });
    this.saved.addEventListener("change", () => this.draw());
    // A page that comes back with "back" missed what happened meanwhile.
    addEventListener("pageshow", ({ persisted }) => persisted && this.draw());
    this.#build();
    this.compare = mountCompare(root.querySelector(".er-compare"), this.saved, this.titles);
    this.draw();
  }

  #build() {
    const file = element("input", "");
    file.type = "file";
    file.multiple = true;
    file.accept = ".toml,.json,text/plain,application/toml,application/json";
    file.hidden = true;
    file.setAttribute("aria-label", tr("Design files to open"));
    file.addEventListener("change", async () => {
      const chosen = [...file.files];
      file.value = "";
      if (chosen.length) await this.#import(chosen);
    });
    const open = button(tr("Add design files"), () => file.click());
    open.classList.add("er-import");
    this.said = element("ul", "er-import-said");
    this.said.setAttribute("role", "status");
    this.list = element("ul", "er-saved-list");
    this.list.setAttribute("aria-label", tr("Saved designs"));
    this.empty = element("p", "er-saved-empty", tr("Nothing is saved here yet: on any calculator page press “Save on this device”."));
    const bar = element("div", "er-saved-bar");
    bar.append(open, file);
    this.compareSection = element("section", "er-compare");
    this.root.replaceChildren(bar, this.said, this.empty, this.list, this.compareSection);
  }

  /** @param {string} kind @param {string} text @param {[string, () => void][]} [actions] */
  #bar(kind, text, actions) {
    showBar(this.root, kind, text, actions);
  }

  async draw() {
    const records = await this.saved.list();
    const at = document.activeElement?.dataset?.at;
    this.empty.hidden = records.length > 0;
    const typed = this.list.querySelector(".er-rename input")?.value;
    this.list.replaceChildren(...records.map((record) => this.#entry(record)));
    const box = this.list.querySelector(".er-rename input");
    if (box && typed !== undefined) box.value = typed;
    if (at) this.list.querySelector(`[data-at="${CSS.escape(at)}"]`)?.focus();
    if (this.saved.unreadable) {
      this.#bar("unreadable", tr("{count} of the saved designs cannot be read by this Evenrow. They are left as they are.", { count: this.saved.unreadable }));
    }
    this.compare.offer(records);
  }

  /** @param {import("./saved.js").SavedDesign} record */
  #entry(record) {
    const entry = element("li", "er-saved-entry");
    entry.dataset.id = record.id;
    const heading = element("h3", "er-saved-name");
    const known = Object.hasOwn(this.titles, record.calculator);
    if (known) {
      const link = element("a", "", record.name);
      link.href = new URL(`${record.calculator}/#saved=${record.id}`, HOME).href;
      heading.append(link);
    } else heading.textContent = record.name;
    const about = element("p", "er-help", this.#about(record, known));
    entry.append(heading, about);
    entry.append(this.renaming === record.id ? this.#renameForm(record) : this.#buttons(record));
    return entry;
  }

  /** @param {import("./saved.js").SavedDesign} record @param {boolean} known */
  #about(record, known) {
    const date = new Date(record.at).toLocaleString(LOCALE, { dateStyle: "medium", timeStyle: "short" });
    const parts = [known ? this.titles[record.calculator] : tr("for a calculator that is not here"), date];
    if (record.catalogue) {
      parts.push(
        record.catalogue === this.catalogue
          ? tr("catalogue: {catalogue}", record)
          : tr("catalogue: {catalogue}, not the one in use now", record),
      );
    }
    if (this.saved.isFleeting(record.id)) parts.push(tr("not kept: goes with this page"));
    return parts.join(" · ");
  }

  /** @param {import("./saved.js").SavedDesign} record */
  #buttons(record) {
    const group = element("div", "er-saved-buttons");
    group.setAttribute("role", "group");
    group.setAttribute("aria-label", record.name);
    const add = (key, label, action) => {
      const made = button(label, action);
      made.setAttribute("aria-label", `${label}: ${record.name}`);
      made.dataset.at = `${key}:${record.id}`;
      group.append(made);
    };
    add("rename", tr("Rename"), () => {
      this.renaming = record.id;
      this.draw().then(() => this.list.querySelector(".er-rename input")?.select());
    });
    add("duplicate", tr("Duplicate"), () => this.#do(async () => {
      await this.saved.duplicate(record.id);
    }));
    add("toml", tr("File (TOML)"), () => this.#export(record, "toml"));
    add("json", tr("File (JSON)"), () => this.#export(record, "json"));
    add("delete", tr("Delete"), () => this.#do(() => this.#delete(record)));
    return group;
  }

  /** @param {import("./saved.js").SavedDesign} record */
  #renameForm(record) {
    const form = element("form", "er-rename");
    const label = element("label", "", tr("New name"));
    const box = element("input", "");
    box.type = "text";
    box.maxLength = 80;
    box.value = record.name;
    box.dataset.at = `name:${record.id}`;
    label.append(box);
    const keep = element("button", "er-button er-primary", tr("Keep this name"));
    const leave = () => {
      this.renaming = "";
      this.draw().then(() => this.list.querySelector(`[data-at="rename:${record.id}"]`)?.focus());
    };
    form.append(label, keep, button(tr("Cancel"), leave));
    form.addEventListener("keydown", (event) => event.key === "Escape" && leave());
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const name = plainName(box.value);
      if (!name) {
        box.focus();
        return;
      }
      this.#do(async () => {
        const now = await this.saved.rename(record.id, name);
        if (now) renameOpen(record, now);
        leave();
      });
    });
    return form;
  }

  /** @param {import("./saved.js").SavedDesign} record */
  async #delete(record) {
    const gone = await this.saved.remove(record.id);
    if (!gone) return;
    this.#bar("deleted", tr("“{name}” is deleted.", gone), [
      [tr("Put it back"), () => this.#do(() => this.saved.putBack(gone))],
    ]);
    this.root.querySelector('[data-bar="deleted"] button')?.focus();
  }

  /** @param {() => Promise<void>} action */
  async #do(action) {
    try {
      await action();
    } catch (error) {
      console.info("The list could not be changed.", String(error));
      this.#bar("lost", tr("That could not be done: this browser refuses to keep it."));
    }
    await this.draw();
  }

  /** @param {import("./saved.js").SavedDesign} record @param {"toml" | "json"} kind */
  async #export(record, kind) {
    try {
      await saveDesign(marked(record.document, record.catalogue), record.name, kind);
    } catch (error) {
      if (error instanceof DroppedError) return;
      this.#bar("file", tr("“{name}” could not be saved as a file: {why}", { ...record, why: error.message }));
    }
  }

  /** @param {File[]} files */
  async #import(files) {
    this.said.replaceChildren();
    const say = (text, bad = false) => this.said.append(element("li", bad ? "er-error" : "", text));
    for (const file of files.slice(0, MOST_FILES)) {
      try {
        const source = await readDesign(file);
        const { calculator = "whole-field" } = source;
        if (!Object.hasOwn(this.titles, calculator)) {
          throw new FileProblem(unusable(file, tr("it is for a calculator that is not here")));
        }
        const stem = file.name.replace(/\.[^.]*$/, "");
        const record = await this.saved.add({ calculator, ...source }, plainName(source.name) || stem);
        say(tr("{file} is saved as “{name}”.", { file: file.name, name: record.name }));
      } catch (error) {
        if (error instanceof DroppedError) say(tr("{file} was not read.", { file: file.name }), true);
        else {
          const unread = tr("{file} could not be read: {why}", { file: file.name, why: error.message });
          say(error instanceof FileProblem ? error.message : unread, true);
        }
      }
    }
    if (files.length > MOST_FILES) say(tr("Only the first {count} files were looked at.", { count: MOST_FILES }), true);
    await this.draw();
  }
}

/**
 * The copy of a design that a calculator page works on takes the new name too.
 * @param {import("./saved.js").SavedDesign} before
 * @param {import("./saved.js").SavedDesign} now
 */
function renameOpen(before, now) {
  const slot = `saved-${before.id}`;
  const working = state.load(before.calculator, slot);
  if (!working || state.baseOf(before.calculator, slot) !== before.revision) return;
  state.save(before.calculator, slot, { ...working, name: now.name }, now.revision);
}

for (const root of document.querySelectorAll(".er-saved")) new SavedPage(root);
