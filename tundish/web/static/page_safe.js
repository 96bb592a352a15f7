// Make safe: how the machine stands, what proves it, which step is next; what may not be done cannot be tapped and says why.
import { html, useState } from "./ui.js";
import { clock, say } from "./say.js";
import { at, useCall, useFacts } from "./case.js";
import { lastStanding } from "./fold.js";
import { overlaid } from "./next.js";
import { record } from "./outbox.js";
import { StepRow } from "./way.js";
import { FOUND } from "./safety_table.js";
import { Photos, Shot } from "./photos.js";
import { Blank, Kept, Law } from "./bits.js";

const STEPS = ["state claimed", "state found"];

export function Safe({ call }) {
  const held = useCall(call);
  const { data, kept, error } = useFacts(at(call, "safe"));
  if (!data) return html`<${Blank} title=${say("stage_safe")} error=${error} />`;
  const state = overlaid(data, held.state);
  return html`<main id="page" class="page twin">
    <div class="side">
      <${Kept} at=${kept} />
      <section class="funnel"><p class="tag">${say("stands")}</p><h1>${state.tracked ? state.state : say("not_tracked")}</h1><${Facets} facets=${state.facets} /></section>
      <${Steps} call=${call} state=${state} />
    </div>
    <div class="side">
      <${Barred} list=${state.barred} />
      <${Done} call=${call} held=${held} />
      <${Otherwise} call=${call} />
      <section class="card"><h2>${say("photos")}</h2><${Photos} list=${(held.state?.photos || []).filter((p) => p.stage === "make safe")} /><${Shot} call=${call} subject="make safe" stage="make safe" /></section>
      <${Law} words=${data.deference} />
    </div>
  </main>`;
}

const MARKS = { power: ["dead", "discharged", "isolated"], water: ["off", "relieved", "none"], hazard: ["none seen"] };

function Facets({ facets }) {
  return html`<dl class="pairs">${["power", "water", "hazard", "place", "heat"].map((name) => html`<dt>${say(`facet_${name}`)}</dt>
    <dd class=${MARKS[name] ? (MARKS[name].includes(facets[name]) ? "done" : facets[name] === "seen" || facets[name] === "live" ? "not" : "") : ""}>${facets[name]}</dd>`)}
    <dt>${say("facet_panels")}</dt><dd>${facets.panels.length ? facets.panels.join(", ") : say("all_closed")}</dd></dl>`;
}

function Steps({ call, state }) {
  const [chosen, set] = useState("");
  const first = state.open.find((s) => s.step === "look, smell and ask") || state.open.find((s) => ["pull the plug", "prove dead"].includes(s.step));
  return html`<section class="card"><h2>${say("next_steps")}</h2><ul class="lines">
    ${state.open.map((step) => html`<li key=${step.step}>${step === first || chosen === step.step ? html`<${StepRow} call=${call} step=${step} state=${state} />` : html`<button class="tap low wide" onClick=${() => set(step.step)}>${step.step}</button>`}</li>`)}
  </ul></section>`;
}

function Barred({ list }) {
  if (!list.length) return null;
  // One reason bars many steps: it is told once
  const reasons = [...new Set(list.map((b) => b.why))];
  return html`<section class="card"><h2>${say("may_not")}</h2><ul class="lines">${reasons.map((why, i) => html`<li>
    <div class="row">${list.filter((b) => b.why === why).map((b) => html`<button class="tap low" aria-disabled="true" aria-describedby=${`why-${i}`}>${b.step}</button>`)}</div>
    <p class="small" id=${`why-${i}`}>${say("because", { why })}</p></li>`)}</ul></section>`;
}

function Done({ call, held }) {
  const steps = held.state?.steps || [];
  const undo = () => {
    const last = lastStanding(held.events, STEPS);
    return last && record(call, [["corrected", { target: last.id, by: null, why: "taken back on the page" }]]);
  };
  if (!steps.length) return null;
  return html`<section class="card"><h2>${say("steps_done")}</h2><ol class="lines">${steps.map((s) => html`<li><b>${s.step || `${say("found")} ${s.facet} ${s.value}`}</b><br /><span class="small">${s.proof || s.why}</span> <span class="small soft">${clock(s.at)}</span></li>`)}</ol>
    <button class="tap low" onClick=${undo}>${say("undo_last")}</button></section>`;
}

/** The machine stands otherwise than recorded, or a hazard is seen. */
function Otherwise({ call }) {
  const [facet, set] = useState("power");
  const [value, put] = useState("on");
  const [why, because] = useState("");
  const tell = (f, v) => record(call, [["state found", { facet: f, value: v, why: why.trim() }]]).then(() => because(""));
  return html`<section class="card"><details><summary>${say("otherwise")}</summary>
    <label class="field">${say("what_about")}<select value=${facet} onChange=${(e) => (set(e.target.value), put(FOUND[e.target.value][0]))}>${Object.keys(FOUND).map((f) => html`<option value=${f}>${f}</option>`)}</select></label>
    <label class="field">${say("is_so")}<select value=${value} onChange=${(e) => put(e.target.value)}>${FOUND[facet].map((v) => html`<option value=${v}>${v}</option>`)}</select></label>
    <label class="field">${say("seen_how")}<input value=${why} onInput=${(e) => because(e.target.value)} /></label>
    <div class="row"><button class="tap" onClick=${() => tell(facet, value)}>${say("found_so")}</button>
    <button class="tap bad" onClick=${() => tell("hazard", "seen")}>${say("hazard_seen")}</button></div></details></section>`;
}
