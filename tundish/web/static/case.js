// A call on a page: its events on this phone, folded, and its facts from the server or from the pocket.
import { signal, useEffect, useState } from "./ui.js";
import { fold } from "./fold.js";
import { arrivals, flush, pull, turns } from "./outbox.js";
import { fetchPack, repairedIn } from "./pocket.js";
import { ask, facts, PATIENCE, reached, Refusal } from "./server.js";
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
  const newest = held.call === call && held.state ? `${held.events.length} ${held.events.at(-1)?.id}` : "";
  useEffect(() => {
    let alive = true;
    let later;
    const attempt = async () => {
      const whole = await flush().then(() => pull(call, ask)).then(() => pocket(call)).catch(() => false);
      if (alive && !whole) later = setTimeout(attempt, AGAIN);
    };
    // With a line the phone carries fresh machines after each entry, once the hand has come to rest
    later = setTimeout(attempt, newest ? SETTLED : 0);
    return () => ((alive = false), clearTimeout(later));
  }, [call, newest]);
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
    // A line that swallows everything must not hold the page: what is kept is shown in time
    Promise.race([flush(), new Promise((go) => setTimeout(go, PATIENCE))])
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

const WORDS = ["safe", "expect", "agree", "prove", "close", "ask"];
// How long an answer for the pocket may take, when to try again what did not come, and when the hand is at rest, [ms]; our choice.
const BEHIND = { patience: 20000, quiet: true };
const AGAIN = 15000;
const SETTLED = 2000;
// Repairs likelier than this, and so many, are packed as they would leave the machine. Our choice.
const PLANNED = 0.1;
const MOST_PLANNED = 2;
let pocketing = "";
const pocketed = new Map();

/** Put into the pocket what a basement without signal will need: packs, and the facts of all stages. True when all of it is there. */
export async function pocket(call) {
  if (pocketing) return false;
  pocketing = call;
  try {
    const { state, events } = await read(call);
    const mark = `${events.length} ${events.at(-1)?.id}`;
    if (pocketed.get(call) === mark) return true;
    const { data } = await facts(at(call, "find"), BEHIND);
    await shelf.keepFacts(fixed(call), await ask(at(call, "fix", { fault: likely(data.odds) }), BEHIND));
    // A call that has ended has nothing left to reckon
    const kept = state.ended ? [] : [await packed(call, state), ...(await plannedPacks(call, state, data.odds))];
    for (const page of WORDS) kept.push(await facts(at(call, page), BEHIND).then((f) => !f.kept, () => false));
    if (kept.every(Boolean)) pocketed.set(call, mark);
    return kept.every(Boolean);
  } catch (error) {
    // No signal now: what is kept already has to do. A refusal stays one, so it is not asked again
    return error instanceof Refusal;
  } finally {
    pocketing = "";
  }
}

/** Where the server has nothing to pack, as below a danger, the kept facts have to do. */
const packed = (call, state, planned) => fetchPack(call, state, planned).then(() => true, (error) => error instanceof Refusal);

/** The machine as the repair agreed to would leave it, else as the likeliest repairs would. */
function plannedPacks(call, state, odds) {
  const open = (state.quote?.faults || []).filter((fault) => !repairedIn(state).includes(fault));
  const alone = odds.causes.filter((c) => c.chance >= PLANNED && c.kind !== "normal").slice(0, MOST_PLANNED).map((c) => [c.id]);
  return Promise.all((open.length ? [open] : alone).map((planned) => packed(call, state, planned)));
}

/** Under what name the steps of all likely repairs are kept. */
export const fixed = (call) => `pocket fix ${call}`;

/** Causes for which steps are kept: those that a repair may turn out to be about. */
export function likely(odds) {
  return odds.causes.filter((c) => c.chance >= 0.01 && c.kind !== "normal").slice(0, 12).map((c) => c.id);
}
