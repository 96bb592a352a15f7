// What a check showed: as a number or as one of its answers. Not to be tapped while the machine is not in the state for it.
import { html, useEffect, useState } from "./ui.js";
import { choice, say } from "./say.js";
import { record } from "./outbox.js";
import { reached } from "./server.js";
import { IMPLIED } from "./safety.js";
import { checkOf } from "./checks.js";
import { Choices, Pad } from "./pad.js";
import { Fault } from "./bits.js";
import { NOT_THERE } from "./kernel.js";
import { Shot } from "./photos.js";

/** stage: under which photos of this check are kept. */
export function Entry({ call, action, state, held, after, stage = "find" }) {
  const [about, set] = useState(null);
  const [error, fail] = useState(null);
  const [busy, working] = useState(false);
  useEffect(() => {
    let alive = true;
    set((old) => (old?.check === action.check ? old : null));
    fail(null);
    checkOf(call, action.check).then((found) => alive && set(found), (problem) => alive && fail(problem));
    return () => (alive = false);
  }, [call, action.check, reached.value]);
  const missing = state.tracked ? (action.steps || []).filter((s) => !IMPLIED.includes(s.step)) : [];
  if (missing.length) return html`<p class="barred"><b>${say("not_yet")}</b> ${say("first_steps", { steps: missing.map((s) => s.step).join(", ") })}</p>`;
  if (!about) return error ? html`<${Fault} error=${error} />` : html`<p class="soft">${say("working")}</p>`;
  const done = async (shown) => {
    working(true);
    fail(null);
    // What was picked is done with only when it is safe on the disk
    await record(call, bodies(action, state, shown)).then(() => after?.(), fail);
    working(false);
  };
  const system = choice.value.units || about.system;
  return html`<div><h2>${say("what_it_showed")}</h2>
    ${about.says ? html`<p class="small soft">${say("expected_now", { now: about.says, healthy: about.healthy })}</p>` : null}
    ${about.answers.length ? html`<${Choices} answers=${about.answers} done=${done} off=${busy} />` : html`<${Pad} key=${`${action.check} ${system}`} about=${about} system=${system} done=${done} off=${busy || !held.state} />`}
    ${about.mayLack ? html`<p></p><button class="tap low wide" disabled=${busy || !held.state} onClick=${() => done({ answer: NOT_THERE, typed: NOT_THERE })}>${say("not_there")}</button>` : null}
    ${error ? html`<${Fault} error=${error} />` : null}
    <${Shot} call=${call} subject=${action.check} stage=${stage} low /></div>`;
}

function bodies(action, state, shown) {
  const implied = state.tracked ? (action.steps || []) : [];
  const steps = implied.map((s) => ["state claimed", { step: s.step, proof: `shown by the reading of ${action.check}`, who: state.who }]);
  const { value = null, answer = null, bound = "exact", typed = "" } = shown;
  return [...steps, ["reading taken", { check: action.check, value, answer, bound, typed, note: "" }]];
}
