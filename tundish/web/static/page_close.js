// Close: how the call ends, what is owed and paid, what follows. What may not be cannot be tapped and says why.
import { html, useState } from "./ui.js";
import { money, say } from "./say.js";
import { at, useCall, useFacts } from "./case.js";
import { pull, record } from "./outbox.js";
import { ask, send } from "./server.js";
import { Papers } from "./papers.js";
import { Blank, Fault, Kept, Law } from "./bits.js";
import { lastStanding } from "./fold.js";
import { VISIT } from "./page_ask.js";

export function Close({ call }) {
  const held = useCall(call);
  const { data, kept, error } = useFacts(at(call, "close"));
  if (!data) return html`<${Blank} title=${say("stage_close")} error=${error} />`;
  const ended = held.state?.ended?.as_ || data.ended;
  return html`<main id="page" class="page twin">
    <div class="side"><${Kept} at=${kept} />
      ${ended ? html`<section class="funnel"><p class="tag">${say("ended_as")}</p><h1>${say(`end_${ended.replaceAll(" ", "_")}`)}</h1><${Undo} call=${call} held=${held} /></section>` : html`<${Endings} call=${call} data=${data} kept=${kept} />`}
      <${Money} call=${call} data=${data} held=${held} />
      <${HandOver} call=${call} ended=${ended} held=${held} />
    </div>
    <div class="side">
      ${data.warranty.length ? html`<section class="card"><h2>${say("warranty")}</h2><dl class="pairs">${data.warranty.map((w) => html`<dt>${w.what}</dt><dd>${w.until}</dd>`)}</dl></section>` : null}
      <${Papers} call=${call} made=${data.papers} />
      <${FollowUp} call=${call} known=${lookAgain(held.state?.follow) || data.follow_up} />
      <${Note} call=${call} notes=${held.state?.notes || []} />
      ${data.problems.length ? html`<section class="card"><h2>${say("problems")}</h2><ul class="warn bad">${data.problems.map((p) => html`<li><b>${p.seen}</b> ${p.do}</li>`)}</ul></section>` : null}
      <${Law} words=${data.deference} />
    </div>
  </main>`;
}

function Endings({ call, data, kept }) {
  const [error, fail] = useState(null);
  const end = async (as) => {
    fail(null);
    const body = { as_: as, why: "" };
    // Whether it is proven is a matter of the odds: the computer judges that one
    if (as === "proven") await send(`/api/calls/${call}/record`, { kind: "call ended", body }, { patience: 20000 }).then(() => pull(call, ask), fail);
    else await record(call, [["call ended", body]]).catch(fail);
  };
  const reasons = data.endings.map((e) => ({ ...e, why_not: e.why_not || (kept && e.as === "proven" ? say("needs_signal") : "") }));
  const open = reasons.filter((e) => !e.why_not);
  const barred = reasons.filter((e) => e.why_not);
  return html`<section class="funnel"><h1>${say("ends_how")}</h1>
    <div class="choices">${open.map((e) => html`<button class=${`tap ${e.as === "proven" ? "main" : ""}`} onClick=${() => end(e.as)}>${say(`end_${e.as.replaceAll(" ", "_")}`)}</button>`)}</div>
    ${error ? html`<${Fault} error=${error} />` : null}
    ${barred.length ? html`<details open=${!open.length}><summary>${say("cannot_end", { count: barred.length })}</summary><ul class="lines">${barred.map((e) => html`<li><button class="tap low wide" aria-disabled="true" aria-describedby=${`end-${e.as.replaceAll(" ", "-")}`}>${say(`end_${e.as.replaceAll(" ", "_")}`)}</button><p class="small" id=${`end-${e.as.replaceAll(" ", "-")}`}>${say("because", { why: e.why_not })}</p></li>`)}</ul></details>` : null}</section>`;
}

function Undo({ call, held }) {
  const undo = () => {
    const last = lastStanding(held.events, ["call ended"]);
    return last && record(call, [["corrected", { target: last.id, by: null, why: "ended too early" }]]);
  };
  return html`<button class="tap low" onClick=${undo}>${say("undo_end")}</button>`;
}

const MEANS = ["cash", "card", "transfer"];

