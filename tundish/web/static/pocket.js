// The call in the pocket on the page: packs fetched while there is a line, and a worker asked when the server does not answer.
import { useEffect, useState } from "./ui.js";
import { fold } from "./fold.js";
import { nameOf, safetyOf } from "./safety.js";
import { say } from "./say.js";
import { bytes } from "./server.js";
import * as shelf from "./shelf.js";

/** Under what name a pack is kept: that of the call, and the causes repaired since. */
export const packKey = (call, repaired) => [call, ...[...repaired].sort()].join(" ");

/** Causes repaired so far. */
export const repairedIn = (state) => state.repairs.map((r) => r.fault);

/** Fetch the packed call and keep it. planned: causes about to be repaired, so that the repair can be proven without a line. */
export async function fetchPack(call, state, planned = []) {
  const query = planned.length ? `?${new URLSearchParams(planned.map((fault) => ["repaired", fault]))}` : "";
  await shelf.keepPack(packKey(call, [...repairedIn(state), ...planned]), await bytes(`/api/calls/${call}/pack${query}`));
}

/** What the phone reckons from the readings it holds: null while nothing is asked or nothing is packed, else { odds, proof, next, share }.
 * Each stands only while it is of the readings of now; share: how far the next action is. wants: "next" or "proof". */
export function usePocket(call, held, facts, { wanted, wants = "next" }) {
  const [found, set] = useState({ mark: "" });
  const { state, events } = held;
  const asked = wanted && state?.opened ? askedOf(state, events, facts) : null;
  const key = state?.opened ? packKey(call, repairedIn(state)) : "";
  useEffect(() => {
    if (!key) return undefined;
    // Opened ahead, while the hand reads: the first tap without a line then waits for nothing
    const later = setTimeout(() => summoned().postMessage({ warm: key }), AHEAD);
    return () => clearTimeout(later);
  }, [key]);
  const mark = asked ? JSON.stringify([key, asked, wants]) : "";
  useEffect(() => {
    if (!mark) return set({ mark: "" });
    set((old) => ({ mark, odds: old.odds, share: 0 }));
    const put = (part) => set((old) => (old.mark === mark ? { ...old, ...part } : old));
    return reckon({ key, asked, words: words(), wants }, put);
  }, [mark]);
  return mark && found.mark === mark && !found.none && !found.fault ? found : null;
}

/** What is asked of the worker: readings as the kernel takes them, the test, parts, and how the machine stands. */
function askedOf(state, events, facts) {
  const tracked = facts?.state?.tracked;
  return {
    readings: state.readings.map((r) => ({ ...plain(r), typed: r.typed, stood: state.repairs.length ? stoodAt(r, events) : null })),
    works: state.tested ? state.tested.works : null,
    parts: state.parts,
    state: tracked ? nameOf(facts.state.facets) : "",
    unready: !!tracked && !asUsed(facts.state.facets),
  };
}

/** A reading as the record has it, as the kernel takes it. */
function plain({ check, value, answer, bound }) {
  return { check, value: value === "over" ? Infinity : (value ?? null), answer: answer ?? null, bound: bound || "exact" };
}

const asUsed = ({ place, panels, use }) => use === "returned to use" || (place === "in place" && !panels.length);

/** How the machine stood when something was read: { off, open }; null when nothing was tracked. Later corrections tell too. */
function stoodAt(reading, events) {
  const then = safetyOf(fold(events.filter((e) => e.id <= reading.event || e.kind === "corrected")).track, "on");
  return then && { off: then.power !== "on", open: then.place !== "in place" || then.panels.length > 0 };
}

function words() {
  return { over: say("over_range"), any: say("pocket_any"), then: say("pocket_then"), why: say("pocket_why"), state: say("pocket_state") };
}

// When a pack is opened ahead, [ms]; our choice.
const AHEAD = 1500;
let worker;
let count = 0;
const waiting = new Map();

/** Ask the worker; put hears each part of the answer. Returns how to stop hearing. */
function reckon(question, put) {
  const ask = (count += 1);
  waiting.set(ask, put);
  summoned().postMessage({ ask, ...question });
  return () => waiting.delete(ask);
}

const summoned = () => (worker ??= started());

function started() {
  const one = new Worker("/static/reckoner.js", { type: "module" });
  one.onmessage = ({ data: { ask, ...part } }) => waiting.get(ask)?.(part);
  // A worker that does not start must not leave the page waiting: it goes on with what was kept
  one.onerror = () => waiting.forEach((put) => put({ fault: "no worker" }));
  return one;
}
