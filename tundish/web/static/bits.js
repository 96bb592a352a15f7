// Small pieces that many pages share.
import { html } from "./ui.js";
import { clock, say } from "./say.js";
import { simulating } from "./server.js";

/** Cautions and notices. */
export function Notices({ list, bad }) {
  if (!list?.length) return null;
  return html`<ul class=${`warn ${bad ? "bad" : ""}`}>${list.map((words) => html`<li>${words}</li>`)}</ul>`;
}

/** That facts are from before, or worked out on this phone. */
export function Kept({ at, behind, reckoned }) {
  if (at && reckoned) return html`<p class="small soft">${say("reckoned_here")}</p>`;
  if (at && behind?.length) return html`<p class="warn">${say("odds_behind", { at: clock(at), checks: behind.join(", ") })}</p>`;
  return at ? html`<p class="small soft">${say("kept_from", { at: clock(at) })}</p>` : null;
}

export function Law({ words }) {
  return words ? html`<p class="law">${words}</p>` : null;
}

/** A refusal in its three parts, or that nobody answered. */
export function Fault({ error }) {
  const parts = error.allowed !== undefined ? html`<b>${say(error.seen)}</b>${error.allowed ? html`<br />${say("allowed", { what: error.allowed })}` : null}${error.do ? html`<br />${say("do_this", { what: error.do })}` : null}` : say("nobody_answers");
  return html`<p class="warn bad" role="alert">${parts}</p>`;
}

export function Waiting() {
  const part = simulating.value;
  return html`<div class="card" role="status"><p>${say("working")}</p><div class="progress"><i style=${{ width: `${Math.round(100 * (part ?? 0.05))}%` }}></i></div></div>`;
}

/** A page without its facts yet: the title stands, so that one knows where one is. */
export function Blank({ title, error }) {
  return html`<main id="page" class="page"><h1>${title}</h1>${error ? html`<${Fault} error=${error} />` : html`<${Waiting} />`}</main>`;
}
