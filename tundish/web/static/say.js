// Words of the pages in the language chosen. Titles, cautions and questions come from the descriptions and are English.
import { signal } from "./ui.js";
import { EN } from "./words_en.js";
import { DE } from "./words_de.js";

const CATALOGUES = { en: EN, de: DE };
const KEPT = "tundish";

/** Language, theme, units and whether one is qualified: kept on this phone. units "" means the market's own. */
export const choice = signal({ language: "en", theme: "", units: "", ...read() });

/** Change a choice of this phone. */
export function choose(change) {
  choice.value = { ...choice.value, ...change };
  localStorage.setItem(KEPT, JSON.stringify(choice.value));
  apply();
}

/** The words of a key, with {names} filled in. */
export function say(key, names = {}) {
  const words = CATALOGUES[choice.value.language]?.[key] ?? EN[key] ?? key;
  return words.replace(/\{(\w+)\}/g, (_, name) => names[name] ?? "");
}

/** Put theme and language on the page. */
export function apply() {
  document.documentElement.lang = choice.value.language;
  document.documentElement.dataset.theme = choice.value.theme;
}

/** Money in minor units. */
export function money(minor, currency) {
  if (minor === null || minor === undefined) return "–";
  return new Intl.NumberFormat(choice.value.language, { style: "currency", currency }).format(minor / 100);
}

/** Money estimated, whole units. */
export function about(amount, currency) {
  return new Intl.NumberFormat(choice.value.language, { style: "currency", currency, maximumFractionDigits: 0 }).format(amount);
}

/** A chance in words a hand can trust: no false figures, and never 0 or 100. */
export function share(chance) {
  if (chance > 0 && chance < 0.005) return "<1\u00a0%";
  if (chance < 1 && chance > 0.995) return ">99\u00a0%";
  return `${Math.round(100 * chance)}\u00a0%`;
}

/** Minutes. */
export const minutes = (count) => say("minutes", { count: count < 1 ? "<1" : Math.round(count) });

/** A moment of the day. */
export const clock = (at) => new Date(at).toLocaleString(choice.value.language, { dateStyle: "short", timeStyle: "short" });

function read() {
  try {
    return JSON.parse(localStorage.getItem(KEPT) || "{}");
  } catch {
    return {};
  }
}
