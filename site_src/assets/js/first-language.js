// Only on the start page of a site whose keeper speaks another language: whoever arrives is taken there.
// Whoever comes from a page of this site, by the switch in the header, has chosen this one.

const wanted = document.querySelector('meta[name="evenrow-language"]')?.content ?? "";
const base = new URL("../../", import.meta.url).href;

if (/^[a-z]{2}$/.test(wanted) && !document.referrer.startsWith(base)) {
  location.replace(new URL(`${wanted}/`, base));
}
