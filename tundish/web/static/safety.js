// The safety state as a fold over claimed and found steps: tundish.call.safety and tundish.plan.states for a phone without signal.
import { FACETS, FOUND, PANEL_PROOFS, SAFE_POWER, STEPS, WHO } from "./safety_table.js";

/** Steps a reading shows by itself: they never make the machine safer on paper than it is. */
export const IMPLIED = ["energise", "open the taps"];
/** Steps whose proof must be told in one's own words. */
export const TOLD = ["return to use", "put out of use"];

/** What is believed on arrival. water: "on", or "none" in a family that never fills. */
export function arrival(water) {
  return {
    power: "on", water, place: "in place", heat: "cold", gas: "none", refrigerant: "none", hazard: "unknown", supply: "plug",
    use: "in hand", panels: [],
  };
}

/** The state after the steps of a call, in order; null when nothing is tracked. water: of the family on arrival. */
export function safetyOf(track, water) {
  return track.reduce((state, body) => {
    if (body.leaving) return state && onLeaving(state);
    return body.step ? claimed(state || arrival(water), body) : found(state || arrival(water), body);
  }, null);
}

/** Steps open and barred from a state. panels: names. who: any, trained or qualified. As `tundish state` gives them. */
export function stepsFrom(state, panels, who) {
  const rows = stepsFor(panels).filter((s) => !state.panels.includes(s.end) && (s.end !== "closed" || state.panels.includes(s.start)));
  const open = rows.filter((s) => !refusal(s, state, who)).map(shown);
  const barred = rows
    .filter((s) => refusal(s, state, who) && (s.facet === "panels" || state[s.facet] === s.start))
    .map((s) => ({ step: s.name, why: refusal(s, state, who) }));
  return { open, barred };
}

/** The state in words. */
export function nameOf(state) {
  const told = [`power ${state.power}`, state.water === "none" ? "" : `water ${state.water}`];
  const usual = { ...arrival("on"), hazard: "none seen" };
  for (const facet of ["place", "heat", "gas", "refrigerant", "hazard", "use"]) {
    if (state[facet] === usual[facet]) continue;
    told.push(["gas", "refrigerant", "hazard"].includes(facet) ? `${facet} ${state[facet]}` : state[facet]);
  }
  return [...told, ...[...state.panels].sort().map((p) => `${p} open`)].filter(Boolean).join(", ");
}

/** The state after a part was ordered: a proof of dead does not outlast a visit. */
export function onLeaving(state) {
  const power = ["dead", "discharged"].includes(state.power) ? "isolated" : state.power;
  return { ...state, power, hazard: state.hazard === "seen" ? "seen" : "unknown" };
}

/** Whether what a step brings about is so already. */
export function already(name, state) {
  const step = stepOf(name, state);
  if (step?.facet !== "panels") return !!step && state[step.facet] === step.end;
  return step.end === "closed" ? !state.panels.includes(step.start) : state.panels.includes(step.end);
}

/** Why the machine may not be left as it stands; "" when it may. */
export function unsafeToLeave(state) {
  if (state.power === "live") return "it is live with covers off: off again";
  if (state.hazard === "seen" && state.use !== "out of use") return "a hazard was seen: put it out of use";
  return [...state.panels].sort().map((p) => `${p} is open: close ${p}`).join(", ");
}

/** Why a step may not be made; "" when it may. */
export function refusal(step, state, who) {
  if (WHO.indexOf(who) < WHO.indexOf(step.who)) return `only for somebody ${step.who}`;
  if (state.use !== "in hand") return `the machine is ${state.use}`;
  const there = step.facet === "panels" ? step.start === "closed" || state.panels.includes(step.start) : state[step.facet] === step.start;
  if (!there) return `needs ${step.facet} ${step.start}`;
  for (const [facet, values] of Object.entries(step.needs)) {
    const seen = facet === "panels" ? (state.panels.length ? "open" : "closed") : state[facet];
    if (!values.includes(seen)) return `${facet} is ${seen}, must be ${values.join(" or ")}`;
  }
  return "";
}

function claimed(state, body) {
  const step = stepOf(body.step, state);
  const open = step?.facet === "panels" && state.panels.includes(step.end);
  if (step && !open && !refusal(step, state, body.who)) return made(step, state);
  // A claim that cannot be followed never makes the machine safer; that power is on is believed
  return step?.facet === "power" && ["on", "live"].includes(step.end) ? { ...state, power: step.end } : state;
}

function found(state, { facet, value }) {
  if (facet === "panel") return { ...state, panels: [...new Set([...state.panels, value])] };
  const locked = facet === "power" && value === "isolated" && state.supply === "breaker";
  return FOUND[facet]?.includes(value) && !locked ? { ...state, [facet]: value } : state;
}

function made(step, state) {
  if (step.facet !== "panels") return { ...state, [step.facet]: step.end };
  const panels = step.end === "closed" ? state.panels.filter((p) => p !== step.start) : [...state.panels, step.end];
  return { ...state, panels };
}

function stepOf(name, state) {
  const rows = STEPS.filter((s) => s.name === name);
  if (rows.length) return rows.find((s) => state[s.facet] === s.start) || rows[0];
  const [, what, panel] = /^(open|close) (.+)$/.exec(name) || [];
  return panel && panelStep(what, panel);
}

function stepsFor(panels) {
  const table = STEPS.filter((s) => s.facet in FACETS);
  return [...table, ...panels.map((p) => panelStep("open", p)), ...panels.map((p) => panelStep("close", p))];
}

function panelStep(what, panel) {
  const [start, end] = what === "open" ? ["closed", panel] : [panel, "closed"];
  return { name: `${what} ${panel}`, facet: "panels", start, end, minutes: [], proof: PANEL_PROOFS[what], who: "any", needs: { power: SAFE_POWER } };
}

function shown({ name, minutes, proof, who }) {
  return { step: name, minutes, proof, who };
}
