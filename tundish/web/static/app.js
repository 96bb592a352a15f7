// The frame of every page: the bar with the outbox, the stair of stages, and which page stands in between.
import { html, render, useEffect, useState } from "./ui.js";
import { apply, choice, say } from "./say.js";
import { hash, parts, path } from "./route.js";
import { begin, count, stuck, trouble, waiting } from "./outbox.js";
import { clockAhead, me, reached, simulating, who } from "./server.js";
import { small } from "./shelf.js";
import { Bar, Stair } from "./frame.js";
import { Calls, NewCall } from "./page_calls.js";
import { PAGES } from "./pages.js";

// From here on a difference of clocks is told, [ms]; our choice.
const CLOCK = 5 * 60000;

function App() {
  const [first, second, third] = parts.value;
  return html`<div class="frame">
    <a class="skip unseen" href="#page">${say("skip")}</a>
    <${Bar} />
    <${Straits} />
    <${Stair} call=${first === "calls" && second && second !== "new" ? second : ""} stage=${third || ""} />
    <${Page} key=${path.value} names=${[first, second, third]} />
  </div>`;
}

function Page({ names: [first, second, third] }) {
  useEffect(() => {
    document.title = [document.querySelector("#page h1")?.textContent, "Tundish"].filter(Boolean).join(" · ");
  });
  const known = me.value;
  if (first === "pair") return html`<${PAGES.pair} code=${hash.value.slice(1)} />`;
  if (first === "sign-in" || (known && reached.value && !known.signed_in)) return html`<${PAGES.signIn} />`;
  if (!first || (first === "calls" && !second)) return html`<${Calls} />`;
  if (first === "calls" && second === "new") return html`<${NewCall} />`;
  if (first === "calls") return html`<${PAGES[third] || PAGES.find} call=${second} />`;
  const Found = PAGES[first] || PAGES.lost;
  return html`<${Found} name=${second} />`;
}

/** What presses: no signal, a wrong clock, a full phone, events refused, machines being simulated. */
function Straits() {
  const ahead = clockAhead.value;
  return html`<div role="status" aria-live="polite">
    ${reached.value ? null : html`<p class="strait">${say("offline", { count: waiting.value })}</p>`}
    ${Math.abs(ahead) > CLOCK && html`<p class="strait">${say(ahead > 0 ? "clock_ahead" : "clock_behind", { span: span(ahead) })}</p>`}
    ${trouble.value && html`<p class=${`strait ${trouble.value === "full_lost" ? "bad" : ""}`}>${say(trouble.value)}</p>`}
    ${stuck.value.length ? html`<p class="strait bad">${say("stuck", { count: stuck.value.length, why: stuck.value[0].seen })}</p>` : null}
    ${simulating.value !== null && html`<p class="strait">${say("simulating", { share: Math.round(100 * simulating.value) })}</p>`}
  </div>`;
}

function span(milliseconds) {
  const hours = Math.abs(milliseconds) / 3600000;
  return hours >= 1 ? say("hours", { count: Math.round(hours) }) : say("minutes", { count: Math.round(hours * 60) });
}

function Start() {
  const [ready, set] = useState(false);
  useEffect(() => {
    (async () => {
      me.value = (await small("me").catch(() => null)) || null;
      // Before the first picture: nobody may read a nought that has not been counted
      await count();
      set(true);
      await who().catch(() => {});
      begin();
    })();
  }, []);
  choice.value;
  return ready ? html`<${App} />` : null;
}

apply();
document.getElementById("bench").textContent = "";
render(html`<${Start} />`, document.getElementById("bench"));
navigator.serviceWorker?.register("/service-worker.js", { updateViaCache: "none" }).catch(() => {});
navigator.storage?.persist?.().catch(() => {});
