// Agree: the price with its lines and its chance, the other ways to go on, and the customer's word before any work.
import { html, useState } from "./ui.js";
import { money, say, share } from "./say.js";
import { at, useCall, useFacts } from "./case.js";
import { record } from "./outbox.js";
import { Papers } from "./papers.js";
import { Danger, useDanger } from "./danger.js";
import { Sign } from "./sign.js";
import { Spread } from "./spread.js";
import { Blank, Fault, Kept, Law } from "./bits.js";
import { Ordering } from "./ordering.js";

/** Fields of a `quoted` event among the facts of a quote. */
const QUOTED = ["currency", "lines", "net", "tax", "gross", "taxes", "chance_cures", "options", "owed_if_refused", "valid_until"];

export function Agree({ call }) {
  const held = useCall(call);
  const [wanted] = useState(new URLSearchParams(location.search).getAll("fault"));
  const [faults, choose] = useState(wanted);
  const { data, kept, error } = useFacts(at(call, "agree", { fault: faults }));
  const find = useFacts(at(call, "find"));
  const covered = held.state?.quote?.faults || [];
  const mend = useFacts(covered.length ? at(call, "fix", { fault: covered }) : "");
  const bracket = useFacts(at(call, "ask"));
  if (useDanger(call, held)) return html`<${Danger} call=${call} />`;
  if (!data) return html`<${Blank} title=${say("stage_agree")} error=${error} />`;
  const quote = held.state?.quote;
  const word = standing(held.state);
  return html`<main id="page" class="page twin">
    <div class="side">
      <${Kept} at=${kept} />
      <section class="funnel"><p class="tag">${say("quote_for", { what: data.faults.map((f) => f.title).join("; ") || say("visit_only") })}</p>
        <h1 class="bigger">${money(data.gross, data.currency)}</h1>
        <p>${say("cures_alone", { chance: share(data.chance_cures) })}</p>
        ${word ? html`<p class=${`warn ${word.said === "yes" ? "good" : ""}`}>${word.said === "yes" ? say("agreed_by", { name: word.name, sum: money(word.minor, word.currency) }) : say("refused_owed", { sum: money(word.owed, word.currency) })}</p>` : null}
        ${same(quote, data) ? null : html`<${Give} call=${call} data=${data} held=${held} />`}
        ${word?.said === "yes" ? html`<a class="tap main wide" href=${`/calls/${call}/fix`}>${say("to_fix")}</a>` : null}
      </section>
      ${word?.said === "yes" ? (mend.data?.repairs || []).map((r) => html`<${Ordering} key=${r.fault} call=${call} repair=${r} state=${held.state} />`) : null}
      ${quote && !word ? html`<${Consent} call=${call} quote=${quote} data=${data} />` : null}
    </div>
    <div class="side">
      <${Lines} data=${data} />
      ${quote ? html`<${Papers} call=${call} made=${made(held.events)} kinds=${["quote"]} />` : null}
      <${Options} data=${data} />
      ${bracket.data ? html`<section class="card"><h2>${say("may_cost_whole")}</h2><${Spread} ...${bracket.data.bracket} quote=${data.gross / 100} currency=${data.currency} /></section>` : null}
      <${Worth} worth=${data.worth} unknown=${data.worth_unknown} currency=${data.currency} />
      <${Causes} causes=${find.data?.odds.causes || []} faults=${data.faults.map((f) => f.id)} choose=${choose} />
      <${Law} words=${data.deference} />
    </div>
  </main>`;
}

/** The customer's word on the newest quote; null while there is none. */
export function standing(state) {
  const { quote, word } = state || {};
  return word && (!quote || word.quote === quote.event || word.said === "no") ? word : null;
}

/** Quotes of the call as papers, the newest first. */
function made(events) {
  return events.filter((e) => e.kind === "paper made" && e.body.paper === "quote").map((e) => ({ ...e.body, at: e.at })).reverse();
}

function same(quote, data) {
  return quote && quote.gross === data.gross && quote.faults.join() === data.faults.map((f) => f.id).join();
}

