// Start of everything on a page: forms, links, offline use.

import { calculatorOf, mountActions, replace, tellUnknown } from "./actions.js";
import { CalcForm } from "./calc-form.js";
import { core } from "./core-client.js";
import { mountDocuments } from "./documents.js";
import { mountFigures } from "./figure-view.js";
import { hideBar, showBar } from "./notice-bar.js";
import { mountOffline } from "./offline.js";
import { mountPrint } from "./print.js";
import { checkHead, decode, isDesignLink, LinkError } from "./share.js";
import * as state from "./state.js";
import { mountStatus } from "./status.js";

const BASE = new URL("../../", import.meta.url);
const meta = (name) => document.querySelector(`meta[name="${name}"]`)?.content ?? "";
const CALCULATORS = meta("evenrow-calculators").split(" ").filter(Boolean);
const place = document.querySelector(".er-calc") ?? document.querySelector(".md-content__inner");

/** @returns {Promise<any>} the document in the address, or null after saying why not */
async function documentInLink() {
  if (!isDesignLink(location.hash)) return null;
  try {
    const source = await decode(location.hash);
    checkHead(source);
    return source;
  } catch (error) {
    refuseLink(error instanceof LinkError ? error.message : "This link cannot be read.");
    return null;
  }
}

/** Say why a link shows nothing, and whose figures these are then. @param {string} why */
function refuseLink(why) {
  const id = document.querySelector(".er-calc")?.dataset.calculator;
  const whose = id && state.load(id, "own") ? "what you typed here before" : "our example";
  showBar(place, "link", id ? `${why} The figures below are ${whose}, not the sender’s design.` : why);
  // A reload or a copied address must not bring the refused link back.
  history.replaceState(null, "", location.pathname + location.search);
}

/** Go to the page that a document is for; true when on the way. @param {any} source @param {string} here */
function wentElsewhere(source, here) {
  const wanted = calculatorOf(source);
  if (wanted === here) return false;
  if (!CALCULATORS.includes(wanted)) {
    refuseLink("This link is for a calculator that this Evenrow does not have.");
    return true;
  }
  location.replace(new URL(`${wanted}/${location.hash}`, BASE));
  return true;
}

/** @param {CalcForm} calc */
function showOwn(calc) {
  calc.slot = "own";
  const own = state.load(calc.id, "own");
  if (own) {
    try {
      calc.fill(own);
    } catch (error) {
      console.info("The form could not be filled.", String(error));
      state.forget(calc.id, "own");
      calc.reset();
      showBar(place, "own", "What was kept here from before cannot be shown. This is our example.");
    }
  } else {
    // A link's values may stand there: they must not pass for one's own.
    calc.reset();
  }
}

/**
 * Fill the form with a link's design, or with what was made of it here.
 * @param {CalcForm} calc
 * @param {any} source
 * @returns {boolean} whether it was changed here
 */
function fillFromLink(calc, source) {
  const kept = state.load(calc.id, calc.slot);
  tellUnknown(calc, calc.fill(source));
  if (!kept || JSON.stringify(kept) === JSON.stringify(calc.read())) return false;
  calc.fill(kept);
  return true;
}

/** Fill the form from the link, or from what was typed here. @param {CalcForm} calc */
async function showContent(calc) {
  hideBar(place, "link");
  const fragment = location.hash;
  const source = await documentInLink();
  if (!source) return showOwn(calc);
  if (wentElsewhere(source, calc.id)) return showOwn(calc);
  const slot = await state.linkSlot(fragment);
  // Another link was opened meanwhile.
  if (location.hash !== fragment) return showContent(calc);
  calc.slot = slot;
  state.forgetOldLinks();
  let changed = false;
  try {
    changed = fillFromLink(calc, source);
  } catch (error) {
    console.info("The form could not be filled.", String(error));
    calc.reset();
    state.forget(calc.id, slot);
    refuseLink("The design in this link cannot be shown.");
    return showOwn(calc);
  }
  const leave = () => {
    history.replaceState(null, "", location.pathname);
    showOwn(calc);
  };
  /** @type {[string, () => void][]} */
  const actions = [];
  const asSent = () => {
    replace(calc, () => calc.fill(source), "This is the design as it was sent.");
    showContent(calc);
  };
  if (state.load(calc.id, "own")) actions.push(["Back to what I typed", leave]);
  else actions.push(["Start my own", leave]);
  if (changed) actions.push(["Show as sent", asSent]);
  showBar(
    place,
    "link",
    `This is a design from a link${changed ? ", with what you changed in it here" : ""}. ` +
      "What you typed on this device before is kept apart and safe.",
    actions,
    { closable: false },
  );
}

/** Go to a part of the answer; the address keeps the design that it may hold. @param {Event} event */
function jump(event) {
  const link = event.target instanceof Element && event.target.closest(".er-jumps a");
  if (!link) return;
  event.preventDefault();
  const part = document.getElementById(link.getAttribute("href").slice(1));
  part.focus({ preventScroll: true });
  part.scrollIntoView({ block: "start" });
}

/** @param {HTMLElement} root */
function mountCalculator(root) {
  const calc = new CalcForm(root);
  const sticky = root.querySelector(".er-sticky");
  sticky.addEventListener("click", (event) => {
    event.preventDefault();
    root.querySelector(".er-answer-title").scrollIntoView({ block: "start" });
  });
  // The line at the foot of the screen goes while the answer itself is in sight.
  new IntersectionObserver(([seen]) => sticky.classList.toggle("er-away", seen.isIntersecting)).observe(
    calc.result,
  );
  mountStatus(root.querySelector(".er-status"), calc);
  mountPrint(calc);
  mountFigures(calc);
  mountDocuments(calc);
  root.addEventListener("click", jump);
  mountActions(calc, root.querySelector(".er-actions"));
  state.whenRefused(() =>
    showBar(
      root,
      "storage",
      "This browser keeps nothing for this site: copy the link or save the file before you leave.",
    ),
  );
  core.addEventListener("status", () => {
    if (core.info && core.info.version !== meta("evenrow-version")) {
      showBar(root, "version", "This page is older than its calculator. Reload to bring them together.", [
        ["Reload", () => location.reload()],
      ]);
    }
  });
  showContent(calc);
  addEventListener("hashchange", () => {
    if (isDesignLink(location.hash) || calc.slot !== "own") showContent(calc);
  });
}

for (const root of document.querySelectorAll(".er-calc")) mountCalculator(root);
if (!document.querySelector(".er-calc")) {
  documentInLink().then((source) => source && wentElsewhere(source, ""));
}
mountOffline(place);
