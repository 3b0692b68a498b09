// Two designs of one calculator side by side: chosen here, worked out by Python.

import { core, DroppedError } from "./core-client.js";
import { button, element } from "./notice-bar.js";
import * as state from "./state.js";
import { tr } from "./texts.js";

/**
 * @typedef {{value: string, label: string, name: string, calculator: string,
 *   document: Record<string, any>}} Candidate `label` says it among all, `name` in a table
 */

/** What the address asks to compare. @param {string} fragment @returns {string[]} */
export function asked(fragment) {
  const found = /^#?compare=([^,]{1,400})(?:,([^,]{1,400}))?$/.exec(fragment);
  if (!found) return [];
  try {
    return found.slice(1).filter(Boolean).map(decodeURIComponent);
  } catch {
    return [];
  }
}

/**
 * What can be compared: what is saved, and what stands in the forms.
 * @param {import("./saved.js").SavedDesign[]} records
 * @param {Record<string, string>} titles
 * @param {string[]} wanted values from the address
 * @returns {Candidate[]}
 */
export function candidates(records, titles, wanted = []) {
  const found = records
    .filter(({ calculator }) => Object.hasOwn(titles, calculator))
    .map(({ id, name, calculator, document }) => ({ value: `saved:${id}`, label: name, name, calculator, document }));
  const forms = Object.keys(titles).map((id) => `typed:${id}:own`);
  for (const value of new Set([...wanted, ...forms])) {
    const [, calculator, slot] = /^typed:([a-z0-9-]+):(.+)$/s.exec(value) ?? [];
    if (!calculator || !Object.hasOwn(titles, calculator)) continue;
    const document = state.load(calculator, slot);
    if (!document) continue;
    const unsaved = slot === "own" ? tr("what you typed") : tr("what stands on the page");
    const name = document.name ? tr("{name}, on the page", { name: document.name }) : unsaved;
    found.push({ value, label: `${titles[calculator]}: ${name}`, name, calculator, document });
  }
  return found;
}

/**
 * Build the part of the page.
 * @param {HTMLElement} place
 * @param {import("./saved.js").Saved} saved
 * @param {Record<string, string>} titles
 */
export function mountCompare(place, saved, titles) {
  /** @type {Candidate[]} */
  let offered = [];
  let wanted = asked(location.hash);
  const heading = element("h2", "", tr("Compare two designs"));
  const none = element("p", "er-help", tr("Two designs of the same calculator are needed: save one, or type something on its page."));
  const form = element("form", "er-compare-form");
  const [first, second] = [tr("First design"), tr("Second design")].map((words) => {
    const label = element("label", "", words);
    const chooser = element("select", "");
    label.append(chooser);
    form.append(label);
    return chooser;
  });
  const go = element("button", "er-button er-primary er-compare-go", tr("Compare"));
  form.append(go);
  const said = element("p", "er-compare-said");
  said.setAttribute("role", "status");
  const output = element("div", "er-compare-output");
  place.replaceChildren(heading, none, form, said, output);

  const of = (chooser) => offered.find(({ value }) => value === chooser.value);

  /** The second of a pair is of the same calculator. */
  const pair = (keep = second.value) => {
    const chosen = of(first);
    const others = offered.filter((each) => each !== chosen && each.calculator === chosen?.calculator);
    fill(second, others, keep);
    go.hidden = second.parentElement.hidden = !others.length;
    if (chosen && !others.length) said.textContent = tr("There is no other design of that calculator here.");
    else said.textContent = "";
  };

  const run = async () => {
    const [left, right] = [of(first), of(second)];
    if (!left || !right) return;
    said.textContent = tr("Working both out…");
    output.replaceChildren();
    try {
      const request = { v: 1, op: "compare", left: left.document, right: right.document, units: state.preferredUnits() };
      const reply = await core.ask("compare", request);
      if (!reply.ok) throw new Error(reply.error.message);
      said.textContent = "";
      const twins = left.name === right.name;
      const names = twins ? [tr("{name} (first)", left), tr("{name} (second)", right)] : [left.name, right.name];
      output.replaceChildren(...comparison(reply, names));
    } catch (error) {
      if (!(error instanceof DroppedError)) {
        said.textContent = tr("They could not be compared: {why}", { why: error.message });
      }
    }
  };

  first.addEventListener("change", () => pair());
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    run();
  });

  return {
    /** Offer what there is now. @param {import("./saved.js").SavedDesign[]} records */
    offer(records) {
      offered = candidates(records, titles, wanted);
      const several = new Set(
        offered.map(({ calculator }) => calculator).filter((id) => offered.filter((each) => each.calculator === id).length > 1),
      );
      none.hidden = several.size > 0;
      form.hidden = offered.length < 2;
      if (form.hidden) return;
      const start = first.value || wanted[0] || offered.find(({ calculator }) => several.has(calculator))?.value;
      fill(first, offered, start);
      pair(second.value || wanted[1]);
      if (wanted.length) {
        heading.scrollIntoView({ block: "start" });
        if (wanted.length === 2) run();
      }
      wanted = wanted.filter((value) => value.startsWith("typed:"));
    },
  };
}

