// A call on a page: its events on this phone, folded, and its facts from the server or from the pocket.
import { signal, useEffect, useState } from "./ui.js";
import { fold } from "./fold.js";
import { arrivals, flush, pull, turns } from "./outbox.js";
import { fetchPack } from "./pocket.js";
import { ask, facts, reached, Refusal } from "./server.js";
import { choice } from "./say.js";
import * as shelf from "./shelf.js";

/** Short words for the call in the bar. */
export const title = signal("");

/** The call folded from this phone's events, anew after each turn. null while it is read. */
export function useCall(call) {
  const [held, set] = useState({ call: "", state: null, events: [] });
  const turn = turns.value;
  useEffect(() => {
    let alive = true;
    read(call).then((found) => alive && set({ call, ...found }));
    return () => (alive = false);
  }, [call, turn]);
  useEffect(() => {
    let alive = true;
    const attempt = async () => {
      const whole = await pull(call, ask).then(() => pocket(call)).catch(() => false);
      if (alive && !whole) setTimeout(attempt, AGAIN);
    };
    attempt();
    return () => (alive = false);
  }, [call]);
  return held.call === call ? held : { call, state: null, events: [] };
}

async function read(call) {
  const events = await shelf.eventsOf(call);
  const state = fold(events);
  title.value = state.opened ? [state.opened.name, state.opened.family].filter(Boolean).join(" · ") : call;
  return { state, events };
}

/** Facts of a page: { data, kept, error }. Asked again after each turn, when the events have been sent. */
export function useFacts(path) {
  const [held, set] = useState({ path: "" });
  const turn = turns.value;
  const arrival = held.error || held.kept ? arrivals.value : 0;
  useEffect(() => {
    if (!path) return undefined;
    let alive = true;
    const put = (found) => alive && set((old) => ({ ...(old.path === path ? old : {}), path, ...found }));
    flush()
      .then(() => facts(path))
      .then((found) => put({ ...found, error: null, turn }), (error) => put({ error, turn }));
    return () => (alive = false);
  }, [path, turn, arrival, reached.value]);
  return held.path === path ? { ...held, old: held.turn !== turn } : {};
}

/** Address of a call's facts with the choices of this phone. */
export function at(call, page, query = {}) {
  const wanted = new URLSearchParams();
  if (choice.value.units) wanted.set("units", choice.value.units);
  for (const [name, value] of Object.entries(query)) {
    for (const one of [value].flat()) if (one !== undefined && one !== "" && one !== false) wanted.append(name, one);
  }
  const tail = wanted.toString();
  return `/api/calls/${call}/${page}${tail ? `?${tail}` : ""}`;
}

const WORDS = ["safe", "ask", "expect", "agree", "prove", "close"];
// How long an answer for the pocket may take, and when to try again what did not come, [ms]; our choice.
const SLOW = 20000;
const AGAIN = 15000;
let pocketing = "";

/** Put into the pocket what a basement without signal will need: the facts of all stages. True when all of it is there. */
export async function pocket(call) {
  if (pocketing === call) return true;
  pocketing = call;
  try {
    const { data } = await facts(at(call, "find"), { patience: SLOW });
    await shelf.keepFacts(fixed(call), await ask(at(call, "fix", { fault: likely(data.odds) }), { patience: SLOW }));
    const kept = [];
    for (const page of WORDS) kept.push(await facts(at(call, page), { patience: SLOW }).then((f) => !f.kept, () => false));
    // Where the server has nothing to pack, as after a repair, the kept facts have to do
    kept.push(await fetchPack(call).then(() => true, (error) => error instanceof Refusal));
    return kept.every(Boolean);
  } catch {
    // No signal now: what is kept already has to do
    return false;
  } finally {
    pocketing = "";
  }
}

/** Under what name the steps of all likely repairs are kept. */
export const fixed = (call) => `pocket fix ${call}`;

/** Causes for which steps are kept: those that a repair may turn out to be about. */
export function likely(odds) {
  return odds.causes.filter((c) => c.chance >= 0.01 && c.kind !== "normal").slice(0, 12).map((c) => c.id);
}
