// Coming in: signing in, pairing a phone by its code, and a page that is not there.
import { html, useEffect, useState } from "./ui.js";
import { say } from "./say.js";
import { me, send, who } from "./server.js";
import { flush } from "./outbox.js";
import { go } from "./route.js";
import { Fault } from "./bits.js";

export function SignIn() {
  const [form, put] = useState({ name: "", password: "" });
  const [error, fail] = useState(null);
  const enter = async (event) => {
    event.preventDefault();
    await send("/api/sign-in", form).then(inside, fail);
  };
  return html`<main id="page" class="page"><h1>${say("page_sign-in")}</h1><form class="card" onSubmit=${enter}>
    <label class="field">${say("name")}<input autocomplete="username" value=${form.name} onInput=${(e) => put({ ...form, name: e.target.value })} /></label>
    <label class="field">${say("password")}<input type="password" autocomplete="current-password" value=${form.password} onInput=${(e) => put({ ...form, password: e.target.value })} /></label>
    ${error ? html`<${Fault} error=${error} />` : null}<p></p><button class="tap main wide">${say("page_sign-in")}</button></form></main>`;
}

export function Pair({ code }) {
  const [label, set] = useState("");
  const [error, fail] = useState(null);
  useEffect(() => {
    // The code must not stay in the history of the phone
    if (code) history.replaceState(null, "", "/pair");
  }, []);
  const [held] = useState(code);
  return html`<main id="page" class="page"><h1>${say("page_pair")}</h1><section class="card">${held ? null : html`<p>${say("no_code")}</p>`}
    <label class="field">${say("phone_name")}<input value=${label} onInput=${(e) => set(e.target.value)} /></label>
    ${error ? html`<${Fault} error=${error} />` : null}<p></p><button class="tap main wide" disabled=${!held} onClick=${() => send("/api/pair", { code: held, label }).then(inside, fail)}>${say("page_pair")}</button></section></main>`;
}

export function Lost() {
  return html`<main id="page" class="page"><h1>${say("lost")}</h1><a class="tap main" href="/">${say("to_calls")}</a></main>`;
}

async function inside() {
  await who();
  if (me.value?.signed_in) go("/", { replace: true });
  flush();
}
