// Prove: is it well, and will it stay so. What must be read as the customer uses the machine.
import { html, useRef, useState } from "./ui.js";
import { minutes, say, share } from "./say.js";
import { at, useCall, useFacts } from "./case.js";
import { overlaid } from "./next.js";
import { Entry } from "./entry.js";
import { Way } from "./way.js";
import { Blank, Kept, Law, Notices } from "./bits.js";

export function Prove({ call }) {
  const held = useCall(call);
  const { data, kept, error } = useFacts(at(call, "prove"));
  const safe = useFacts(at(call, "safe"));
  const [picked, pick] = useState("");
  const shown = useRef("");
  if (!data) return html`<${Blank} title=${say("stage_prove")} error=${error} />`;
  const read = new Set((held.state?.readings || []).map((r) => r.check));
  const unread = data.checks.filter((c) => !read.has(c.check));
  // What somebody may be typing into stays, though fresh facts would begin with another check
  const check = [picked, shown.current].map((id) => unread.find((c) => c.check === id)).find(Boolean) || unread[0];
  shown.current = check?.check || "";
  return html`<main id="page" class="page twin">
    <div class="side"><${Kept} at=${kept} />
      <section class="funnel"><p class="tag">${data.repaired.map((r) => r.title).join("; ")}</p>
        <h1 class=${data.proven ? "done" : "not"}>${data.proven ? say("proven") : data.planned ? say("not_repaired") : say("unproven")}</h1>
        <p>${say("chance_left", { now: share(data.left_now), limit: share(data.limit) })}</p>
        ${data.missing.length && !data.planned ? html`<ul class="warn">${data.missing.map((m) => html`<li>${m}</li>`)}</ul>` : null}
        ${data.planned ? html`<p>${say("fix_first")}</p><a class="tap main wide" href=${`/calls/${call}/fix`}>${say("stage_fix")}</a>` : null}
        ${data.proven ? html`<a class="tap main wide" href=${`/calls/${call}/close`}>${say("stage_close")}</a>` : null}</section>
      ${check && !data.planned && safe.data ? html`<${One} key=${check.check} call=${call} check=${check} held=${held} state=${overlaid(safe.data, held.state)} />` : null}
    </div>
    <div class="side"><section class="card"><h2>${say("must_read")}</h2><ul class="lines">${data.checks.map((c) => html`<li><b>${c.title}</b>
      <dl class="pairs small"><dt>${say("after_repair")}</dt><dd>${c.as_left}</dd><dt>${say("was_before")}</dt><dd>${c.read_then || c.as_found}</dd><dt>${say("healthy")}</dt><dd>${c.healthy}</dd></dl>
      ${data.planned || read.has(c.check) ? read.has(c.check) ? html`<span class="done">✓ ${say("read_since")}</span>` : null : html`<button class="tap low" onClick=${() => (pick(c.check), scrollTo(0, 0))} aria-label=${say("take_this", { action: c.title })}>${say("take")}</button>`}</li>`)}</ul>
      ${data.advice ? html`<p class="warn">${data.advice}</p>` : null}</section>
      <section class="card"><h2>${say("whole_proof")}</h2><p>${data.whole_proof}</p><${Notices} list=${data.after} /></section><${Law} words=${data.deference} /></div>
  </main>`;
}

function One({ call, check, held, state }) {
  const back = backToUse(state);
  return html`<section class="card"><h2>${check.title}</h2><dl class="pairs">${check.where ? html`<dt>${say("where")}</dt><dd>${check.where}</dd>` : null}<dt>${say("with")}</dt><dd>${check.instrument}</dd><dt>${say("takes")}</dt><dd>${minutes(check.minutes)}</dd></dl>
    ${check.how ? html`<p>${check.how}</p>` : null}<${Notices} list=${check.cautions} />
    <${Way} call=${call} steps=${back} state=${state} />
    ${back.length ? null : html`<${Entry} call=${call} action=${{ check: check.check, steps: [] }} state=${state} held=${held} />`}</section>`;
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
