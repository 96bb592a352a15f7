// Where one is: the path as a signal, links that do not load the page anew.
import { computed, signal } from "./ui.js";

export const path = signal(location.pathname);
export const hash = signal(location.hash);
export const parts = computed(() => path.value.split("/").filter(Boolean).map(decodeURIComponent));

/** Go to a page. */
export function go(to, { replace = false } = {}) {
  history[replace ? "replaceState" : "pushState"](null, "", to);
  arrived();
  scrollTo(0, 0);
}

addEventListener("popstate", arrived);
document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a[href^='/']");
  if (!link || link.target || link.download || event.button || event.ctrlKey || event.metaKey || event.shiftKey) return;
  if (/^\/(api|static|report)\b/.test(link.getAttribute("href"))) return;
  event.preventDefault();
  go(link.getAttribute("href"));
});

function arrived() {
  path.value = location.pathname;
  hash.value = location.hash;
}
