// The bar at the top and the stair of stages.
import { html, useState } from "./ui.js";
import { say } from "./say.js";
import { waiting } from "./outbox.js";
import { parts } from "./route.js";
import { reached } from "./server.js";
import { title } from "./case.js";

/** Stages of a call, from the phone to the end. */
export const STAGES = ["ask", "load", "safe", "find", "agree", "fix", "prove", "close"];

/** The bar: back to the calls, where one is, what waits to be sent. */
export function Bar() {
  const [first, second, third] = parts.value;
  const inCall = first === "calls" && second && second !== "new";
  const head = inCall ? say(`stage_${third || "find"}`) : say(`page_${first || "calls"}`);
  return html`<header class="top">
    <a href="/" aria-label=${say("to_calls")}><${Funnel} /></a>
    <div class="where"><b>${head}</b>${inCall && title.value ? html`<span>${title.value}</span>` : null}</div>
    <${Tank} />
    <a href="/settings" aria-label=${say("page_settings")}><${Wheel} /></a>
  </header>`;
}

/** How many events wait: a tank that fills. Always there, so that nobody has to wonder. */
function Tank() {
  const count = waiting.value;
  const words = count ? say("waiting", { count }) : say(reached.value ? "all_sent" : "nothing_waits");
  return html`<a class="tank" href="/settings#outbox" aria-label=${`${count}: ${words}`} title=${words} data-waiting=${count}>
    <svg width="24" height="28" viewBox="0 0 24 28" aria-hidden="true">
      <path d="M2 2h20v24H2z" fill="none" stroke="currentColor" stroke-width="2" />
      <path d=${`M4 24h16v-${Math.min(20, count ? 5 + count : 0)}H4z`} fill="#f0c25c" />
      ${reached.value ? null : html`<path d="M1 27L23 1" stroke="#ffab9e" stroke-width="3" />`}
    </svg><span aria-hidden="true" class="small">${say(count ? "tank_waits" : "tank_sent", { count })}</span></a>`;
}

/** The stair: one stage back, here, one on; the whole flight on demand, always open on a wide screen. */
export function Stair({ call, stage }) {
  const [open, set] = useState(false);
  if (!call) return html`<${House} />`;
  const here = Math.max(0, STAGES.indexOf(stage || "find"));
  return html`<nav class="stair" aria-label=${say("stages")}>
    <${Turn} call=${call} stage=${STAGES[here - 1]} side="prev" />
    <button class="now" aria-expanded=${open} onClick=${() => set(!open)}>
      ${say(`stage_${STAGES[here]}`)}<small>${here + 1} / ${STAGES.length}</small>
    </button>
    <${Turn} call=${call} stage=${STAGES[here + 1]} side="next" />
    <ol class="flight" hidden=${!open} onClick=${() => set(false)}>
      ${STAGES.map((name, step) => html`<li style=${{ "--step": step }}>
        <a href=${`/calls/${call}/${name}`} aria-current=${step === here ? "step" : null}>${say(`stage_${name}`)}</a></li>`)}
    </ol>
  </nav>`;
}

function Turn({ call, stage, side }) {
  if (!stage) return html`<span class=${side}></span>`;
  return html`<a class=${side} href=${`/calls/${call}/${stage}`}>
    ${side === "prev" ? "←" : "→"}<small>${say(`stage_${stage}`)}</small></a>`;
}

const ROOMS = ["calls", "van", "handbook", "bench", "settings"];

/** Outside a call: the rooms of the house. */
function House() {
  const here = parts.value[0] || "calls";
  return html`<nav class="stair rooms" aria-label=${say("rooms")}>
    ${ROOMS.map((name) => html`<a href=${name === "calls" ? "/" : `/${name}`} aria-current=${here === name ? "page" : null}>
      ${say(`page_${name}`)}</a>`)}
  </nav>`;
}

function Funnel() {
  return html`<svg width="30" height="30" viewBox="0 0 64 64" aria-hidden="true">
    <path d="M8 12h48L39 38v5H25v-5z" fill="#f0c25c" /><path d="M32 47v12" stroke="#8fd6dd" stroke-width="6" stroke-linecap="round" />
  </svg>`;
}

function Wheel() {
  return html`<svg width="26" height="26" viewBox="0 0 26 26" aria-hidden="true" fill="none" stroke="currentColor" stroke-width="2.4">
    <path d="M3 7h20M3 13h20M3 19h20" /><circle cx="9" cy="7" r="3" fill="#123c42" /><circle cx="17" cy="13" r="3" fill="#123c42" />
    <circle cx="7" cy="19" r="3" fill="#123c42" /></svg>`;
}
