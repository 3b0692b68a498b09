// Start of everything on a page: forms, links, offline use.

import { mountActions } from "./actions.js";
import { CalcForm } from "./calc-form.js";
import { mountCarry, takeCarried } from "./carry.js";
import { mountChoices } from "./choices.js";
import { Content, documentInLink, wentElsewhere } from "./content.js";
import { core } from "./core-client.js";
import { mountDocuments } from "./documents.js";
import { mountFigures } from "./figure-view.js";
import { mountHistory } from "./history.js";
import { mountLanguageSwitch } from "./language-switch.js";
import { showBar } from "./notice-bar.js";
import { mountOffline } from "./offline.js";
import { mountPrint } from "./print.js";
import { LOST, Saved } from "./saved.js";
import { mountSorting } from "./sorting.js";
import * as state from "./state.js";
import { mountStatus } from "./status.js";
import { tr } from "./texts.js";

const meta = (name) => document.querySelector(`meta[name="${name}"]`)?.content ?? "";
const place = document.querySelector(".er-calc") ?? document.querySelector(".md-content__inner");

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
  mountSorting(calc);
  mountChoices(calc);
  mountDocuments(calc);
  root.addEventListener("click", jump);
  mountActions(calc, root.querySelector(".er-actions"));
  state.whenRefused(() =>
    showBar(
      root,
      "storage",
      tr("This browser keeps nothing for this site: copy the link or save the file before you leave."),
    ),
  );
  core.addEventListener("status", () => {
    if (core.info && core.info.version !== meta("evenrow-version")) {
      showBar(root, "version", tr("This page is older than its calculator. Reload to bring them together."), [
        [tr("Reload"), () => location.reload()],
      ]);
    }
  });
  const saved = new Saved({ catalogue: meta("evenrow-catalogue") });
  saved.addEventListener("lost", ({ full }) => showBar(root, "lost", LOST[full ? "full" : "refused"]), {
    once: true,
  });
  mountHistory(calc);
  mountCarry(calc);
  new Content(calc, saved).show().then(() => takeCarried(calc));
  mountLanguageSwitch(calc);
}

for (const root of document.querySelectorAll(".er-calc:not(.er-counter)")) mountCalculator(root);
if (!document.querySelector(".er-calc")) {
  mountLanguageSwitch(null);
  documentInLink().then((source) => source && wentElsewhere(source, ""));
}
mountOffline(place);
