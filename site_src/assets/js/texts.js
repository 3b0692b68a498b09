// The words that the browser says, in the language of the page: English in the code, the others
// as tables `texts-CODE.js` from the English text to theirs, with the same {places}.

/** The language of this page: BCP 47, "en" where there is no page. */
export const LANGUAGE = globalThis.document?.documentElement?.lang || "en";
/** For dates: those of an English page are written as the browser is set up. */
export const LOCALE = LANGUAGE === "en" ? undefined : LANGUAGE;
/** Where the site begins, and where its pages of this language do. */
export const BASE = new URL("../../", import.meta.url);
export const HOME = LANGUAGE === "en" ? BASE : new URL(`${LANGUAGE}/`, BASE);

/** @type {Record<string, string>} */
const TABLE = LANGUAGE === "en" ? {} : await table(LANGUAGE);

/** A page must work without its words: they are then English. @param {string} code */
async function table(code) {
  try {
    return (await import(`./texts-${code}.js`)).default;
  } catch (error) {
    console.info("The page's language did not load.", String(error));
    return {};
  }
}

/**
 * A text in the language of the page.
 * @param {string} english a literal where it is called, so that the texts can be collected
 * @param {Record<string, string | number>} [values] what its {places} hold
 * @param {Record<string, string>} [words] another table, for tests
 * @returns {string} English where there is no translation
 */
export function tr(english, values = {}, words = TABLE) {
  const text = Object.hasOwn(words, english) ? words[english] : english;
  return text.replace(/\{(\w+)\}/g, (place, name) =>
    Object.hasOwn(values, name) ? String(values[name]) : place,
  );
}