function Money({ call, data, held }) {
  const [error, fail] = useState(null);
  const known = new Set(data.paid.map((p) => `${p.date} ${p.minor}`));
  // Paid on this phone and not yet with the computer
  const extra = (held.state?.payments || []).filter((p) => !known.has(`${p.at.slice(0, 10)} ${p.minor}`));
  const due = Math.max(0, (data.due || 0) - extra.reduce((sum, p) => sum + p.minor, 0));
  const [text, set] = useState("");
  const sum = text === "" ? due : Math.round(100 * Number(text.replace(",", ".")));
  const wrong = text !== "" && (!Number.isFinite(sum) || sum <= 0 || sum > due);
  const pay = (means) => record(call, [["paid", { minor: sum, currency: data.currency, means }]]).then(() => set(""), fail);
  if (!data.currency) return null;
  return html`<section class="card"><h2>${say("money")}</h2><dl class="pairs"><dt>${say("owed")}</dt><dd>${money(data.owed, data.currency)}</dd><dt>${say("due")}</dt><dd class=${due ? "not" : "done"}>${money(due, data.currency)}</dd></dl>
    ${[...data.paid, ...extra].map((p) => html`<p class="small">${money(p.minor, p.currency)} · ${MEANS.includes(p.means) ? say(`means_${p.means}`) : p.means}</p>`)}
    ${due > 0 ? html`<label class="field">${say("amount", { currency: data.currency })}<input inputmode="decimal" value=${text} placeholder=${(due / 100).toFixed(2)} onInput=${(e) => set(e.target.value)} /></label>
      ${wrong ? html`<p class="warn bad" role="alert">${say("amount_wrong", { due: money(due, data.currency) })}</p>` : null}
      <p></p><div class="row">${MEANS.map((m) => html`<button class="tap" disabled=${wrong} onClick=${() => pay(m)}>${say(`means_${m}`)}</button>`)}</div>` : null}
    ${error ? html`<${Fault} error=${error} />` : null}</section>`;
}

function HandOver({ call, ended, held }) {
  const [form, put] = useState({ to: "", why: "" });
  if (ended) return null;
  const hand = () => record(call, [["handed over", { to: form.to.trim(), why: form.why.trim() }]]).then(() => put({ to: "", why: "" }));
  return html`<section class="card"><details><summary>${say("hand_over")}</summary>
    ${(held.state?.handed || []).map((h) => html`<p class="small">${h.to}: ${h.why}</p>`)}
    <label class="field">${say("to_whom")}<input value=${form.to} onInput=${(e) => put({ ...form, to: e.target.value })} /></label>
    <label class="field">${say("why")}<input value=${form.why} onInput=${(e) => put({ ...form, why: e.target.value })} /></label>
    <p></p><button class="tap" disabled=${!form.to.trim() || !form.why.trim()} onClick=${hand}>${say("hand_over")}</button></details></section>`;
}

/** The day somebody looks again; the booked visit is none. */
function lookAgain(follow) {
  return follow?.why === VISIT ? null : follow;
}

function FollowUp({ call, known }) {
  const [form, put] = useState({ date: "", why: "" });
  const keep = () => record(call, [["follow-up set", { date: form.date, why: form.why.trim() }]]).then(() => put({ date: "", why: "" }));
  return html`<section class="card"><details><summary>${say("follow_up")}${known ? `: ${known.date}` : ""}</summary>${known ? html`<p class="small">${known.why}</p>` : null}
    <label class="field">${say("day")}<input type="date" value=${form.date} onInput=${(e) => put({ ...form, date: e.target.value })} /></label>
    <label class="field">${say("why")}<input value=${form.why} onInput=${(e) => put({ ...form, why: e.target.value })} /></label>
    <p></p><button class="tap" disabled=${!form.date || !form.why.trim()} onClick=${keep}>${say("keep")}</button></details></section>`;
}

function Note({ call, notes }) {
  const [text, set] = useState("");
  return html`<section class="card"><details><summary>${say("notes", { count: notes.length })}</summary>${notes.map((n) => html`<p class="small">${n.text}</p>`)}
    <label class="field">${say("note")}<textarea value=${text} onInput=${(e) => set(e.target.value)}></textarea></label>
    <p></p><button class="tap" disabled=${!text.trim()} onClick=${() => record(call, [["note added", { text: text.trim() }]]).then(() => set(""))}>${say("keep")}</button></details></section>`;
}
