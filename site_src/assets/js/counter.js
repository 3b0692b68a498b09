// The service counter: a short form for a customer, the link and the code that it makes, a poster to hang up.
//
// It keeps what is typed in a slot of its own, so that it never meets what was typed on the page of
// the whole field.

import { CalcForm } from "./calc-form.js";
import { marked } from "./catalogue-mark.js";
import { core, DroppedError } from "./core-client.js";
import { showSheet } from "./field-sheet.js";
import { button, element, showBar } from "./notice-bar.js";
import { encode, LinkError } from "./share.js";
import { mountStatus } from "./status.js";
import { HOME, LOCALE, tr } from "./texts.js";

/** @param {HTMLElement} root */
function mountCounter(root) {
  const calc = new CalcForm(root);
  calc.slot = "counter";
  mountStatus(root.querySelector(".er-status"), calc);
  const sticky = root.querySelector(".er-sticky");
  sticky.addEventListener("click", (event) => {
    event.preventDefault();
    root.querySelector(".er-counter-made").scrollIntoView({ block: "start" });
  });
  const place = root.querySelector(".er-counter-made");
  const said = element("div", "er-share-output");
  said.setAttribute("aria-live", "polite");
  const make = button(tr("Make link and code"), () => makeLink(calc, said));
  make.classList.add("er-primary", "er-counter-make");
  const next = button(tr("Next customer"), () => {
    said.replaceChildren();
    calc.reset();
    calc.form.querySelector("input, select")?.focus();
  });
  place.append(make, next, said);
  // What was made is for what stood there then.
  calc.addEventListener("changed", () => said.replaceChildren());
  calc.reset();
}

/** @param {CalcForm} calc @param {HTMLElement} said */
async function makeLink(calc, said) {
  const source = marked(calc.read());
  try {
    const link = new URL(`whole-field/#${await encode(source)}`, HOME).href;
    const date = new Date().toLocaleDateString(LOCALE, { dateStyle: "long" });
    const reply = await core.ask("poster", { v: 1, op: "poster", document: source, link, date });
    if (reply.ok) showMade(calc, said, link, reply);
    else showBar(calc.root, "counter", tr("There is no code of this: {why}.", { why: reply.error.message }));
  } catch (error) {
    if (error instanceof DroppedError) return;
    const why = error instanceof LinkError ? error.message : tr("The link could not be made.");
    showBar(calc.root, "counter", why);
  }
}

/**
 * @param {CalcForm} calc
 * @param {HTMLElement} said
 * @param {string} link
 * @param {{title: string, html: string, css: string, code: string}} made
 */
function showMade(calc, said, link, made) {
  const box = element("input", "er-link");
  box.readOnly = true;
  box.value = link;
  box.setAttribute("aria-label", tr("Link to this design"));
  const code = element("div", "er-counter-code");
  // Python has drawn it: paths and nothing else.
  code.innerHTML = made.code;
  const told = element("p", "", tr("The code opens this design. It holds everything typed here; nothing is stored on a server."));
  const copy = button(tr("Copy link"), async () => {
    try {
      await navigator.clipboard.writeText(link);
      told.textContent = tr("Copied.");
    } catch {
      box.focus();
      box.select();
      told.textContent = tr("Marked: copy it by hand.");
    }
  });
  const poster = button(tr("Poster"), () => showSheet(made, poster));
  poster.classList.add("er-counter-poster");
  const open = element("a", "", tr("Open the design"));
  open.href = link;
  said.replaceChildren(told, box, copy, poster, open, code);
}

for (const root of document.querySelectorAll(".er-counter")) mountCounter(root);
