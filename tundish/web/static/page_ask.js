// Ask: on the phone with the customer. The next question by its worth, what may be said, what it may cost.
import { html, useState } from "./ui.js";
import { about, minutes, say, share } from "./say.js";
import { at, useCall, useFacts } from "./case.js";
import { record } from "./outbox.js";
import { Blank, Fault, Kept, Law, Notices } from "./bits.js";
import { Spread } from "./spread.js";
import { Photos, Shot } from "./photos.js";

export function Ask({ call }) {
  const held = useCall(call);
  const { data, kept, error } = useFacts(at(call, "ask"));
  if (!data) return html`<${Blank} title=${say("stage_ask")} error=${error} />`;
  const given = new Set(held.state?.answers.map((a) => a.question));
  const questions = data.questions.filter((q) => !given.has(q.id));
  return html`<main id="page" class="page twin">
    <div class="side">
      <${Kept} at=${kept} />
      <${Notices} list=${data.stop.map((s) => s.say)} bad />
      ${questions.length ? html`<${Question} key=${questions[0].id} call=${call} question=${questions[0]} family=${data} />` : html`<section class="funnel"><h1>${say("asked_all")}</h1><a class="tap main" href=${`/calls/${call}/load`}>${say("stage_load")}</a></section>`}
      <${Customer} call=${call} held=${held} missing=${data.missing} />
    </div>
    <div class="side">
      <section class="card"><h2>${say("may_cost")}</h2><p class="bigger">${about(data.bracket.low, data.currency)} – ${about(data.bracket.high, data.currency)}</p>
        <${Spread} ...${data.bracket} quote=${null} currency=${data.currency} />
        <p class="small">${say("on_site", { low: Math.round(data.minutes_on_site.low), high: minutes(data.minutes_on_site.high) })}</p>
        ${data.bracket.question ? html`<p class="small">${say("narrows", { ask: data.bracket.question.ask })}</p>` : null}</section>
      <section class="card"><h2>${say("may_say")}</h2>${data.advice.say.length ? html`<ul class="lines">${data.advice.say.map((t) => html`<li>${t.say} <span class="soft small">${share(t.chance)}</span></li>`)}</ul>` : html`<p>${data.advice.why_not || data.advice.line}</p>`}
        <${Notices} list=${data.advice.never} /></section>
      <${More} call=${call} questions=${questions.slice(1)} family=${data} />
      <section class="card"><h2>${say("photos")}</h2>${data.photos.map((p) => html`<${Shot} call=${call} subject=${p.question} stage="ask" words=${p.what} />`)}<${Photos} list=${(held.state?.photos || []).filter((p) => p.stage === "ask")} /></section>
      <${Law} words=${data.deference} />
    </div>
  </main>`;
}

function Question({ call, question, family, plain }) {
  const [text, set] = useState("");
  const [error, fail] = useState(null);
  const [begun] = useState(Date.now());
  const give = (answer) => record(call, said(question, answer, begun, family)).catch(fail);
  return html`<section class=${plain ? "" : "funnel"}>
    ${plain ? null : html`<p class="tag">${say("ask_now")}</p>`}
    ${plain ? html`<h3>${question.ask}</h3>` : html`<h1>${question.ask}</h1>`}
    ${question.why && !plain ? html`<p class="small soft">${question.why}</p>` : null}
    ${question.answers.length ? html`<div class="choices">${question.answers.map((a) => html`<button class="tap" onClick=${() => give(a.answer)}>${a.answer}</button>`)}</div>`
      : html`<label class="field"><span class="unseen">${question.ask}</span><input value=${text} onInput=${(e) => set(e.target.value)} /></label><button class="tap main" disabled=${!text.trim()} onClick=${() => give(text.trim())}>${say("write_down")}</button>`}
    ${error ? html`<${Fault} error=${error} />` : null}
  </section>`;
}

/** The answer, and the circumstances it tells. */
function said(question, answer, begun) {
  const seconds = Math.min(3600, Math.round((Date.now() - begun) / 1000));
  const told = question.answers.find((a) => a.answer === answer)?.told || [];
  return [["question answered", { question: question.id, answer, seconds }], ...told.map((name) => ["circumstance added", { name }])];
}

function More({ call, questions, family }) {
  if (!questions.length) return null;
  return html`<section class="card"><details><summary>${say("more_questions", { count: questions.length })}</summary><ul class="lines">
    ${questions.map((q) => html`<li key=${q.id}><${Question} call=${call} question=${q} family=${family} plain /></li>`)}</ul></details></section>`;
}

// As tundish.documents.ask_facts names a day that is only the visit.
export const VISIT = "visit";
const FIELDS = ["name", "phone", "address", "access", "may_consent"];

function Customer({ call, held, missing }) {
  const known = held.state?.customer;
  const [form, put] = useState({});
  const [error, fail] = useState(null);
  const value = (name) => form[name] ?? known?.[name] ?? "";
  const booked = held.state?.follow?.why === VISIT ? held.state.follow.date : "";
  const day = form.day ?? booked;
  const keep = () => {
    const body = { name: "", phone: "", mail: "", address: "", access: "", may_consent: "", tenure: "" };
    for (const name of Object.keys(body)) body[name] = value(name).trim();
    const visit = day && day !== booked ? [["follow-up set", { date: day, why: VISIT }]] : [];
    record(call, [["customer named", body], ...visit]).then(() => put({}), fail);
  };
  return html`<section class="card"><details open=${!known}><summary>${say("customer")}${known ? `: ${known.name}` : ""}</summary>
    ${FIELDS.map((name) => html`<label class="field">${say(`customer_${name}`)}<input value=${value(name)} autocomplete="off" inputmode=${name === "phone" ? "tel" : "text"} onInput=${(e) => put({ ...form, [name]: e.target.value })} /></label>`)}
    <label class="field">${say("visit_day")}<input type="date" value=${day} onInput=${(e) => put({ ...form, day: e.target.value })} /></label>
    ${error ? html`<${Fault} error=${error} />` : null}
    <p></p><button class="tap" disabled=${!value("name").trim()} onClick=${keep}>${say("keep")}</button></details>
    ${missing.length ? html`<p class="small">${say("missing", { what: missing.map((m) => m.fact).join(", ") })}</p>` : null}</section>`;
}
