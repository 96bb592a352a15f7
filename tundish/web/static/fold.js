// A call as it stands, from its events: the part of docs/call.md, "From events to state", that a page needs without a server.

/** The state of a call. events: any order, repeats allowed. */
export function fold(events) {
  const all = [...new Map(events.map((e) => [e.id, e])).values()].sort((a, b) => (a.id < b.id ? -1 : 1));
  const fixes = byTarget(all);
  const state = empty();
  for (const event of all) {
    if (event.kind === "corrected") continue;
    const body = standing(event, event.body, fixes, new Set());
    if (body) (TAKE[event.kind] || nothing)(state, { ...body, event: event.id, at: event.at, device: event.device });
  }
  return state;
}

/** The newest event of some kinds that still stands: what undo takes back. */
export function lastStanding(events, kinds) {
  const fixes = byTarget(events);
  const own = events.filter((e) => kinds.includes(e.kind) && standing(e, e.body, fixes, new Set()));
  return own.sort((a, b) => (a.id < b.id ? -1 : 1)).at(-1);
}

/** What stands in an event's place; null when it is withdrawn. The greatest correction that stands itself counts. */
function standing(event, body, fixes, seen) {
  if (seen.has(event.id)) return body;
  const under = new Set([...seen, event.id]);
  const mine = [...(fixes.get(event.id) || [])].sort((a, b) => (a.id < b.id ? 1 : -1));
  for (const fix of mine) {
    const by = replacement(fix, fixes, under);
    if (by !== undefined) return by === null ? null : by.body;
  }
  return body;
}

/** What a correction puts there: null withdraws, undefined when the correction itself was withdrawn. */
function replacement(fix, fixes, seen) {
  if (seen.has(fix.id)) return undefined;
  const under = new Set([...seen, fix.id]);
  const mine = [...(fixes.get(fix.id) || [])].sort((a, b) => (a.id < b.id ? 1 : -1));
  for (const other of mine) {
    const by = replacement(other, fixes, under);
    if (by !== undefined) return by === null ? undefined : by;
  }
  return fix.body.by;
}

function byTarget(events) {
  const found = new Map();
  for (const event of events.filter((e) => e.kind === "corrected")) {
    found.set(event.body.target, [...(found.get(event.body.target) || []), event]);
  }
  return found;
}

function empty() {
  return {
    opened: null, told: [], denied: [], readings: [], before: [], repairs: [], steps: [], track: [], parts: [], ordered: [], photos: [],
    answers: [], quote: null, word: null, done: [], used: [], payments: [], handed: [], ended: null, customer: null, machine: null,
    tested: null, follow: null, notes: [], spells: [[]], moved: [],
  };
}

const nothing = () => {};
const pushes = (name) => (state, body) => state[name].push(body);
const sets = (name) => (state, body) => {
  state[name] = body;
};

const TAKE = {
  "call opened": (state, body) => {
    state.opened = body;
    state.told.push(...(body.circumstances || []));
  },
  "circumstance added": (state, body) => state.told.push(body.name),
  "circumstance denied": (state, body) => state.denied.push(body.name),
  "reading taken": (state, body) => {
    state.readings.push(body);
    state.spells.at(-1).push(body);
  },
  "repair done": (state, body) => {
    state.repairs.push(body);
    // Two causes cured in one go are one repair
    if (state.spells.at(-1).length || state.spells.length === 1) state.spells.push([]);
    state.before.push(...state.readings);
    state.readings = [];
    state.tested = null;
  },
  "state claimed": (state, body) => (state.steps.push(body), state.track.push(body)),
  "state found": (state, body) => (state.steps.push(body), state.track.push(body)),
  "part ordered": (state, body) => (state.moved.push({ ...body, taken: false }), state.ordered.push(body.fault), state.track.push({ leaving: true })),
  "part taken": (state, body) => (state.moved.push({ ...body, taken: true }), state.parts.push(body.fault)),
  "photo kept": pushes("photos"),
  tested: sets("tested"),
  "question answered": pushes("answers"),
  quoted: sets("quote"),
  "consent given": (state, body) => (state.word = { ...body, said: "yes" }),
  "consent refused": (state, body) => (state.word = { ...body, said: "no" }),
  "step done": pushes("done"),
  "part used": pushes("used"),
  paid: pushes("payments"),
  "handed over": pushes("handed"),
  "call ended": sets("ended"),
  "customer named": sets("customer"),
  "machine seen": sets("machine"),
  "follow-up set": sets("follow"),
  "note added": pushes("notes"),
};
