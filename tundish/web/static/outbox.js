// From what a hand does to an event on the phone's disk, and from there to the server, once.
import { signal } from "./ui.js";
import { callId, deviceName, mint, sha256 } from "./ids.js";
import { Refusal, me, reached, send, who } from "./server.js";
import * as shelf from "./shelf.js";

/** Events that wait for the server. */
export const waiting = signal(0);
/** Events the server refused, with the reason. */
export const stuck = signal([]);
/** Counts up whenever events were recorded or came in: pages read anew. */
export const turns = signal(0);
/** Counts up whenever the server took something in: a page that got no facts before asks again. */
export const arrivals = signal(0);
/** What went wrong with the phone's own store, in words of the catalogue; "" when all is well. */
export const trouble = signal("");

const SCHEMAS = { "call ended": 2 };
// So many in one go, and how often to try, [ms]; our choice.
const AT_ONCE = 200;
const EVERY = 15000;
const SOON = 5000;

/**
 * Record bodies ([kind, body] pairs) as events of a call, in one go, with a photo ({ sha256, blob, sent }) and lines of the stock
 * ({ kind, part, count }). Returns the ids.
 */
export async function record(call, bodies, photo = null, moves = []) {
  const events = await minted(call, bodies);
  const lines = stockLines(call, moves, events.at(-1));
  try {
    await shelf.record(events, photo, lines);
  } catch (error) {
    if (!isFull(error)) throw error;
    await withRoom(call, events, photo, lines);
  }
  turns.value += 1;
  await count();
  flush();
  return events.map((event) => event.id);
}

/** Open a call on this phone; returns its id. */
export async function open(body) {
  const call = callId();
  await record(call, [["call opened", body]]);
  return call;
}

/** A photo's content and its event. Drawn anew, so that no place and no camera's name stay in it. */
export async function keepPhoto(call, blob, subject, stage) {
  const plain = await redrawn(blob);
  const hash = await sha256(await plain.arrayBuffer());
  const body = { subject, stage, sha256: hash, media_type: plain.type, bytes: plain.size };
  await record(call, [["photo kept", body]], { sha256: hash, blob: plain, sent: false });
  return hash;
}

let flushing = null;

/** Send what waits. Several calls at once are one. */
export function flush() {
  flushing ??= navigator.locks
    .request("tundish-outbox", sendAll)
    .catch((error) => {
      // Nobody answers: it stays here and is tried again
      if (error instanceof Refusal) stuckAll(error);
    })
    .finally(() => {
      flushing = null;
      return count();
    });
  return flushing;
}

/** Begin: count what waits, and send it on start, when the line comes back, and on a timer. */
export function begin() {
  flush();
  addEventListener("online", flush);
  addEventListener("visibilitychange", () => document.hidden || flush());
  setInterval(() => (waiting.value || !reached.value) && flush(), EVERY);
  // A page that got nothing waits for the first answer, not for a tap
  setInterval(() => !reached.value && who().then(flush, () => {}), SOON);
}

/** Bring in what other devices wrote of a call. */
export async function pull(call, ask) {
  const { events } = await ask(`/api/calls/${call}/events`);
  if (await shelf.takeIn(events)) turns.value += 1;
}

/** Name of this browser in events: as paired, else its own. */
export async function device() {
  const given = me.value?.device || (await shelf.small("me"))?.device;
  if (given) return given;
  const own = (await shelf.small("device")) || deviceName();
  await shelf.keepSmall("device", own);
  return own;
}

async function minted(call, bodies) {
  const name = await device();
  let last = (await shelf.eventsOf(call)).at(-1)?.id;
  const now = Date.now();
  return bodies.map(([kind, body]) => {
    last = mint(last, now);
    return { id: last, call, at: new Date(now).toISOString(), device: name, kind, schema: SCHEMAS[kind] || 1, body };
  });
}

function stockLines(call, moves, { at, device: name }) {
  return moves.map((move) => ({ id: mint(null, Date.now()), at, device: name, ...move, call }));
}

async function sendAll() {
  const { events, photos, rows } = await shelf.waiting();
  const refused = new Set(rows.filter((row) => row.refused).map((row) => row.id));
  for (const one of photos) await sendPhoto(one);
  const due = events.filter((event) => !refused.has(event.id));
  const stock = rows.filter((row) => row.line && !row.refused).map((row) => row.line);
  if (stock.length) await take({ events: [], stock: stock.slice(0, AT_ONCE) });
  for (let start = 0; start < due.length; start += AT_ONCE) {
    await take({ events: due.slice(start, start + AT_ONCE) });
  }
  // An empty outbox still tells whether somebody is there
  if (!due.length && !reached.value) await who();
}

/** Only what the server says is on its disk leaves the outbox. */
async function take(load) {
  const answer = await send("/api/sync", load, { patience: 20000 });
  await shelf.sent(answer.accepted);
  if (answer.accepted.length) arrivals.value += 1;
  await shelf.refused(answer.refused);
}

async function sendPhoto({ sha256: hash, blob }) {
  const headers = { "Content-Type": blob.type };
  try {
    await send(`/api/photos/${hash}`, blob, { method: "PUT", headers, patience: 60000 });
    await shelf.photoSent(hash);
  } catch (error) {
    // A picture that is refused must not hold up the readings behind it
    if (!(error instanceof Refusal)) throw error;
  }
}

/** Count what waits. */
export async function count() {
  const { rows } = await shelf.waiting().catch(() => ({ rows: [] }));
  waiting.value = rows.length;
  stuck.value = rows.filter((row) => row.refused);
}

function stuckAll(error) {
  if (error.status === 401 || error.status === 403) who().catch(() => {});
}

function isFull(error) {
  return error?.name === "QuotaExceededError" || error?.inner?.name === "QuotaExceededError" || error?.name === "UnknownError";
}

async function withRoom(call, events, photo, lines) {
  trouble.value = "full_trying";
  await shelf.makeRoom(call).catch(() => {});
  try {
    await shelf.record(events, photo, lines);
    trouble.value = "full_made_room";
  } catch {
    await straight(events, photo, lines);
  }
}

/** No room here: straight to the server's disk, or say plainly that nothing was recorded. */
async function straight(events, photo, stock) {
  try {
    if (photo) await send(`/api/photos/${photo.sha256}`, photo.blob, { method: "PUT", headers: { "Content-Type": photo.blob.type } });
    const answer = await send("/api/sync", { events, stock });
    if (answer.refused.length) throw new Refusal(409, answer.refused[0]);
    trouble.value = "full_straight";
  } catch (error) {
    trouble.value = "full_lost";
    throw error instanceof Refusal ? error : new Refusal(507, { seen: "full_lost", allowed: "", do: "" });
  }
}

async function redrawn(blob) {
  const picture = await createImageBitmap(blob, { imageOrientation: "from-image" });
  // Longest side in pixels: a plate stays readable, a photo stays below half a megabyte; our choice
  const scale = Math.min(1, 1600 / Math.max(picture.width, picture.height));
  const canvas = new OffscreenCanvas(Math.max(1, picture.width * scale), Math.max(1, picture.height * scale));
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  return canvas.convertToBlob({ type: "image/jpeg", quality: 0.82 });
}

