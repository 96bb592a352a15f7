// The staircase of this call's machine, opened on demand.
import { html, useState } from "./ui.js";
import { say } from "./say.js";
import { at, useFacts } from "./case.js";
import { Staircase } from "./stairs.js";
import { Fault, Kept, Waiting } from "./bits.js";

export function BandsOf({ call }) {
  const [open, set] = useState(false);
  return html`<section class="card"><details onToggle=${(e) => set(e.target.open)}><summary>${say("staircase")}</summary>${open ? html`<${Bands} call=${call} />` : null}</details></section>`;
}

function Bands({ call }) {
  const { data, kept, error } = useFacts(at(call, "stairs"));
  if (!data) return error ? html`<${Fault} error=${error} />` : html`<${Waiting} />`;
  return html`<div><${Kept} at=${kept} /><p class="small soft">${data.title}</p><${Staircase} bands=${data} /></div>`;
}
