// The call in the pocket on the page: fetched while there is a line, opened once, and asked when the server does not answer.
import { useEffect, useState } from "./ui.js";
import { board, dangers, lead, misfit, NOT_THERE, odds, unpack, weigh } from "./kernel.js";
import { way } from "./kernel_walk.js";
import { nameOf } from "./safety.js";
import { say } from "./say.js";
import { bytes } from "./server.js";
import { rounded } from "./units.js";
import { UNITS } from "./units_table.js";
import * as shelf from "./shelf.js";

// Below this many machines, or three times the root of those there are, the odds are not sure: docs/odds.md.
const EFFECTIVE = 200;
const held = { call: "", at: 0, pocket: null };

/** Fetch the packed call and keep it. Nothing happens where the server has none, as after a repair. */
export async function fetchPack(call) {
  await shelf.keepPack(call, await bytes(`/api/calls/${call}/pack`));
}

/** The facts of the page Find with what the phone reckons from the readings it holds; the facts themselves until it has.
 * wanted: whether the server's odds do not know all readings. Nothing is reckoned after a repair: that makes another machine. */
export function usePocket(call, facts, state, wanted) {
  const [found, set] = useState(null);
  const asks = wanted && facts && state && !state.repairs.length;
  const mark = asks ? JSON.stringify([state.readings.map((r) => r.event), facts.state?.state, state.parts]) : "";
  useEffect(() => {
    if (!mark) return set(null);
    let alive = true;
    // After the paint: the tap has its answer first
    const later = setTimeout(() => reckoned(call, facts, state).then((data) => alive && set({ mark, data }), () => alive && set(null)), 30);
    return () => ((alive = false), clearTimeout(later));
  }, [call, mark]);
  return found && found.mark === mark ? found.data : null;
}

async function reckoned(call, facts, state) {
  const pocket = await open(call);
  if (!pocket) return null;
  const readings = state.readings.filter((r) => pocket.checks.has(r.check)).map(plain);
  const weighed = weigh(pocket, readings);
  const said = dangers(pocket, readings);
  const shown = board(weighed, { state: facts.state.tracked ? nameOf(facts.state.facets) : "", parts: state.parts });
  return { ...facts, odds: oddsFacts(facts.odds, weighed, said, state), next: nextFacts(facts.next, weighed, shown) };
}

async function open(call) {
  const kept = await shelf.packOf(call);
  if (!kept) return null;
  if (held.call !== call || held.at !== kept.at) Object.assign(held, { call, at: kept.at, pocket: await unpack(kept.bytes) });
  return held.pocket;
}

/** A reading as the record has it, as the kernel takes it. */
function plain({ check, value, answer, bound }) {
  return { check, value: value === "over" ? Infinity : (value ?? null), answer: answer ?? null, bound: bound || "exact" };
}

const titled = (weighed, check) => weighed.pocket.checks.get(check)?.title || "";

function oddsFacts(old, weighed, said, state) {
  const found = odds(weighed);
  const known = new Map(old.causes.map((cause) => [cause.id, cause]));
  const titles = new Map(weighed.pocket.head.causes.map((cause) => [cause.id, cause]));
  const all = weighed.weight.reduce((many, w) => many + (w > 0), 0);
  return {
    ...old,
    readings: state.readings.map((r) => ({ check: r.check, title: titled(weighed, r.check), shows: r.typed || r.answer })),
    causes: found.causes.map(([id, chance]) => ({ ...titles.get(id), at_first: chance, ...known.get(id), chance })),
    nothing_wrong: found.nothing,
    not_described: found.unknown,
    misfit: misfit(weighed),
    sure: found.effective >= Math.max(EFFECTIVE, 3 * Math.sqrt(all)),
    effective_machines: found.effective,
    notices: said.map((danger) => ({ say: danger.say })),
  };
}

function nextFacts(old, weighed, shown) {
  const base = { ...old, action: null, others: [], promise: null };
  if (shown.halt) return { ...base, halt: shown.here < 0 && shown.halt === "not in the pocket" ? say("pocket_state") : shown.halt };
  const known = new Map([old.action, ...old.others].filter(Boolean).map((option) => [option.name, option]));
  const told = shown.options.map((option, i) => optionFacts(option, { weighed, shown, old, known, leads: i < 3 }));
  return { ...base, halt: "", action: told[0], others: told.slice(1), promise: told[0].promise };
}

/** An option as `tundish next --json` tells it. */
function optionFacts(option, { weighed, shown, old, known, leads }) {
  const { head, walk, checks } = weighed.pocket;
  const check = checks.get(option.kind === "check" ? option.what : "");
  const remedy = head.remedies.find((r) => r.name === option.what);
  const money = walk.money[shown.here * walk.number + option.at];
  const name = option.kind === "order" ? `order ${remedy.part}, return` : option.what;
  return {
    ...known.get(name),
    name, label: check ? `${check.id} ${check.title}` : name, kind: option.kind, check: check?.id || "", faults: remedy?.faults || [],
    where: check?.where || "", instrument: check?.instrument || "", how: check?.how || "", live: false,
    steps: way(walk, shown.here, option.at).map((s) => head.steps[s]),
    cautions: check?.cautions || remedy?.cautions || [],
    why: say("pocket_why"), cost: option.own, minutes: (check || remedy)?.minutes + money / head.money.rate || 0,
    promise: option.promise, saves: 0, currency: old.currency,
    leads: check && leads ? leadsOf(weighed, shown, option, check) : [],
  };
}

function leadsOf(weighed, shown, option, check) {
  const { checks } = weighed.pocket;
  return lead(shown, weighed, option).filter((row) => row.chance >= 0.01).map((row) => {
    const next = checks.get(row.then);
    return { outcome: outcome(row, check), chance: row.chance, then: next ? `${next.id} ${next.title}` : say("pocket_then"), causes: row.causes };
  });
}

function outcome({ answer, lacks, low, high }, check) {
  if (lacks) return NOT_THERE;
  if (answer) return answer;
  const [, factor, offset] = UNITS[check.unit] || ["", 1, 0];
  const number = (value) => (value >= check.errors.high ? say("over_range") : `${rounded(value / factor - offset)} ${check.unit}`);
  if (low === null) return high === null ? say("pocket_any") : `< ${number(high)}`;
  return high === null ? `≥ ${number(low)}` : `${number(low)} – ${number(high)}`;
}
