// The next action and the odds. When the server does not answer, the last advice is kept and goes on without what was read since.
import { useRef } from "./ui.js";
import { at, useFacts } from "./case.js";
import { usePocket } from "./pocket.js";
import { say } from "./say.js";
import { already, nameOf, safetyOf, stepsFrom } from "./safety.js";

/** { data: { state, odds, next }, before, kept, reckoned, working, behind, old, error } of the page Find. behind: readings the odds do not
 * know. reckoned: worked out on this phone from the packed call. working: share of the next action that is worked out, null when it is. */
export function useNext(call, held) {
  const asked = useFacts(at(call, "find"));
  const last = useRef([]);
  const behind = unknownTo(asked.data, held.state);
  const state = overlaid(asked.data?.state, held.state);
  const went = asked.data && { ...asked.data, state, next: goneOn(asked.data.next, behind, state) };
  const found = usePocket(call, held, went, { wanted: !!went && !!asked.kept });
  const data = found?.odds ? { ...went, odds: oddsWith(went.odds, found.odds), next: nextWith(asked.data.next, found) } : went;
  const before = remembered(last, data?.odds, held.state);
  const working = found && !found.next ? found.share || 0 : null;
  return { data, before, kept: asked.kept, reckoned: !!found?.odds, working, behind: found ? [] : behind, old: asked.old, error: asked.error };
}

function oddsWith(old, found) {
  const known = new Map(old.causes.map((cause) => [cause.id, cause]));
  return { ...old, ...found, causes: found.causes.map((cause) => ({ at_first: cause.chance, ...known.get(cause.id), ...cause })) };
}

/** The phone's own advice with what the kept one knows of each action. After a repair its proof comes first. */
function nextWith(old, { next, proof }) {
  if (!next) return { ...old, action: null, others: [], promise: null };
  const known = new Map([old.action, ...old.others].filter(Boolean).map((option) => [option.name, option]));
  const told = next.options.map((option) => ({ ...known.get(option.name), ...option, currency: old.currency }));
  if (proof && !proof.missing.some(([key]) => key === "miss_fails")) told.unshift({ ...PROVE, name: say("prove_first"), currency: old.currency });
  const [action = null, ...others] = next.halt ? [] : told;
  return { ...old, halt: next.halt, action, others, promise: action?.promise ?? null };
}

const PROVE = { kind: "prove", check: "", label: "", cautions: [], steps: [], leads: [], faults: [], minutes: 0, cost: 0, promise: null, why: "" };

/** Readings of this phone that the facts do not hold yet. */
function unknownTo(facts, state) {
  if (!facts || !state) return [];
  const known = new Set(facts.odds.readings.map((r) => r.check));
  return state.readings.map((r) => r.check).filter((check) => !known.has(check));
}

/** The kept advice without what has been read since: its next best action comes first. */
function goneOn(next, behind, state) {
  const open = [next.action, ...next.others].filter((option) => option && !behind.includes(option.check));
  const [action = null, ...others] = open.map((option) => ({ ...option, steps: stepsLeft(option.steps, state) }));
  return { ...next, action, others };
}

/** Steps of a way that are not made yet; the way may have been told before they were. */
export function stepsLeft(steps, state) {
  return state.tracked ? steps.filter((step) => !already(step.step, state.facets)) : steps;
}

/** The safety state with what this phone recorded since. */
export function overlaid(facts, state) {
  if (!facts || !state) return facts;
  const water = facts.tracked || facts.facets.water !== "none" ? "on" : "none";
  const safety = safetyOf(state.track, water);
  if (!safety) return facts;
  const names = [...facts.open, ...facts.barred].map((s) => s.step);
  const panels = [...new Set([...names.flatMap((n) => /^(?:open|close) ([A-Z]+)$/.exec(n)?.[1] || []), ...facts.facets.panels, ...safety.panels])];
  return { ...facts, tracked: true, state: nameOf(safety), facets: safety, ...stepsFrom(safety, panels, facts.who) };
}

/** Causes with their odds before the last reading. */
export function odds(found, state, before) {
  return found.causes.map((c) => ({ ...c, was: before?.get(c.id) ?? c.at_first ?? c.chance }));
}

function remembered(last, found, state) {
  if (!found || !state) return null;
  const count = found.readings.map((r) => `${r.check} ${r.shows}`).join();
  const list = last.current;
  const now = { count, odds: new Map(found.causes.map((c) => [c.id, c.chance])) };
  if (list.at(-1)?.count === count) list[list.length - 1] = now;
  else list.push(now);
  return list.at(-2)?.odds || null;
}
