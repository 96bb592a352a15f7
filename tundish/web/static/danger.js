// Below a danger no work goes on: pages that would go on with it show what is to be done instead.
import { html } from "./ui.js";
import { say } from "./say.js";
import { at, useFacts } from "./case.js";
import { overlaid } from "./next.js";

/** Whether a danger stands: one that was seen at the machine, or one that the computer finds in what was read and told. */
export function useDanger(call, held) {
  const { data, kept } = useFacts(at(call, "safe"));
  // An old answer may speak of a reading that was taken back since
  const shown = !kept && data?.facets.hazard === "seen";
  return shown || overlaid(data, held.state)?.facets.hazard === "seen";
}

export function Danger({ call }) {
  return html`<main id="page" class="page"><section class="funnel"><h1 class="not">${say("danger_stands")}</h1><p>${say("danger_do")}</p>
    <a class="tap main wide" href=${`/calls/${call}/safe`}>${say("stage_safe")}</a><p></p><a class="tap wide" href=${`/calls/${call}/close`}>${say("stage_close")}</a></section></main>`;
}
