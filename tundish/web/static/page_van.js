// The van: tomorrow's load and the stock.
import { html, useState } from "./ui.js";
import { say } from "./say.js";
import { send } from "./server.js";
import { useFacts } from "./case.js";
import { turns } from "./outbox.js";
import { LoadOf } from "./page_load.js";
import { Fault, Kept, Waiting } from "./bits.js";

export function Van() {
  const calls = useFacts("/api/calls");
  // Those booked for tomorrow, until somebody chooses others
  const [chosen, pick] = useState(null);
  const booked = useFacts(chosen ? "" : "/api/van");
  const picked = chosen || (booked.data?.calls || []).map((c) => c.call);
  const wanted = useFacts(chosen?.length ? `/api/van?${chosen.map((c) => `call=${c}`).join("&")}` : "");
  const load = chosen ? wanted : booked.data ? booked : {};
  const open = (calls.data || []).filter((c) => !c.ended);
  const turn = (id, on) => pick(on ? [...picked, id] : picked.filter((c) => c !== id));
  return html`<main id="page" class="page twin"><h1 class="across">${say("page_van")}</h1>
    <section class="card across"><h2>${say("which_calls")}</h2>${open.length ? open.map((c) => html`<label class="tick"><input type="checkbox" checked=${picked.includes(c.call)} onChange=${(e) => turn(c.call, e.target.checked)} />${c.name || c.handle} · ${c.family}</label>`) : html`<p class="soft">${say("no_calls")}</p>`}</section>
    ${!picked.length ? null : load.data ? html`<${LoadOf} data=${load.data} />` : load.error ? html`<${Fault} error=${load.error} />` : html`<${Waiting} />`}
    <div class="across"><${Stock} /></div>
  </main>`;
}

export function Stock() {
  const { data, kept, error } = useFacts("/api/stock");
  const [form, put] = useState({ part: "", count: "1", kind: "receive" });
  const [wrong, fail] = useState(null);
  const move = () => send("/api/stock", { kind: form.kind, part: form.part.trim(), count: Number(form.count) }).then(() => (put({ ...form, part: "" }), fail(null), (turns.value += 1)), fail);
  return html`<section class="card"><h2>${say("stock")}</h2><${Kept} at=${kept} />
    ${data ? data.stock.length ? html`<div class="scroll" tabindex="0" role="region" aria-label=${say("stock")}><table><thead><tr><th>${say("part")}</th><th class="num">${say("on_van_head")}</th><th class="num">${say("ordered")}</th></tr></thead><tbody>${data.stock.map((r) => html`<tr><td>${r.part}</td><td class=${`num ${r.below_minimum || r.short ? "not" : ""}`}>${r.on_van}</td><td class="num">${r.on_order}</td></tr>`)}</tbody></table></div>` : html`<p class="soft">${say("no_stock")}</p>` : error ? html`<${Fault} error=${error} />` : html`<${Waiting} />`}
    <details><summary>${say("stock_move")}</summary>
      <label class="field">${say("part")}<input value=${form.part} autocomplete="off" onInput=${(e) => put({ ...form, part: e.target.value })} /></label>
      <label class="field">${say("count")}<input type="number" min="0" value=${form.count} onInput=${(e) => put({ ...form, count: e.target.value })} /></label>
      <label class="field">${say("what_happened")}<select value=${form.kind} onChange=${(e) => put({ ...form, kind: e.target.value })}>${["receive", "take", "count", "order", "arrive", "minimum"].map((k) => html`<option value=${k}>${say(`stock_${k}`)}</option>`)}</select></label>
      ${wrong ? html`<${Fault} error=${wrong} />` : null}<p></p><button class="tap" disabled=${!form.part.trim()} onClick=${move}>${say("write_down")}</button></details></section>`;
}
