// Asking the server. What it answers is kept, so that a page without signal shows the last facts and says how old they are.
import { signal } from "./ui.js";
import * as shelf from "./shelf.js";

/** Who one is, from /api/me; null before the first answer. */
export const me = signal(null);
/** Whether the server answered last time. Trust this, not the browser: it thinks a dead server is a good line. */
export const reached = signal(true);
/** Difference of this phone's clock to the shop's computer, [ms]; positive when the phone is ahead. */
export const clockAhead = signal(0);
/** Share of a simulation done, for the page that waits; null when nothing is being simulated. */
export const simulating = signal(null);

// A basement gives half a bar of signal: after this many milliseconds the phone reckons by itself. Where it keeps nothing, it waits longer.
// Our choice.
export const PATIENCE = 4000;
const NOTHING_KEPT = 20000;

/** A refusal by the server, in three parts. */
export class Refusal extends Error {
  constructor(status, words) {
    super(words.seen);
    Object.assign(this, { status, ...words });
  }
}

/** Facts from the server, else the kept ones: { data, kept } with kept the moment they are from, or null when fresh. While nobody answers
 * kept facts come at once: the line is tried beside the pages, and they ask again when it is back. */
export async function facts(path, { patience, quiet } = {}) {
  const old = await shelf.factsOf(path).catch(() => undefined);
  if (old && !reached.value && !quiet) return { data: old.data, kept: old.at };
  try {
    const data = await ask(path, { patience: patience || (old ? PATIENCE : NOTHING_KEPT), quiet });
    // Room for events matters more than room for facts
    shelf.keepFacts(path, data).catch(() => {});
    return { data, kept: null };
  } catch (error) {
    if (error instanceof Refusal && error.status !== 503) throw error;
    if (!old) throw error;
    return { data: old.data, kept: old.at };
  }
}

/** One request, asked again while machines are being simulated. Throws Refusal, or TypeError when nobody answers. quiet: no page waits. */
export async function ask(path, { patience = PATIENCE, quiet = false, ...rest } = {}) {
  try {
    for (;;) {
      const answer = await once(path, patience, rest);
      if (!answer?.waiting) return answer;
      if (!quiet) simulating.value = answer.waiting.share;
      await new Promise((go) => setTimeout(go, answer.waiting.again_ms));
    }
  } finally {
    if (!quiet) simulating.value = null;
  }
}

/** Send facts. */
export async function send(path, body, { method = "POST", ...rest } = {}) {
  // The kept answer of an earlier day has no token
  if (!me.value?.token) await who();
  const headers = { "X-Tundish-Token": me.value?.token || "", "Content-Type": "application/json", ...rest.headers };
  const content = body instanceof Blob ? body : JSON.stringify(body);
  return ask(path, { ...rest, method, headers, body: content });
}

/** Bytes, such as a packed call or a paper. */
export async function bytes(path, patience = 30000) {
  for (;;) {
    const answer = await fetched(path, patience, {});
    if (!answer.ok) throw await refusal(answer);
    if (answer.status !== 202) return answer.arrayBuffer();
    await new Promise((go) => setTimeout(go, 500));
  }
}

/** Ask who one is, for the token that changes need. */
export async function who() {
  const found = await once("/api/me", PATIENCE, {});
  me.value = found;
  shelf.keepSmall("me", { ...found, token: "" }).catch(() => {});
  return found;
}

async function once(path, patience, rest) {
  const answer = await fetched(path, patience, rest);
  if (!answer.ok) throw await refusal(answer);
  return answer.json();
}

async function fetched(path, patience, rest) {
  try {
    const before = Date.now();
    const answer = await fetch(path, { ...rest, credentials: "same-origin", signal: AbortSignal.timeout(patience) });
    reached.value = true;
    compareClocks(answer, before);
    return answer;
  } catch (error) {
    reached.value = false;
    throw error;
  }
}

async function refusal(answer) {
  const body = await answer.json().catch(() => ({}));
  const words = body.error || { seen: `answer ${answer.status}`, allowed: "", do: "try again" };
  if (answer.status === 401) me.value = me.value && { ...me.value, signed_in: false };
  return new Refusal(answer.status, words);
}

function compareClocks(answer, before) {
  const theirs = Date.parse(answer.headers.get("date") || "");
  if (!Number.isNaN(theirs)) clockAhead.value = before - theirs;
}
