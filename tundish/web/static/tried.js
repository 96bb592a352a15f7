// The test after a repair: the machine tried as the customer uses it.
import { html, useState } from "./ui.js";
import { say } from "./say.js";
import { record } from "./outbox.js";
import { Fault } from "./bits.js";

/** known: what the last test showed, null for none. */
export function Tried({ call, known = null }) {
  const [error, fail] = useState(null);
  const tell = (works) => record(call, [["tested", { works, note: "" }]]).catch(fail);
  return html`<div>${known === null ? null : html`<p class=${known ? "done" : "not"}>${say(known ? "tried_works" : "tried_fails")}</p>`}
    ${error ? html`<${Fault} error=${error} />` : null}
    <div class="row"><button class=${`tap ${known === null ? "main" : ""}`} onClick=${() => tell(true)}>${say("it_works")}</button>
      <button class="tap" onClick=${() => tell(false)}>${say("it_still_fails")}</button></div></div>`;
}
