// Fix: the steps of the repair with each caution where it belongs, the part, and the repair itself on record.
import { html, useEffect, useState } from "./ui.js";
import { minutes, say } from "./say.js";
import { at, fixed, useCall, useFacts } from "./case.js";
import { Danger, useDanger } from "./danger.js";
import { record } from "./outbox.js";
import { factsOf } from "./shelf.js";
import { Way } from "./way.js";
import { Photos, Shot } from "./photos.js";
import { named } from "./page_load.js";
import { standing } from "./page_agree.js";
import { overlaid, stepsLeft } from "./next.js";
import { Blank, Fault, Kept, Law } from "./bits.js";
import { Ordering } from "./ordering.js";

export function Fix({ call }) {
  const held = useCall(call);
  const safe = useFacts(at(call, "safe"));
  const covered = held.state?.quote?.faults || [];
  const asked = useFacts(covered.length ? at(call, "fix", { fault: covered }) : "");
  const pocketed = usePocketed(call);
  const danger = useDanger(call, held);
  const known = asked.data || pocketed?.data;
  if (danger) return html`<${Danger} call=${call} />`;
  if (!safe.data || !held.state || (covered.length && !known)) return html`<${Blank} title=${say("stage_fix")} error=${asked.error || safe.error} />`;
  const repairs = covered.map((f) => known.repairs.find((r) => r.fault === f)).filter(Boolean);
  const word = standing(held.state);
  return html`<main id="page" class="page">
    <h1 class="unseen">${say("stage_fix")}</h1>
    <${Kept} at=${asked.data ? asked.kept : pocketed?.at} />
    ${repairs.length ? null : html`<section class="funnel"><h1>${say("nothing_agreed")}</h1><p>${say("agree_first")}</p><a class="tap main wide" href=${`/calls/${call}/agree`}>${say("stage_agree")}</a></section>`}
    ${repairs.map((r) => html`<${Repair} key=${r.fault} call=${call} repair=${r} held=${held} safe=${overlaid(safe.data, held.state)} word=${word} />`)}
    <${Law} words=${safe.data.deference} />
  </main>`;
}

/** The steps of all likely repairs, kept while there was signal. */
function usePocketed(call) {
  const [held, set] = useState(null);
  useEffect(() => {
    factsOf(fixed(call)).then(set, () => {});
  }, [call]);
  return held;
}

function Repair({ call, repair, held, safe, word }) {
  const state = held.state;
  const done = new Set(state.done.filter((d) => d.fault === repair.fault).map((d) => d.step));
  const mended = state.repairs.some((r) => r.fault === repair.fault);
  const barred = word?.said === "yes" && state.quote?.faults.includes(repair.fault) ? "" : say("no_consent");
  // The way to a safe state as it stands now: steps recorded since are gone from it
  const first = stepsLeft(repair.first, safe);
  const open = repair.steps.filter((s) => !done.has(s.step));
  return html`<section class="funnel"><p class="tag">${minutes(repair.minutes[1])}</p><h1>${repair.title}</h1>
    ${repair.hand_over ? html`<p class="warn bad">${repair.hand_over}</p>` : null}
    ${barred ? html`<p class="barred"><b>${say("not_yet")}</b> ${barred} <a href=${`/calls/${call}/agree?fault=${repair.fault}`}>${say("stage_agree")}</a></p>` : null}
    ${mended ? html`<p class="warn good">${say("repaired")}</p><a class="tap main wide" href=${`/calls/${call}/prove`}>${say("stage_prove")}</a>` : null}
    ${barred || mended || repair.hand_over ? null : html`<div>
      <${Ordering} call=${call} repair=${repair} state=${state} />
      <${Way} call=${call} steps=${first} state=${safe} />
      ${first.length ? null : html`<${Steps} call=${call} repair=${repair} done=${done} state=${state} />`}
      ${first.length || open.length ? null : html`<${Finish} call=${call} repair=${repair} state=${state} safe=${safe} />`}</div>`}
  </section>`;
}

function Steps({ call, repair, done, state }) {
  const next = repair.steps.find((s) => !done.has(s.step));
  return html`<ol class="lines">${repair.steps.map((s) => html`<li key=${s.step}>${done.has(s.step) ? html`<span class="done">✓ ${s.step}</span>` : s === next ? html`<${Step} call=${call} fault=${repair.fault} step=${s} />` : html`<span class="soft">${s.number}. ${s.step}</span>`}
    ${s.photo && (s === next || done.has(s.step)) ? html`<${Shot} call=${call} subject=${s.photo === true ? s.step : String(s.photo)} stage="fix" words=${s.photo === true ? "" : String(s.photo)} />` : null}</li>`)}</ol>
    <${Photos} list=${state.photos.filter((p) => p.stage === "fix")} />`;
}

/** A step; its caution has to be seen first. */
function Step({ call, fault, step }) {
  const [seen, set] = useState(false);
  const [error, fail] = useState(null);
  const done = () => record(call, [["step done", { fault, step: step.step, caution: step.caution, seen: seen || !step.caution }]]).catch(fail);
  return html`<div><p><b>${step.number}. ${step.step}</b></p>
    ${step.caution ? html`<div class="warn"><p>${step.caution}</p><label class="tick"><input type="checkbox" checked=${seen} onChange=${(e) => set(e.target.checked)} />${say("caution_seen")}</label></div>` : null}
    ${error ? html`<${Fault} error=${error} />` : null}
    <p></p><button class="tap main wide" disabled=${!!step.caution && !seen} onClick=${done}>${say("done_this")}</button></div>`;
}

/** The part that went in, and the repair on record. */
function Finish({ call, repair, state }) {
  const [error, fail] = useState(null);
  const { part, fault } = repair;
  const used = state.used.some((u) => u.fault === fault);
  const fit = (fromVan) => {
    const taken = state.parts.includes(fault) ? [] : [["part taken", { fault, note: fromVan ? "from the van" : "" }]];
    const line = fromVan ? [{ kind: "take", part: part.part, count: 1 }] : [];
    return record(call, [...taken, ["part used", { part: part.part, fault, count: 1 }]], null, line).catch(fail);
  };
  const mended = () => {
    const taken = part && !state.parts.includes(fault) && !used ? [["part taken", { fault, note: "" }]] : [];
    return record(call, [...taken, ["repair done", { fault, note: "" }]]).catch(fail);
  };
  return html`<div>${error ? html`<${Fault} error=${error} />` : null}
    ${part && !used ? html`<div><p>${say("part_went_in", { part: named(part.part) })} <span class="small soft">${say("on_van", { count: part.on_van })}</span></p>
      <div class="row"><button class="tap main" disabled=${part.on_van < 1} onClick=${() => fit(true)}>${say("from_van")}</button><button class="tap" onClick=${() => fit(false)}>${say("from_elsewhere")}</button></div></div>` : null}
    ${used ? html`<p class="done">✓ ${named(part.part)}</p>` : null}
    <p></p><button class="tap main wide" onClick=${mended}>${say("record_repair")}</button></div>`;
}

