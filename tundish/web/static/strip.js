// Odds strip: a bar for each cause as long as its odds, and below it in brass where it was before the last reading.
import { html, useState } from "./ui.js";
import { say, share } from "./say.js";

/** causes: [{ id, title, chance, was }]. why: opens what moved a cause. */
export function Strip({ causes, unknown, why, most = 6 }) {
  const [all, set] = useState(false);
  const rows = all ? causes : causes.slice(0, most);
  return html`<div>
    <ul class="strip">
      ${rows.map((cause) => html`<${Cause} key=${cause.id} cause=${cause} why=${why} />`)}
      ${unknown > 0.004 ? html`<li><span>${say("not_described")}</span><b class="num">${share(unknown)}</b><${Gauge} now=${unknown} was=${unknown} /></li>` : null}
    </ul>
    <p class="key"><span>${say("odds_now")}</span><span class="was">${say("odds_before")}</span></p>
    ${causes.length > most ? html`<button class="tap low wide" aria-expanded=${all} onClick=${() => set(!all)}>${say(all ? "fewer" : "all_causes", { count: causes.length })}</button>` : null}
  </div>`;
}

function Cause({ cause, why }) {
  const words = say("odds_of", { title: cause.title, now: share(cause.chance), was: share(cause.was) });
  return html`<li>
    <div class="tap-row"><button onClick=${() => why?.(cause.id)} aria-label=${words}>${cause.title}</button></div>
    <b class="num" aria-hidden="true">${share(cause.chance)}</b>
    <${Gauge} now=${cause.chance} was=${cause.was} />
  </li>`;
}

function Gauge({ now, was }) {
  return html`<div class="gauge" aria-hidden="true"><i style=${{ width: `${100 * now}%` }}></i><s style=${{ width: `${100 * was}%` }}></s></div>`;
}
