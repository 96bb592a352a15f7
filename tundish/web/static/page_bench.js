// Bench: put a fault into a machine and see what every instrument would show, and where the potential falls.
import { html, useState } from "./ui.js";
import { choice, say } from "./say.js";
import { useFacts } from "./case.js";
import { Families } from "./page_handbook.js";
import { Staircase } from "./stairs.js";
import { Fault, Kept, Waiting } from "./bits.js";

export function Bench({ name }) {
  return name ? html`<${Of} family=${name} />` : html`<${Families} room="bench" />`;
}

function Of({ family }) {
  const families = useFacts("/api/families");
  const faults = families.data?.find((f) => f.family === family)?.faults || {};
  const [fault, set] = useState("");
  const [all, show] = useState(false);
  const query = new URLSearchParams({ ...(fault && { fault }), ...(choice.value.units && { units: choice.value.units }) });
  const { data, kept, error } = useFacts(fault ? `/api/bench/${encodeURIComponent(family)}?${query}` : "");
  const rows = (data?.checks || []).filter((c) => all || c.tells);
  return html`<main id="page" class="page twin"><h1 class="across">${say("what_if", { family })}</h1>
    <section class="card across"><label class="field">${say("put_in")}<select value=${fault} onChange=${(e) => set(e.target.value)}><option value="">${say("choose_fault")}</option>${Object.entries(faults).map(([id, title]) => html`<option value=${id}>${title}</option>`)}</select></label></section>
    ${!fault ? html`<p class="soft across">${say("bench_how")}</p>` : !data ? error ? html`<${Fault} error=${error} />` : html`<${Waiting} />` : html`
      <section class="card"><${Kept} at=${kept} /><h2>${say("would_show")}</h2><div class="scroll" tabindex="0" role="region" aria-label=${say("would_show")}><table><thead><tr><th>${say("check")}</th><th>${say("healthy")}</th><th>${say("so")}</th></tr></thead>
        <tbody>${rows.map((c) => html`<tr><td>${c.title}</td><td>${c.healthy.says}</td><td class=${c.tells ? "not" : ""}>${c.what_if.says}</td></tr>`)}</tbody></table></div>
        <p></p><button class="tap low wide" aria-pressed=${all} onClick=${() => show(!all)}>${say(all ? "only_telling" : "every_check")}</button></section>
      ${data.staircase ? html`<section class="card"><h2>${say("staircase")}</h2><p class="small soft">${data.staircase.title}</p><${Staircase} bands=${{ ...data.staircase, links: data.staircase.steps.map((s) => s.link) }} /></section>` : null}`}
  </main>`;
}
