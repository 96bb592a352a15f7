// Handbook: what every instrument reads on a sound machine of a family.
import { html, useState } from "./ui.js";
import { choice, minutes, say } from "./say.js";
import { useFacts } from "./case.js";
import { Fault, Kept, Law, Notices, Waiting } from "./bits.js";

/** Families to choose from, as large links. room: handbook or bench. */
export function Families({ room }) {
  const { data, kept, error } = useFacts("/api/families");
  return html`<main id="page" class="page"><h1>${say(`page_${room}`)}</h1><${Kept} at=${kept} />
    ${data ? html`<div class="choices">${data.map((f) => html`<a class="tap" href=${`/${room}/${encodeURIComponent(f.family)}`}>${f.family}</a>`)}</div>` : error ? html`<${Fault} error=${error} />` : html`<${Waiting} />`}</main>`;
}

export function Handbook({ name }) {
  return name ? html`<${Of} family=${name} />` : html`<${Families} room="handbook" />`;
}

function Of({ family }) {
  const families = useFacts("/api/families");
  const markets = Object.keys(families.data?.find((f) => f.family === family)?.markets || {});
  const [market, set] = useState("");
  const [sought, seek] = useState("");
  const query = new URLSearchParams({ ...(market && { market }), ...(choice.value.units && { units: choice.value.units }) });
  const { data, kept, error } = useFacts(`/api/handbook/${encodeURIComponent(family)}?${query}`);
  const rows = (data?.checks || []).filter((c) => `${c.title} ${c.instrument} ${c.check}`.toLowerCase().includes(sought.toLowerCase()));
  return html`<main id="page" class="page wide"><h1>${family}</h1><${Kept} at=${kept} />
    <div class="row">${markets.map((m) => html`<button class="tap" aria-pressed=${(market || markets[0]) === m} onClick=${() => set(m)}>${m}</button>`)}</div>
    <a class="tap" href=${`/api/handbook/${encodeURIComponent(family)}/paper?${query}`} target="_blank" rel="noopener">${say("sheet")}</a>
    <label class="field">${say("seek")}<input type="search" value=${sought} onInput=${(e) => seek(e.target.value)} /></label>
    ${data ? html`<ul class="card lines">${rows.map((c) => html`<li key=${c.check}><details><summary><span style=${{ flex: 1 }}><span class="plain">${c.title}</span><br /><b>${c.healthy.says}</b></span></summary>
      <dl class="pairs"><dt>${say("with")}</dt><dd>${c.instrument}</dd>${c.where ? html`<dt>${say("where")}</dt><dd>${c.where}</dd>` : null}<dt>${say("takes")}</dt><dd>${minutes(c.minutes)}</dd><dt>${say("number")}</dt><dd>${c.check}</dd></dl>
      ${c.live ? html`<p class="warn bad">${say("live_check")}</p>` : null}${c.step ? html`<p>${c.step}</p>` : null}<${Notices} list=${c.cautions} /></details></li>`)}</ul><${Law} words=${data.deference} />` : error ? html`<${Fault} error=${error} />` : html`<${Waiting} />`}
  </main>`;
}
