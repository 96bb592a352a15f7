// Prove: is it well, and will it stay so. What must be read as the customer uses the machine.
import { html, useRef, useState } from "./ui.js";
import { minutes, say, share } from "./say.js";
import { at, useCall, useFacts } from "./case.js";
import { Danger, useDanger } from "./danger.js";
import { overlaid } from "./next.js";
import { Photos, Shot } from "./photos.js";
import { useProof } from "./proof.js";
import { Tried } from "./tried.js";
import { Entry } from "./entry.js";
import { StepRow, Way } from "./way.js";
import { Blank, Kept, Law, Notices } from "./bits.js";

export function Prove({ call }) {
  const held = useCall(call);
  const safe = useFacts(at(call, "safe"));
  const state = overlaid(safe.data, held.state);
  const { data, kept, reckoned, error } = useProof(call, held, state);
  const [picked, pick] = useState("");
  const shown = useRef("");
  if (useDanger(call, held)) return html`<${Danger} call=${call} />`;
  if (!data) return html`<${Blank} title=${say("stage_prove")} error=${error} />`;
  const read = new Set((held.state?.readings || []).map((r) => r.check));
  const back = state ? backToUse(state) : [];
  // A call ends as proven with the machine given back
  const giveBack = state?.tracked && state.open.find((s) => s.step === "return to use");
  const unread = data.checks.filter((c) => !read.has(c.check));
  // What somebody may be typing into stays, though fresh facts would begin with another check
  const check = [picked, shown.current].map((id) => unread.find((c) => c.check === id)).find(Boolean) || unread[0];
  shown.current = check?.check || "";
  return html`<main id="page" class="page twin">
    <div class="side"><${Kept} at=${kept} reckoned=${reckoned} />
      <${Verdict} call=${call} data=${data} />
      ${data.proven && giveBack ? html`<section class="card"><h2>${say("next_steps")}</h2><${StepRow} call=${call} step=${giveBack} state=${state} /></section>` : null}
      ${data.planned || !state ? null : back.length && !data.proven ? html`<section class="card"><${Way} call=${call} steps=${back} state=${state} /></section>` : html`<section class="card"><h2>${say("tried_as_used")}</h2><p>${data.whole_proof}</p><${Tried} call=${call} known=${held.state?.tested?.works ?? null} /></section>`}
      ${check && !data.planned && state && !back.length ? html`<${One} key=${check.check} call=${call} check=${check} held=${held} state=${state} />` : null}
    </div>
    <div class="side"><section class="card"><h2>${say("must_read")}</h2><ul class="lines">${data.checks.map((c) => html`<${Row} check=${c} read=${read.has(c.check)} planned=${data.planned} pick=${pick} />`)}</ul>
      ${data.advice ? html`<p class="warn">${data.advice}</p>` : null}</section>
      <${Settle} call=${call} list=${(data.settle || []).filter((c) => !read.has(c.check))} />
      <section class="card"><h2>${say("photos")}</h2><${Photos} list=${(held.state?.photos || []).filter((p) => p.stage === "prove")} /><${Shot} call=${call} subject="as left" stage="prove" /></section>
      ${data.after?.length ? html`<section class="card"><h2>${say("then_tell")}</h2><${Notices} list=${data.after} /></section>` : null}<${Law} words=${data.deference} /></div>
  </main>`;
}

function Verdict({ call, data }) {
  const title = data.proven ? "proven" : data.planned ? "not_repaired" : "unproven";
  return html`<section class="funnel"><p class="tag">${data.repaired.map((r) => r.title).join("; ")}</p>
    <h1 class=${data.proven ? "done" : "not"}>${say(title)}</h1>
    ${data.waits ? html`<p>${say("proof_waits")}</p>` : html`<p>${say("chance_left", { now: share(data.left_now), limit: share(data.limit) })}</p>`}
    ${data.missing.length && !data.planned ? html`<ul class="warn">${data.missing.map((m) => html`<li>${m}</li>`)}</ul>` : null}
    ${data.planned ? html`<p>${say("fix_first")}</p><a class="tap main wide" href=${`/calls/${call}/fix`}>${say("stage_fix")}</a>` : null}
    ${data.proven ? html`<a class="tap main wide" href=${`/calls/${call}/close`}>${say("stage_close")}</a>` : null}</section>`;
}

/** Checks that tell whether a second cause is there too, in whatever state each asks for: they are taken on Find. */
function Settle({ call, list }) {
  if (!list.length) return null;
  return html`<section class="card"><h2>${say("look_into")}</h2><ul class="lines">${list.map((c) => html`<li><b>${c.title}</b>${c.where ? html`<br /><span class="small soft">${c.where}</span>` : null}</li>`)}</ul>
    <a class="tap wide" href=${`/calls/${call}/find`}>${say("stage_find")}</a></section>`;
}

function Row({ check, read, planned, pick }) {
  const told = [["after_repair", check.as_left], ["was_before", check.read_then || check.as_found], ["healthy", check.healthy]].filter(([, words]) => words);
  return html`<li><b>${check.title}</b><dl class="pairs small">${told.map(([name, words]) => html`<dt>${say(name)}</dt><dd>${words}</dd>`)}</dl>
    ${read ? html`<span class="done">✓ ${say("read_since")}</span>` : planned ? null : html`<button class="tap low" onClick=${() => (pick(check.check), scrollTo(0, 0))} aria-label=${say("take_this", { action: check.title })}>${say("take")}</button>`}</li>`;
}

function One({ call, check, held, state }) {
  return html`<section class="card check"><h2>${check.title}</h2><dl class="pairs">${check.where ? html`<dt>${say("where")}</dt><dd>${check.where}</dd>` : null}<dt>${say("with")}</dt><dd>${check.instrument}</dd><dt>${say("takes")}</dt><dd>${minutes(check.minutes)}</dd></dl>
    ${check.how ? html`<p>${check.how}</p>` : null}<${Notices} list=${check.cautions} />
    <${Entry} call=${call} action=${{ check: check.check, steps: [] }} state=${state} held=${held} stage="prove" /></section>`;
}

/** A proof counts only with the machine in its place, closed, with power and water: the steps that are open towards that. */
function backToUse(state) {
  if (!state.tracked) return [];
  const { facets } = state;
  const wanted = [
    ...facets.panels.map((p) => `close ${p}`), facets.place === "pulled out" && "push the machine back",
    ["off", "relieved"].includes(facets.water) && "open the taps", facets.power !== "on" && facets.power !== "live" && "energise",
  ].filter(Boolean);
  const open = state.open.filter((s) => wanted.includes(s.step));
  return open.sort((a, b) => wanted.indexOf(a.step) - wanted.indexOf(b.step)).slice(0, 1);
}
