// Load: what this call may need from the van.
import { html } from "./ui.js";
import { about, say, share } from "./say.js";
import { useCall, useFacts } from "./case.js";
import { Blank, Kept } from "./bits.js";

/** The day's load for one call or for several. */
export function Load({ call }) {
  useCall(call);
  const { data, kept, error } = useFacts(`/api/van?call=${call}`);
  if (!data) return html`<${Blank} title=${say("stage_load")} error=${error} />`;
  return html`<main id="page" class="page twin"><${Kept} at=${kept} /><${LoadOf} data=${data} /></main>`;
}

/** A part in words: what fits any family needs no family in front. */
export const named = (part) => part.replace(/^any: /, "");

/** The parts to take, what to order, and what each call may need. */
export function LoadOf({ data }) {
  const currency = data.currency;
  return html`<div class="side"><section class="funnel"><p class="tag">${say("take_along")}</p>
    ${data.load.length ? html`<ul class="lines">${data.load.map((p) => html`<li><div class="row"><b style=${{ flex: 1 }}>${p.pieces} × ${named(p.part)}</b><span class="num">${share(p.chance)}</span></div>
      <span class="small">${p.on_van >= p.pieces ? html`<span class="done">${say("on_van", { count: p.on_van })}</span>` : html`<span class="not">${say("not_on_van", { count: p.on_van })}</span>`} · ${say("saves", { cost: about(p.saves, currency) })}</span></li>`)}</ul>` : html`<h1>${say("nothing_to_take")}</h1>`}
    <p class="small">${say("fill", { fill: share(data.fill), without: share(data.with_stock_as_it_is.fill) })}</p></section>
    ${data.one_of_two ? html`<section class="card"><h2>${say("one_of_two")}</h2><p>${say("take_of_two", { take: named(data.one_of_two.take), cost: about(data.one_of_two.wrong_costs, currency) })}</p></section>` : null}</div>
    <div class="side">${data.order_now.length ? html`<section class="card"><h2>${say("order_now")}</h2><ul class="lines">${data.order_now.map((o) => html`<li><b>${o.pieces} × ${named(o.part)}</b><br /><span class="small">${o.why}</span></li>`)}</ul></section>` : null}
    ${data.calls.map((c) => html`<section class="card"><h2>${c.name || c.handle}: ${c.family}</h2><ul class="lines">
      ${c.sets.map((s) => html`<li class="row"><span style=${{ flex: 1 }}>${s.parts.map(named).join(" + ")}</span><span class="num">${share(s.chance)}</span></li>`)}
      <li class="row"><span style=${{ flex: 1 }}>${say("needs_nothing")}</span><span class="num">${share(c.nothing_needed)}</span></li></ul></section>`)}</div>`;
}
