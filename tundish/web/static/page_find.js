// Find: one next action large; the entry of what it showed; then what that did to the odds.
import { html, useState } from "./ui.js";
import { about, minutes, say, share } from "./say.js";
import { useCall } from "./case.js";
import { Entry } from "./entry.js";
import { Photos, Shot } from "./photos.js";
import { Strip } from "./strip.js";
import { Way } from "./way.js";
import { Why } from "./why.js";
import { BandsOf } from "./bands.js";
import { Fault, Kept, Law, Notices, Waiting } from "./bits.js";
import { odds, useNext } from "./next.js";
import { record } from "./outbox.js";
import { IMPLIED } from "./safety.js";
import { Tried } from "./tried.js";

export function Find({ call }) {
  const held = useCall(call);
  const found = useNext(call, held);
  const [picked, pick] = useState("");
  const [cause, open] = useState("");
  if (!found.data) return html`<main id="page" class="page"><h1 class="unseen">${say("stage_find")}</h1>${found.error ? html`<${Fault} error=${found.error} />` : html`<${Waiting} />`}</main>`;
  const { next, state } = found.data;
  const options = [next.action, ...next.others].filter(Boolean);
  const action = options.find((o) => o.name === picked) || next.action;
  return html`<main id="page" class="page twin">
    <div class="side">
      <${Kept} at=${found.kept} behind=${found.kept ? found.behind : []} reckoned=${found.reckoned} />
      <${Alarm} odds=${found.data.odds} />
      ${next.halt ? html`<section class="funnel"><h1>${say("halted")}</h1><p>${next.halt}</p><div class="row"><a class="tap" href=${`/calls/${call}/safe`}>${say("stage_safe")}</a><a class="tap main" href=${`/calls/${call}/close`}>${say("stage_close")}</a></div></section>` : null}
      ${found.working !== null && !picked ? html`<${Working} share=${found.working} />` : null}
      ${action && (found.working === null || picked) ? html`<${Action} call=${call} action=${action} state=${state} next=${next} causes=${found.data.odds.causes} held=${held} busy=${found.old} done=${() => pick("")} />` : null}
      ${action && picked ? html`<button class="tap low" onClick=${() => pick("")}>${say("back_to_best")}</button>` : null}
    </div>
    <div class="side">
      <section class="card"><h2>${say("odds")}</h2><${Strip} causes=${odds(found.data.odds, held.state, found.before)} unknown=${found.data.odds.not_described} why=${open} /></section>
      ${cause ? html`<${Why} call=${call} cause=${cause} close=${() => open("")} />` : null}
      <${Readings} call=${call} held=${held} shown=${found.data.odds.readings} />
      <${Others} options=${next.others} barred=${next.barred} pick=${pick} />
      <${BandsOf} call=${call} />
      <section class="card"><h2>${say("photos")}</h2><${Photos} list=${held.state?.photos || []} /><${Shot} call=${call} subject="find" stage="find" /></section>
      <${Law} words=${next.deference} />
    </div>
  </main>`;
}

function Action({ call, action, state, next, causes, held, busy, done }) {
  const isCheck = action.kind === "check" || action.check;
  return html`<section class="funnel" aria-busy=${!!busy}>
    <p class="tag">${say(action === next.action ? "do_now" : "instead")}</p>
    <h1>${named(action)}</h1>
    <dl class="pairs">
      ${action.where ? html`<dt>${say("where")}</dt><dd>${action.where}</dd>` : null}
      ${action.instrument ? html`<dt>${say("with")}</dt><dd>${action.instrument}</dd>` : null}
      <dt>${say("state")}</dt><dd>${state.tracked ? state.state : say("not_tracked")}</dd>
      <dt>${say("takes")}</dt><dd>${minutes(action.minutes)} · ${about(action.cost, action.currency)}</dd>
    </dl>
    ${action.how ? html`<p>${action.how}</p>` : null}
    <${Notices} list=${action.cautions} />
    <${Way} call=${call} steps=${action.steps} state=${state} />
    ${isCheck ? html`<${Entry} call=${call} action=${action} state=${state} held=${held} after=${done} />` : html`<${Deed} call=${call} action=${action} state=${state} />`}
    <${Leads} leads=${action.leads} causes=${causes} />
    <details><summary>${say("why_this")}</summary><p>${action.why}</p>
      ${next.promise ? html`<p>${say("whole_call", { cost: about(action.promise ?? next.promise, action.currency) })}</p>` : null}</details>
  </section>`;
}

