// What each reading did to one cause.
import { html } from "./ui.js";
import { say, share } from "./say.js";
import { at, useFacts } from "./case.js";
import { Fault, Kept, Waiting } from "./bits.js";

export function Why({ call, cause, close }) {
  const { data, kept, error } = useFacts(at(call, `why/${encodeURIComponent(cause)}`));
  return html`<section class="card" aria-live="polite">
    <div class="row"><h2 style=${{ flex: 1 }}>${data?.title || cause}</h2><button class="tap low" onClick=${close}>${say("shut")}</button></div>
    <${Kept} at=${kept} />
    ${data ? html`<p>${data.sentence}</p><div class="scroll" tabindex="0" role="region" aria-label=${say("moved_by")}><table><thead><tr><th>${say("reading")}</th><th class="num">${say("before")}</th><th class="num">${say("after")}</th></tr></thead>
      <tbody>${data.influences.map((i) => html`<tr><td>${i.title}: <b>${i.shows}</b><br /><span class="small soft">${i.words}, ${i.decibans > 0 ? "+" : ""}${i.decibans} dB</span></td><td class="num">${share(i.before)}</td><td class="num">${share(i.after)}</td></tr>`)}</tbody></table></div>
      <p class="small soft">${say("machines_left", { count: data.machines })}</p>` : error ? html`<${Fault} error=${error} />` : html`<${Waiting} />`}
  </section>`;
}