/** @param {HTMLSelectElement} chooser @param {Candidate[]} entries @param {string | undefined} chosen */
function fill(chooser, entries, chosen) {
  chooser.replaceChildren(...entries.map(({ label, value }) => new Option(label, value)));
  if (entries.some(({ value }) => value === chosen)) chooser.value = chosen;
}

/**
 * @param {any} reply of Python
 * @param {string[]} names of the two
 * @returns {HTMLElement[]}
 */
function comparison(reply, names) {
  const made = [element("h3", "", tr("{title}: {one} and {other}", { title: reply.title, one: names[0], other: names[1] }))];
  [reply.problems.left, reply.problems.right].forEach((problem, index) => {
    if (!problem) return;
    const text = tr("{name} has no answer: {why}.", { name: names[index], why: problem });
    made.push(element("p", "er-notice er-warning", text));
  });
  const inputs = reply.inputs.map(({ label, left, right }) => [label, left, right]);
  if (inputs.length) made.push(table(tr("What is different in the forms"), [tr("Field"), ...names], inputs));
  else made.push(element("p", "", tr("The forms hold the same values.")));
  const results = reply.results.map(({ label, left, right, difference }) => [label, left, right, difference]);
  const worded = new Set(reply.results.filter(({ kind }) => kind === "text").map(({ label }) => label));
  if (results.length) made.push(table(tr("What comes of it"), [tr("Result"), ...names, tr("Difference")], results, worded));
  const bar = element("div", "er-saved-bar");
  bar.append(button(tr("Print"), () => window.print()));
  made.push(bar);
  return made;
}

/**
 * @param {string} title
 * @param {string[]} head
 * @param {string[][]} rows
 * @param {Set<string>} [worded] first cells of the rows that hold sentences, not numbers
 */
function table(title, head, rows, worded = new Set()) {
  const holder = element("div", "er-result-table er-wide er-side-by-side");
  holder.tabIndex = 0;
  holder.setAttribute("role", "region");
  holder.setAttribute("aria-label", title);
  const made = element("table", "");
  made.setAttribute("role", "table");
  made.append(element("caption", "", title));
  const cell = (tag, role, text, index, isWorded = false) => {
    const one = element(tag, index && !isWorded ? "er-number-cell" : "", text);
    if (!text) one.classList.add("er-empty");
    one.setAttribute("role", role);
    if (tag === "th") one.scope = role === "rowheader" ? "row" : "col";
    one.dataset.label = head[index];
    return one;
  };
  const line = (cells) => {
    const row = element("tr", "");
    row.setAttribute("role", "row");
    row.append(...cells);
    return row;
  };
  const top = element("thead", "");
  const body = element("tbody", "");
  for (const part of [top, body]) part.setAttribute("role", "rowgroup");
  top.append(line(head.map((text, index) => cell("th", "columnheader", text, index))));
  body.append(
    ...rows.map((row) => {
      const same = row[1] === row[2];
      const isWorded = worded.has(row[0]);
      const whole = line(
        row.map((text, index) =>
          index ? cell("td", "cell", text, index, isWorded) : cell("th", "rowheader", text, 0),
        ),
      );
      whole.classList.toggle("er-same", same);
      return whole;
    }),
  );
  made.append(top, body);
  holder.append(made);
  return holder;
}
