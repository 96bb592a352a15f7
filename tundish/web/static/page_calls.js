// The calls on this device, and a new one.
import { html, useEffect, useState } from "./ui.js";
import { clock, say } from "./say.js";
import { useFacts } from "./case.js";
import { open, turns } from "./outbox.js";
import { me, who } from "./server.js";
import { openings } from "./shelf.js";
import { go } from "./route.js";
import { Fault, Kept, Waiting } from "./bits.js";

export function Calls() {
  const { data, kept, error } = useFacts("/api/calls");
  const families = useFacts("/api/families");
  const [mine, set] = useState([]);
  const turn = turns.value;
  useEffect(() => {
    openings().then(set, () => {});
  }, [turn]);
  const rows = joined(data || [], mine);
  return html`<main id="page" class="page">
    <div class="row"><h1 style=${{ flex: 1 }}>${say("page_calls")}</h1></div>
    <${Kept} at=${kept} />
    <a class="tap main wide" href="/calls/new">${say("new_call")}</a>
    ${!data && error && !rows.length ? html`<${Fault} error=${error} />` : null}
    ${!data && !error && !rows.length ? html`<${Waiting} />` : null}
    ${!data && !error && !rows.length ? null : rows.length ? html`<ul class="card rows flat">${rows.map((c) => html`<${Row} key=${c.call} row=${c} families=${families.data || []} />`)}</ul>` : html`<p class="card soft">${say("no_calls")}</p>`}
  </main>`;
}

/** A call in one line: who, what machine, what it does, and whether it is over. */
function Row({ row, families }) {
  const { call, family, complaint, name, handle, here, opened_at, ended } = row;
  // The words of the complaint come with the families; its short name alone says little
  const does = families.find((f) => f.family === family)?.complaints[complaint] || "";
  return html`<li><a href=${`/calls/${call}/${here ? "ask" : ended ? "close" : "find"}`}>
    <span><b>${name || handle || call.slice(0, 4)}</b><br /><span class="small">${[family, does].filter(Boolean).join(" · ")}</span></span>
    <span class="small soft">${ended ? say(`end_${ended.replaceAll(" ", "_")}`) : opened_at ? clock(opened_at) : ""}</span></a></li>`;
}

/** The server's calls, and those that this phone opened and has not sent. */
function joined(theirs, mine) {
  const known = new Set(theirs.map((c) => c.call));
  const own = mine.filter((e) => !known.has(e.call)).map((e) => ({ call: e.call, ...e.body, opened_at: e.at, here: true }));
  // The newest first: it is likeliest to be looked for
  return [...own, ...theirs.map((c) => ({ ...c, opened_at: c.opened })).reverse()];
}

export function NewCall() {
  // Asked again by itself when the computer answers late
  const { data: families, error: silent } = useFacts("/api/families");
  const [failed, fail] = useState(null);
  const error = failed || (families ? null : silent);
  const [form, put] = useState({ family: "", market: "", complaint: "", age: "", name: "", facts: "", circumstances: [] });
  const change = (part) => put((old) => ({ ...old, ...part }));
  const family = families?.find((f) => f.family === form.family);
  const markets = Object.keys(family?.markets || {});
  const market = form.market || markets.find((name) => pays(family, name)) || markets[0];
  // The shop's currency may have been chosen since the page was opened
  useEffect(() => {
    who().catch(() => {});
  }, []);
  const sound = family && form.complaint && possible(family, market).includes(form.complaint) && pays(family, market);
  const done = async () => {
    const age = form.age === "" ? null : Number(form.age);
    const body = { family: form.family, market, complaint: form.complaint, age, circumstances: form.circumstances, facts: form.facts.trim(), name: form.name.trim() };
    await open(body).then((call) => go(`/calls/${call}/ask`), fail);
  };
  return html`<main id="page" class="page">
    <h1>${say("new_call")}</h1>
    ${families ? null : error ? html`<${Fault} error=${error} />` : html`<${Waiting} />`}
    ${families ? html`<section class="card"><h2>${say("which_machine")}</h2><div class="choices">${families.map((f) => html`<button class="tap" aria-pressed=${f.family === form.family} onClick=${() => change({ family: f.family, market: "", complaint: "", circumstances: [] })}>${f.family}</button>`)}</div></section>` : null}
    ${family ? html`<${About} family=${family} form=${form} market=${market} change=${change} />` : null}
    ${error && families ? html`<${Fault} error=${error} />` : null}
    <button class="tap main wide" disabled=${!sound} onClick=${done}>${say("open_call")}</button>
  </main>`;
}

/** Complaints that a machine of a market can have. */
const possible = (family, market) => family.complaints_in?.[market] || Object.keys(family.complaints);

/** Whether the shop's money is the market's; a shop that has chosen none takes any. */
const pays = (family, market) => !me.value?.currency || !family.currencies || family.currencies[market] === me.value.currency;

function About({ family, form, market, change }) {
  const markets = Object.entries(family.markets);
  const ticked = (name, on) => change({ circumstances: on ? [...form.circumstances, name] : form.circumstances.filter((c) => c !== name) });
  return html`<section class="card" key=${family.family}>
    ${markets.length > 1 ? html`<label class="field">${say("market")}<select value=${market} onChange=${(e) => change({ market: e.target.value })}>${markets.map(([name, words]) => html`<option value=${name} disabled=${!pays(family, name)}>${name}: ${words}</option>`)}</select></label>` : null}
    ${markets.every(([name]) => pays(family, name)) ? null : html`<p class="small soft">${say("other_money", { currency: me.value.currency })}</p>`}
    <h2>${say("what_it_does")}</h2><div class="choices">${Object.entries(family.complaints).filter(([name]) => possible(family, market).includes(name)).map(([name, words]) => html`<button class="tap" aria-pressed=${form.complaint === name} onClick=${() => change({ complaint: name })}>${words}</button>`)}</div>
  </section>
  <section class="card"><label class="field">${say("call_name")}<input value=${form.name} maxlength="60" autocomplete="off" onInput=${(e) => change({ name: e.target.value })} /></label>
    <label class="field">${say("age_years")}<input type="number" min="0" max="60" step="0.5" inputmode="decimal" value=${form.age} onInput=${(e) => change({ age: e.target.value })} /></label>
    <label class="field">${say("own_words")}<textarea value=${form.facts} onInput=${(e) => change({ facts: e.target.value })}></textarea></label>
    <details><summary>${say("what_changed")}</summary>${Object.entries(family.circumstances).map(([name, ask]) => html`<label class="tick"><input type="checkbox" checked=${form.circumstances.includes(name)} onChange=${(e) => ticked(name, e.target.checked)} />${ask || name}</label>`)}</details>
  </section>`;
}
