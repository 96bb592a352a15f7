// Entry of a reading with gloves on: keys of 56 px, the unit beside the number, or one choice for each answer.
import { html, useState } from "./ui.js";
import { say } from "./say.js";
import { keyed, offered, outside } from "./units.js";

const SHARE = [{ unit: "%", label: "%" }];
const KEYS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0"];

/** Choices of a look. answers: [[name, chance]]; done gets { answer, typed }. */
export function Choices({ answers, done, off }) {
  return html`<div class="choices">
    ${answers.map(([name]) => html`<button class="tap" disabled=${off} onClick=${() => done({ answer: name, typed: name })}>${name}</button>`)}
  </div>`;
}

/** Number pad. about: { dimension, middle, bucket }, SI. done gets { value, typed, bound }. */
export function Pad({ about, system, done, off }) {
  // A number without unit that ends at 1 is a share, and is told and read in percent
  const units = about.dimension === "number" && about.high === 1 ? SHARE : offered(about.dimension, system, about.middle, about.bucket);
  const [text, setText] = useState("");
  const [unit, setUnit] = useState(units[0]);
  const [bound, setBound] = useState("exact");
  const [told, tell] = useState(false);
  const chosen = units.find((u) => u.unit === unit.unit) || units[0];
  const number = Number(text);
  const sound = text !== "" && text !== "-" && Number.isFinite(number) && !(chosen.volume && number <= 0);
  const press = (key) => setText(typedOn(text, key));
  const wrong = sound ? outside(number, chosen, about) : null;
  // What was typed stays, so that one digit or the unit can be mended
  const take = () => (wrong ? tell(true) : done({ ...keyed(number, chosen), bound }));
  return html`<div class="pad" onKeyDown=${(event) => fromKeyboard(event, press, sound && !off && take)}>
    <output aria-live="polite" aria-label=${say("typed")}>${bound === "above" ? "> " : bound === "below" ? "< " : ""}${text || "–"} <span>${chosen.label}</span></output>
    <div class="units" role="group" aria-label=${say("unit")}>
      ${units.map((u) => html`<button aria-pressed=${u.unit === chosen.unit} onClick=${() => setUnit(u)}>${u.label}</button>`)}
    </div>
    <div class="keys" role="group" aria-label=${say("keys")}>
      ${KEYS.slice(0, 3).map((k) => html`<${Key} k=${k} press=${press} />`)}<${Key} k="⌫" name=${say("rub_out")} press=${press} />
      ${KEYS.slice(3, 6).map((k) => html`<${Key} k=${k} press=${press} />`)}<${Key} k="C" name=${say("clear")} press=${press} />
      ${KEYS.slice(6, 9).map((k) => html`<${Key} k=${k} press=${press} />`)}
      <button aria-pressed=${bound === "above"} onClick=${() => setBound(bound === "above" ? "exact" : "above")}>${">"}</button>
      ${KEYS.slice(9).map((k) => html`<${Key} k=${k} press=${press} />`)}<${Key} k="±" name=${say("sign")} press=${press} />
      <button aria-pressed=${bound === "below"} onClick=${() => setBound(bound === "below" ? "exact" : "below")}>${"<"}</button>
    </div>
    ${told && wrong ? html`<${Outside} wrong=${wrong} typed=${`${text} ${chosen.label}`} instrument=${about.instrument} />` : null}
    <div class="row">
      <button class="tap main" disabled=${!sound || off} onClick=${take}>${say("write_down")}</button>
      <button class="tap low" disabled=${off} onClick=${() => done({ value: "over", typed: "OL", bound: "exact" })}>${say("over_range")}</button>
    </div>
  </div>`;
}

/** Why a number was not written down, and what to do. */
function Outside({ wrong, typed, instrument }) {
  const range = wrong.low && wrong.high ? say("from_to", wrong) : wrong.low ? say("at_least", wrong) : say("at_most", wrong);
  return html`<p class="warn bad" role="alert"><b>${say("cannot_read", { typed, instrument: instrument || say("instrument") })}</b> ${say("allowed", { what: range })}<br />${say(wrong.above ? "mend_above" : "mend_number")}</p>`;
}

function Key({ k, name, press }) {
  return html`<button aria-label=${name || k} onClick=${() => press(k)}>${k}</button>`;
}

function typedOn(text, key) {
  if (key === "⌫") return text.slice(0, -1);
  if (key === "C") return "";
  if (key === "±") return text.startsWith("-") ? text.slice(1) : `-${text}`;
  if (key === "." && text.includes(".")) return text;
  return (text + key).slice(0, 10);
}

function fromKeyboard(event, press, take) {
  // A key that sits on a button belongs to the button
  if (event.key === "Enter" && event.target.tagName !== "BUTTON" && take) take();
  const key = { Backspace: "⌫", ",": ".", "-": "±", Delete: "C" }[event.key] || event.key;
  if (KEYS.includes(key) || ["⌫", "C", "±"].includes(key)) press(key);
}

