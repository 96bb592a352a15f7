// The part of a repair: ordered, come in, taken along; each written into the call and the stock by the shop's computer, and taken back there.
import { html, useState } from "./ui.js";
import { say } from "./say.js";
import { pull, turns } from "./outbox.js";
import { ask, send } from "./server.js";
import { Fault } from "./bits.js";
import { named } from "./page_load.js";

/** How the part of a repair stands, and what may be done about it. repair: of the facts of Fix. state: of the call. */
export function Ordering({ call, repair, state }) {
  const [error, fail] = useState(null);
  const { part, fault } = repair;
  if (!part || state.ended || state.used.some((u) => u.fault === fault) || state.repairs.some((r) => r.fault === fault)) return null;
  const last = state.moved.filter((m) => m.fault === fault).at(-1);
  const told = (path, body) => async () => {
    fail(null);
    // Judged where the stock lies: two phones must not order the same part twice
    await send(path, body).then(() => pull(call, ask)).catch(fail);
    // A part that came in is no event of the call: the page asks for the stock anew all the same
    turns.value += 1;
  };
  const done = (action) => told(`/api/calls/${call}/do`, { action: `${action} ${fault}` });
  const back = () => told(`/api/calls/${call}/record`, { kind: "corrected", body: { target: last.event, by: null, why: "" } })();
  return html`<section class="card"><h2>${named(part.part)}</h2>
    <p class="small soft">${say("on_van", { count: part.on_van })} · ${say("ordered")}: ${part.on_order}</p>
    ${error ? html`<${Fault} error=${error} />` : null}
    ${last ? html`<p class="done">${say(last.taken ? "part_in_hand" : "part_on_order")}</p>` : null}
    <div class="row">${last ? null : html`<button class="tap" onClick=${done("order")}>${say("order_part")}</button>`}
      ${last && !last.taken && part.on_order > 0 ? html`<button class="tap" onClick=${told("/api/stock", { kind: "arrive", part: part.part, count: 1, call })}>${say("part_came")}</button>` : null}
      ${last?.taken ? null : html`<button class="tap" onClick=${done("take")}>${say("part_along")}</button>`}
      ${last ? html`<button class="tap low" onClick=${back}>${say("undo")}</button>` : null}</div></section>`;
}