function Give({ call, data, held }) {
  const [error, fail] = useState(null);
  const give = () => {
    const body = Object.fromEntries(QUOTED.map((name) => [name, data[name]]));
    const number = held.events.filter((e) => e.kind === "quoted").length + 1;
    return record(call, [["quoted", { ...body, id: `${call.slice(0, 4)}-${number}`, faults: data.faults.map((f) => f.id) }]]).catch(fail);
  };
  return html`<button class="tap main wide" onClick=${give}>${say("give_quote", { sum: money(data.gross, data.currency) })}</button>${error ? html`<${Fault} error=${error} />` : null}`;
}

function Consent({ call, quote, data }) {
  const [name, set] = useState("");
  const [strokes, put] = useState([]);
  const [error, fail] = useState(null);
  const yes = (how) => {
    const body = { quote: quote.event, name: name.trim(), minor: quote.gross, currency: quote.currency, how, strokes: how === "signed" ? strokes : [], over_run: Number(data.over_run) };
    return record(call, [["consent given", body]]).catch(fail);
  };
  const no = () => record(call, [["consent refused", { owed: quote.owed_if_refused, currency: quote.currency, quote: quote.event, why: "" }]]).catch(fail);
  const ready = name.trim() !== "";
  return html`<section class="card"><h2>${say("customers_word", { sum: money(quote.gross, quote.currency) })}</h2>
    <label class="field">${say("who_agrees")}<input value=${name} autocomplete="off" onInput=${(e) => set(e.target.value)} /></label>
    <p class="small">${say("sign_here", { more: Math.round(100 * Number(data.over_run)) })}</p><${Sign} done=${put} />
    ${error ? html`<${Fault} error=${error} />` : null}
    <div class="row"><button class="tap main" disabled=${!ready || !strokes.length} onClick=${() => yes("signed")}>${say("agree_signed")}</button>
      <button class="tap" disabled=${!ready} onClick=${() => yes("spoken")}>${say("agree_spoken")}</button>
      <button class="tap bad" onClick=${no}>${say("refuses", { sum: money(quote.owed_if_refused, quote.currency) })}</button></div></section>`;
}

function Lines({ data }) {
  return html`<section class="card"><h2>${say("lines")}</h2><div class="scroll" tabindex="0" role="region" aria-label=${say("lines")}><table><tbody>
    ${data.lines.map((l) => html`<tr><td>${l.what}<br /><span class="small soft">${l.quantity} × ${l.unit}, ${money(l.each, data.currency)}</span></td><td class="num">${money(l.net, data.currency)}</td></tr>`)}
    ${data.taxes.map((t) => html`<tr><td>${t.name}</td><td class="num">${money(t.tax, data.currency)}</td></tr>`)}
    <tr><td><b>${say("total")}</b></td><td class="num"><b>${money(data.gross, data.currency)}</b></td></tr></tbody></table></div>
    <p class="small">${say("owed_if_refused", { sum: money(data.owed_if_refused, data.currency) })} · ${say("valid_until", { day: data.valid_until })}</p></section>`;
}

function Options({ data }) {
  return html`<section class="card"><h2>${say("other_ways")}</h2><ul class="lines">${data.options.map((o) => html`<li><div class="row"><b style=${{ flex: 1 }}>${o.name}</b><span class="num">${money(o.gross, data.currency)}</span></div>
    <span class="small">${say("chance_well", { chance: share(o.chance_cures) })}${o.note ? ` · ${o.note}` : ""}</span></li>`)}</ul></section>`;
}

function Worth({ worth, unknown }) {
  if (!worth) return unknown ? html`<section class="card"><h2>${say("keep_or_replace")}</h2><p class="soft">${unknown.replace(/: tundish .*$/, "")}</p></section>` : null;
  return html`<section class="card"><h2>${say("keep_or_replace")}</h2><p>${worth.says}</p><p class="small soft">${say("years_left", { years: worth.remaining_years.toFixed(1) })}</p></section>`;
}

function Causes({ causes, faults, choose }) {
  const rows = causes.filter((c) => c.kind !== "normal" && c.chance > 0.005).slice(0, 10);
  const turn = (id, on) => choose(on ? [...faults, id] : faults.filter((f) => f !== id));
  if (!rows.length) return null;
  return html`<section class="card"><details><summary>${say("quote_other")}</summary>${rows.map((c) => html`<label class="tick"><input type="checkbox" checked=${faults.includes(c.id)} onChange=${(e) => turn(c.id, e.target.checked)} /><span style=${{ flex: 1 }}>${c.title}</span><span class="num">${share(c.chance)}</span></label>`)}</details></section>`;
}
