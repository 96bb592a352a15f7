// The steps before an action, each recorded with its proof; and a step of the safety table as a row to tap.
import { html, useState } from "./ui.js";
import { minutes, say } from "./say.js";
import { record } from "./outbox.js";
import { TOLD } from "./safety.js";
import { Fault } from "./bits.js";
import { Shot } from "./photos.js";

/** Steps in order; only the first can be tapped. state: facts of the safety state. */
export function Way({ call, steps, state }) {
  if (!steps?.length) return null;
  return html`<div><h2>${say("steps_before")}</h2><ol class="lines">
    ${steps.map((step, i) => html`<li key=${step.step}>${i ? html`<b>${i + 1}. ${step.step}</b><br /><span class="small soft">${step.proof}</span>` : html`<${StepRow} call=${call} step=${step} state=${state} />`}</li>`)}
  </ol></div>`;
}

/** One step with the proof to see; those on dead or live machines want one's own words. */
export function StepRow({ call, step, state }) {
  const [seen, set] = useState("");
  const [error, fail] = useState(null);
  const own = step.who !== "any" || TOLD.includes(step.step);
  const done = () => claim(call, step, state, own ? seen.trim() : step.proof).catch(fail);
  return html`<div>
    <b>${step.step}</b> <span class="small soft">${span(step.minutes)}</span>
    <p class="small">${say("proof_to_see", { proof: step.proof })}</p>
    ${own ? html`<label class="field">${say("what_you_saw")}<input value=${seen} onInput=${(e) => set(e.target.value)} /></label>` : null}
    ${error ? html`<${Fault} error=${error} />` : null}
    ${/photo/.test(step.proof) ? html`<${Shot} call=${call} subject=${step.step} stage="make safe" low /><p></p>` : null}
    <button class="tap main wide" disabled=${own && !seen.trim()} onClick=${done}>${say("step_done", { step: step.step })}</button>
  </div>`;
}

/** Record a step. What the family has no part in is settled before the first one. */
export function claim(call, step, state, proof) {
  const dry = !state.tracked && state.facets.water === "none";
  const first = dry ? [["state found", { facet: "water", value: "none", why: "this family has no tap" }]] : [];
  return record(call, [...first, ["state claimed", { step: step.step, proof, who: state.who }]]);
}

function span([from, to] = []) {
  if (from === undefined) return "";
  return from === to ? minutes(from) : `${from}–${minutes(to)}`;
}
