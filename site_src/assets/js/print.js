// What only stands on paper: name, date and link above the answer, and the form as a short list.

import { marked } from "./catalogue-mark.js";
import { element } from "./notice-bar.js";
import * as data from "./form-data.js";
import { encode } from "./share.js";
import { LOCALE, tr } from "./texts.js";

/** @param {import("./calc-form.js").CalcForm} calc */
export function mountPrint(calc) {
  const head = element("div", "er-print er-print-head");
  const values = element("div", "er-print er-print-values");
  calc.root.prepend(head);
  calc.root.querySelector(".er-ask").append(values);
  // Packing takes a moment that printing does not give, so the link is made beforehand.
  let link = "";
  let linkFor = "";
  calc.addEventListener("phase", async () => {
    const document = calc.read();
    const key = JSON.stringify(document);
    if (calc.phase === "waiting" || key === linkFor) return;
    link = "";
    linkFor = key;
    const fragment = await encode(marked(document)).catch(() => "");
    if (linkFor === key && fragment) link = `${location.origin}${location.pathname}#${fragment}`;
  });
  addEventListener("beforeprint", () => {
    const document = calc.read();
    const fits = JSON.stringify(document) === linkFor;
    writeHead(head, document.name, fits ? link : "");
    values.replaceChildren(...listed(calc.form));
    calc.root.classList.add("er-listed");
  });
}

/** @param {Element} head @param {string | undefined} name @param {string} link */
function writeHead(head, name, link) {
  const date = new Date().toLocaleDateString(LOCALE, { dateStyle: "long" });
  head.replaceChildren(element("p", "er-print-name", name ? `${name} · ${date}` : date));
  if (link) head.append(element("p", "er-print-link", tr("Open it again: {link}", { link })));
}

/** @param {HTMLFormElement} form @returns {HTMLElement[]} */
function listed(form) {
  const list = element("dl", "");
  const made = [element("h2", "", tr("Worked out for")), list];
  for (const each of form.querySelectorAll(".er-field, .er-table")) {
    if (each.hidden || each.parentElement?.closest(".er-table")) continue;
    if (each.matches(".er-table")) {
      if (!data.isEmpty(each)) made.push(tableOf(each));
      continue;
    }
    const text = data.shownText(each);
    if (!text) continue;
    const entry = element("div", "");
    entry.append(element("dt", "", data.labelOf(each)), element("dd", "", text));
    list.append(entry);
  }
  return made;
}

/** @param {Element} source @returns {HTMLElement} its filled rows as a plain table */
function tableOf(source) {
  const rows = data.rowsOf(source).map((row) => data.fieldsOf(row));
  const texts = rows.map((fields) => fields.map((field) => data.shownText(field)));
  const used = rows[0].map((_, place) => texts.some((row) => row[place]));
  const table = element("table", "er-print-table");
  const line = (tag, cells) => {
    const row = element("tr", "");
    row.append(...cells.filter((_, place) => used[place]).map((cell) => element(tag, "", cell)));
    return row;
  };
  table.append(element("caption", "", data.labelOf(source)));
  table.append(line("th", rows[0].map((field) => data.labelOf(field))));
  rows.forEach((fields, place) => {
    const typed = fields.map((field) => data.readField(field));
    if (typed.some((text) => text && text !== "no")) table.append(line("td", texts[place]));
  });
  return table;
}
