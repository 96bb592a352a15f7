// Papers of a call: made by the server from the call as it stands, kept there as they were made, and sent by a link that ends.
import { html, useState } from "./ui.js";
import { clock, say } from "./say.js";
import { pull } from "./outbox.js";
import { ask, send } from "./server.js";
import { Fault } from "./bits.js";

const KINDS = ["report", "invoice", "customer", "quote", "handover"];
// Making a paper may have to simulate machines first, [ms]; our choice.
const PATIENCE = 60000;

/** made: [{ paper, sha256, at }] of the call. kinds: those that make sense here. */
export function Papers({ call, made, kinds = KINDS }) {
  const [error, fail] = useState(null);
  const [busy, working] = useState(false);
  const make = async (kind) => {
    working(true);
    fail(null);
    const wanted = { kind, size: "", number: "", due_by: "" };
    await send(`/api/calls/${call}/paper`, wanted, { patience: PATIENCE }).then(() => pull(call, ask)).catch(fail);
    working(false);
  };
  return html`<section class="card"><h2>${say("papers")}</h2>
    <div class="row">${kinds.map((k) => html`<button class="tap" disabled=${busy} onClick=${() => make(k)}>${say(`paper_${k}`)}</button>`)}</div>
    ${busy ? html`<p role="status">${say("working")}</p>` : null}${error ? html`<${Fault} error=${error} />` : null}
    <ul class="lines">${made.map((p) => html`<${Paper} key=${p.sha256} call=${call} paper=${p} />`)}</ul></section>`;
}

function Paper({ call, paper }) {
  const [link, set] = useState(null);
  const [error, fail] = useState(null);
  const give = () => send(`/api/calls/${call}/link`, { sha256: paper.sha256, days: 30 }).then(set, fail);
  return html`<li><div class="row"><a class="tap main" href=${`/api/calls/${call}/paper/${paper.sha256}`} target="_blank" rel="noopener">${say("open_paper", { kind: paper.paper })}</a>
    <button class="tap" onClick=${give} aria-label=${say("link_for", { kind: paper.paper })}>${say("link")}</button></div><span class="small soft">${clock(paper.at)}</span>
    ${link ? html`<p class="small"><a href=${link.path} target="_blank" rel="noopener">${location.origin}${link.path}</a> ${say("until", { at: clock(link.until) })}</p>` : null}${error ? html`<${Fault} error=${error} />` : null}</li>`;
}
