// Settings: of this phone for everybody; the outbox; prices, people and phones for the owner.
import { html, useEffect, useState } from "./ui.js";
import { choice, choose, say } from "./say.js";
import { flush, stuck, turns, waiting } from "./outbox.js";
import { me, reached, send, who } from "./server.js";
import { useFacts } from "./case.js";
import { Fault, Kept, Waiting } from "./bits.js";
import { People } from "./people.js";

export function Settings() {
  const owner = me.value?.role === "owner";
  return html`<main id="page" class="page twin"><h1 class="across">${say("page_settings")}</h1>
    <div class="side"><${Phone} /><${Outbox} /></div>
    <div class="side">${owner ? html`<${Shop} /><${People} />` : html`<p class="soft">${say("owner_only")}</p>`}
      ${me.value?.door === "network" && me.value?.signed_in ? html`<button class="tap" onClick=${() => send("/api/sign-out", {}).then(who)}>${say("sign_out")}</button>` : null}</div>
  </main>`;
}

function Phone() {
  const row = (name, values) => html`<fieldset class="plain"><legend>${say(name)}</legend><div class="row even">${values.map(([value, words]) => html`<button class="tap" aria-pressed=${choice.value[name] === value} onClick=${() => choose({ [name]: value })}>${words}</button>`)}</div></fieldset>`;
  return html`<section class="card"><h2>${say("this_phone")}</h2>
    ${row("language", [["en", "English"], ["de", "Deutsch"]])}
    ${row("theme", [["", say("theme_phone")], ["bright", say("theme_bright")], ["dark", say("theme_dark")]])}
    ${row("units", [["", say("units_market")], ["metric", "bar °C L"], ["US", "psi °F gal"]])}</section>`;
}

function Outbox() {
  const [room, set] = useState(null);
  useEffect(() => {
    navigator.storage?.estimate?.().then(set);
  }, []);
  return html`<section class="card" id="outbox"><h2>${say("outbox")}</h2>
    <p>${waiting.value ? say("waiting", { count: waiting.value }) : say(reached.value ? "all_sent" : "nothing_waits")}</p>
    ${stuck.value.length ? html`<ul class="warn bad">${stuck.value.map((s) => html`<li><b>${s.seen}</b> ${s.do}</li>`)}</ul>` : null}
    ${room ? html`<p class="small soft">${say("room_used", { used: Math.ceil(room.usage / 1e6), of: Math.floor(room.quota / 1e6) })}</p>` : null}
    <button class="tap" onClick=${flush}>${say("send_now")}</button></section>`;
}

function Shop() {
  const { data, kept, error } = useFacts("/api/settings");
  const live = data?.settings.find((s) => s.key === "qualified");
  return html`${live ? html`<${LiveWork} setting=${live} />` : null}<section class="card"><h2>${say("shop")}</h2><${Kept} at=${kept} />
    ${data ? html`<ul class="lines">${data.settings.filter((s) => s !== live).map((s) => html`<${One} key=${s.key} setting=${s} />`)}</ul>` : error ? html`<${Fault} error=${error} />` : html`<${Waiting} />`}</section>`;
}

const put = (setting, body) => send("/api/settings", { key: setting.key, ...body }).then(() => (turns.value += 1));

/** Whether live work may be proposed here: a matter of who works, so it stands by itself. */
function LiveWork({ setting }) {
  const [error, fail] = useState(null);
  return html`<section class="card"><h2>${say("live_work")}</h2><p>${say("live_work_how")}</p>
    <div class="row"><button class="tap" aria-pressed=${!setting.value} onClick=${() => put(setting, { value: "no" }).then(() => fail(null), fail)}>${say("not_qualified")}</button>
      <button class="tap" aria-pressed=${setting.value} onClick=${() => put(setting, { value: "yes" }).then(() => fail(null), fail)}>${say("qualified")}</button></div>
    ${error ? html`<${Fault} error=${error} />` : null}</section>`;
}

function One({ setting }) {
  const [text, set] = useState(null);
  const [error, fail] = useState(null);
  const keep = (body) => put(setting, body).then(() => (set(null), fail(null)), fail);
  const title = setting.key.replaceAll("_", " ");
  return html`<li><details><summary><span style=${{ flex: 1 }}>${title}</span><span class="num">${setting.shows} ${setting.unit}</span></summary>
    <label class="field">${title}<input value=${text ?? setting.shows} onInput=${(e) => set(e.target.value)} /></label>
    <p class="small soft">${setting.source}</p>${error ? html`<${Fault} error=${error} />` : null}
    <div class="row"><button class="tap" disabled=${text === null} onClick=${() => keep({ value: text })}>${say("keep")}</button><button class="tap low" onClick=${() => keep({ usual: true })}>${say("usual")}</button></div></details></li>`;
}