/** The phone works out the next action: how far it is. What is known already stands around it. */
function Working({ share: done }) {
  const part = Math.round(100 * done);
  return html`<section class="funnel" role="status"><p class="tag">${say("do_now")}</p><h1>${say("reckoning")}</h1>
    <div class="progress" role="progressbar" aria-label=${say("reckoning")} aria-valuenow=${part}><i style=${{ width: `${Math.max(5, part)}%` }}></i></div></section>`;
}

/** What each outcome would mean, with its chance. */
function Leads({ leads, causes }) {
  if (!leads?.length) return null;
  return html`<details><summary>${say("outcomes")}</summary><ul class="leads">${leads.map((lead) => html`<li>
    <span class="num">${share(lead.chance)}</span>
    <span><b>${lead.outcome}</b><br /><span class="small">${say("then", { action: words(lead.then) })}<br />
    <span class="soft">${lead.causes.slice(0, 2).map(([id, chance]) => `${causes.find((c) => c.id === id)?.title || id} ${share(chance)}`).join(" · ")}</span></span></span></li>`)}</ul></details>`;
}

/** A next action that is no check: a question, a repair, an order, a hand over, an end. */
function Deed({ call, action, state }) {
  if (action.kind === "question") {
    const told = (kind) => record(call, [[kind, { name: action.name }]]);
    return html`<div class="row"><button class="tap main" onClick=${() => told("circumstance added")}>${say("yes")}</button>
      <button class="tap" onClick=${() => told("circumstance denied")}>${say("no")}</button></div>`;
  }
  if (action.kind === "test") return state.tracked && action.steps?.some((s) => !IMPLIED.includes(s.step)) ? null : html`<${Tried} call=${call} />`;
  if (action.kind === "prove") return html`<div class="row"><a class="tap main wide" href=${`/calls/${call}/prove`}>${say("stage_prove")}</a></div>`;
  const mends = ["repair", "order"].includes(action.kind);
  const to = mends ? `/calls/${call}/agree?fault=${action.faults.join("&fault=")}` : `/calls/${call}/close`;
  return html`<div class="row"><a class="tap main wide" href=${to}>${say(mends ? "to_agree" : "to_close")}</a></div>`;
}

/** Readings so far, the newest first, each with the way to take it back. */
function Readings({ call, held, shown }) {
  const mine = held.state?.readings || [];
  if (!mine.length) return null;
  const titled = new Map(shown.map((r) => [r.check, r]));
  const undo = (event) => record(call, [["corrected", { target: event, by: null, why: "taken back on the page" }]]);
  return html`<section class="card"><h2>${say("readings")}</h2><ul class="lines">
    ${[...mine].reverse().map((r) => html`<li class="row" key=${r.event}><span style=${{ flex: 1 }}><b>${r.typed || r.answer}</b><br /><span class="small soft">${r.check} ${titled.get(r.check)?.title || ""}</span></span>
      <button class="tap low" onClick=${() => undo(r.event)} aria-label=${say("undo_reading", { check: r.check })}>${say("undo")}</button></li>`)}
  </ul></section>`;
}

function Others({ options, barred, pick }) {
  return html`<section class="card"><details><summary>${say("others", { count: options.length })}</summary>
    <ul class="lines">${options.map((o) => html`<li key=${o.name} class="row"><span style=${{ flex: 1 }}><b>${named(o)}</b><br />
      <span class="small soft">${minutes(o.minutes)} · ${say("whole", { cost: about(o.promise ?? o.cost, o.currency) })}${o.instrument ? ` · ${o.instrument}` : ""}</span></span>
      <button class="tap low" onClick=${() => (pick(o.name), scrollTo(0, 0))} aria-label=${say("take_this", { action: named(o) })}>${say("take")}</button></li>`)}</ul></details>
    ${barred?.length ? html`<details><summary>${say("barred", { count: barred.length })}</summary><ul class="lines">
      ${barred.map((b) => html`<li><b>${b.name}</b><br /><span class="small">${b.why}</span></li>`)}</ul></details>` : null}</section>`;
}

function Alarm({ odds: found }) {
  const told = (found.notices || []).map((n) => n.say);
  return html`${found.misfit?.alarm ? html`<p class="warn bad" role="alert"><b>${say("misfit")}</b> ${say("misfit_worst", { check: found.misfit.worst || "" })}</p>` : null}
    ${found.sure === false ? html`<p class="warn">${say("not_sure")}</p>` : null}<${Notices} list=${told} bad />`;
}

const named = (action) => words(action.label || action.name);
/** A label without the check's number in front: the number is for the record. */
const words = (label) => label.replace(/^[A-Z]\d+(\.\w+)? (?=\S)/, "").replace(/^./, (c) => c.toUpperCase());
