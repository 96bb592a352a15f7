// People of the shop and their phones, for the owner.
import { html, useEffect, useState } from "./ui.js";
import { clock, say } from "./say.js";
import { send } from "./server.js";
import { useFacts } from "./case.js";
import { turns } from "./outbox.js";
import { Fault, Waiting } from "./bits.js";

export function People() {
  const people = useFacts("/api/people");
  const phones = useFacts("/api/devices");
  const [error, fail] = useState(null);
  const change = (path, body = {}) => send(path, body).then((done) => (fail(null), (turns.value += 1), done), fail);
  if (!people.data) return people.error ? html`<${Fault} error=${people.error} />` : html`<${Waiting} />`;
  return html`<section class="card"><h2>${say("people")}</h2>${error ? html`<${Fault} error=${error} />` : null}
    <ul class="lines">${people.data.map((p) => html`<${Person} key=${p.id} person=${p} change=${change} />`)}</ul><${New} change=${change} /></section>
  <section class="card"><h2>${say("phones")}</h2><${Pairing} people=${people.data} />
    <ul class="lines">${(phones.data || []).map((d) => html`<li class="row" key=${d.device}><span style=${{ flex: 1 }}><b>${d.label || d.device}</b><br /><span class="small soft">${d.person} · ${clock(1000 * d.seen)}${d.revoked ? ` · ${say("struck")}` : ""}</span></span>
      ${d.revoked ? null : html`<button class="tap bad" onClick=${() => change(`/api/devices/${d.device}/revoke`)} aria-label=${say("strike_this", { name: d.label || d.device })}>${say("strike")}</button>`}</li>`)}</ul></section>`;
}

function Person({ person, change }) {
  const [word, set] = useState("");
  return html`<li><details><summary><span style=${{ flex: 1 }}>${person.name || say("you")}</span><span>${say(`role_${person.role}`)}</span></summary>
    <label class="field">${say("new_password")}<input type="password" autocomplete="new-password" value=${word} onInput=${(e) => set(e.target.value)} /></label>
    <div class="row"><button class="tap" disabled=${word.length < 10} onClick=${() => change(`/api/people/${person.id}/password`, { password: word }).then(() => set(""))}>${say("keep")}</button>
    <button class="tap bad" onClick=${() => change(`/api/people/${person.id}/remove`)}>${say("remove")}</button></div></details></li>`;
}

function New({ change }) {
  const [form, put] = useState({ name: "", role: "technician", password: "" });
  return html`<details><summary>${say("new_person")}</summary><label class="field">${say("name")}<input value=${form.name} autocomplete="off" onInput=${(e) => put({ ...form, name: e.target.value })} /></label>
    <label class="field">${say("role")}<select value=${form.role} onChange=${(e) => put({ ...form, role: e.target.value })}>${["technician", "owner"].map((r) => html`<option value=${r}>${say(`role_${r}`)}</option>`)}</select></label>
    <label class="field">${say("password")}<input type="password" autocomplete="new-password" value=${form.password} onInput=${(e) => put({ ...form, password: e.target.value })} /></label>
    <p></p><button class="tap" disabled=${!form.name.trim()} onClick=${() => change("/api/people", form)}>${say("add")}</button></details>`;
}

/** The code that lets a phone in, as a picture; it works once and for some minutes. */
function Pairing({ people }) {
  const [person, set] = useState(people[0]?.id || "first");
  const [picture, draw] = useState("");
  const [error, fail] = useState(null);
  useEffect(() => () => picture && URL.revokeObjectURL(picture), [picture]);
  const make = () => send("/api/pairings", { person }).then((found) => draw(URL.createObjectURL(new Blob([withSize(found.svg)], { type: "image/svg+xml" }))), fail);
  return html`<div><label class="field">${say("whose_phone")}<select value=${person} onChange=${(e) => set(e.target.value)}>${people.map((p) => html`<option value=${p.id}>${p.name || say("you")}</option>`)}</select></label>
    <p></p><button class="tap" onClick=${make}>${say("pair_phone")}</button>${picture ? html`<p>${say("pair_how")}</p><img class="qr" src=${picture} alt=${say("pair_code")} />` : null}${error ? html`<${Fault} error=${error} />` : null}</div>`;
}

function withSize(svg) {
  return svg.includes("xmlns") ? svg : svg.replace("<svg", '<svg xmlns="http://www.w3.org/2000/svg"');
}
