// The way to this page in the other language: takes along what the address says. What is typed
// is kept under the same name for every language; where this browser keeps nothing, it goes into
// the address too.

import { encode } from "./share.js";
import * as state from "./state.js";

/** @param {EventTarget | null} target @returns {HTMLAnchorElement | null} */
const linkAt = (target) => (target instanceof Element ? target.closest("a.er-language") : null);

/** @param {import("./calc-form.js").CalcForm | null} calc the form of the page, if it has one */
export function mountLanguageSwitch(calc) {
  // Ahead of the click too, for those who open the link elsewhere or copy it.
  for (const name of ["pointerdown", "focusin", "click"]) {
    document.addEventListener(name, ({ target }) => {
      const link = linkAt(target);
      if (link) link.hash = location.hash;
    });
  }
  document.addEventListener("click", async (event) => {
    const link = linkAt(event.target);
    if (!link || !calc || !state.keepsNothing()) return;
    if (event.button || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    // A design too long for a link stays behind: the other page says then whose figures it shows.
    link.hash = await encode(calc.read()).catch(() => location.hash);
    location.assign(link.href);
  });
}
