// What Python is doing: starting with progress, working with a stop button, failed with a retry.

import { core } from "./core-client.js";
import { button, element } from "./notice-bar.js";
import { tr } from "./texts.js";

const WORDS = {
  runtime: tr("Starting the calculator on this device…"),
  kept: tr("Starting the calculator…"),
  packages: tr("Unpacking the calculator…"),
  core: tr("Almost ready…"),
};
const WORKING = tr("Working out your values…");
const BUSY_AFTER_MS = 400;
const STOP_AFTER_MS = 3000;

/** @param {HTMLElement} place @param {import("./calc-form.js").CalcForm} calc */
export function mountStatus(place, calc) {
  place.hidden = false;
  const again = () => calc.update();
  const isFirst = () => calc.result.dataset.live !== "true";
  let job = 0;
  /** @type {ReturnType<typeof setTimeout>[]} */
  let timers = [];
  let stopped = false;

  const clear = () => {
    for (const timer of timers) clearTimeout(timer);
    timers = [];
  };

  /** @param {string} text @param {number | null} progress @param {...HTMLElement} extra */
  const paint = (text, progress, ...extra) => {
    place.dataset.state = core.status.stage;
    place.dataset.start = core.info?.start ?? "";
    const line = element("p", "er-status-text", text);
    const parts = [line];
    if (progress !== null) {
      const bar = element("progress", "er-progress");
      bar.max = 1;
      if (progress > 0) bar.value = progress;
      bar.setAttribute("aria-label", text);
      parts.push(bar);
    }
    place.replaceChildren(...parts, ...extra);
  };

  const stop = button(tr("Stop"), () => {
    stopped = true;
    core.stop();
  });
  stop.classList.add("er-stop");

  const draw = () => {
    const { stage, progress, message } = core.status;
    if (stage === "failed") {
      clear();
      const text = calc.root.classList.contains("er-stale")
        ? tr("The live calculator did not start. What you typed is kept; the answer shown is for other values. ({why})", { why: message })
        : tr("The live calculator did not start. What you typed is kept; the answer shown is for the values shown. ({why})", { why: message });
      const retry = button(tr("Try again"), () => {
        core.retry();
        again();
      });
      paint(text, null, retry);
    } else if (stage in WORDS) {
      clear();
      job = 0;
      const first = calc.phase === "waiting" ? `${WORKING} ${WORDS[stage]}` : WORDS[stage];
      paint(stopped ? tr("Stopped. Starting afresh…") : first, progress);
    } else if (stage === "ready" && core.running) {
      if (job === core.running.id) return;
      clear();
      job = core.running.id;
      stopped = false;
      if (isFirst()) paint(WORKING, 0);
      else timers.push(setTimeout(() => paint(tr("Working…"), 0), BUSY_AFTER_MS));
      timers.push(setTimeout(() => paint(tr("Still working…"), 0, stop), STOP_AFTER_MS));
    } else if (stage === "ready") {
      clear();
      job = 0;
      if (stopped) {
        const more = button(tr("Work it out again"), () => {
          stopped = false;
          again();
        });
        paint(tr("Stopped. What you typed is kept."), null, more);
      } else if (calc.phase === "current") {
        paint(tr("Live: answers follow what you type."), null);
      } else if (calc.phase === "refused") {
        paint(tr("Live, but the answer shown is for earlier values."), null);
      } else if (isFirst()) {
        paint(WORKING, 0);
      } else {
        // Said only when it takes a while, or each key would be heard.
        timers.push(setTimeout(() => paint(WORKING, 0), BUSY_AFTER_MS));
      }
    } else {
      paint("", null);
    }
  };
  core.addEventListener("status", draw);
  calc.addEventListener("phase", draw);
  draw();
}
