// One-line bars with buttons: something happened, here is what can be done about it.

import { tr } from "./texts.js";

/**
 * @param {string} tag
 * @param {string} className
 * @param {string} [text]
 */
export function element(tag, className, text) {
  const made = document.createElement(tag);
  if (className) made.className = className;
  if (text !== undefined) made.textContent = text;
  return made;
}

/**
 * @param {string} label
 * @param {() => void} action
 */
export function button(label, action) {
  const made = element("button", "er-button", label);
  made.type = "button";
  made.addEventListener("click", action);
  return made;
}

/**
 * Show a bar; a bar of the same kind is replaced.
 * @param {Element} place
 * @param {string} kind
 * @param {string} text
 * @param {[string, () => void][]} [actions] label and what it does; the bar goes when one is used
 * @param {{closable?: boolean}} [options]
 */
export function showBar(place, kind, text, actions = [], { closable = true } = {}) {
  hideBar(place, kind);
  const bar = element("div", `er-bar er-bar-${kind}`);
  bar.dataset.bar = kind;
  bar.setAttribute("role", "status");
  bar.append(element("p", "", text));
  const entries = closable ? [...actions, [tr("Close"), () => {}]] : actions;
  for (const [label, action] of entries) {
    bar.append(
      button(label, () => {
        bar.remove();
        action();
      }),
    );
  }
  place.prepend(bar);
}

/** @param {Element} place @param {string} kind */
export function hideBar(place, kind) {
  place.querySelector(`:scope > [data-bar="${kind}"]`)?.remove();
}
