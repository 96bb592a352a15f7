// What the phone keeps: events with their outbox, photos, the last facts of each page, packed calls, and small things.
import { openDB } from "./vendor/idb.js";

let opened;

function base() {
  opened ??= openDB("tundish", 1, {
    upgrade(db) {
      db.createObjectStore("events", { keyPath: "id" }).createIndex("call", "call");
      db.createObjectStore("outbox", { keyPath: "id" });
      db.createObjectStore("photos", { keyPath: "sha256" });
      db.createObjectStore("facts", { keyPath: "path" });
      db.createObjectStore("packs", { keyPath: "call" });
      db.createObjectStore("small");
    },
    // Another tab brings a newer form: let go, or it waits for ever
    blocking: () => opened?.then((db) => db.close()),
  });
  return opened;
}

/** Write events, their outbox rows and a photo's content together, on the disk before this returns. */
export async function record(events, photo, lines = []) {
  const db = await base();
  const deal = db.transaction(["events", "outbox", "photos"], "readwrite", { durability: "strict" });
  const done = deal.done.then(() => null, (error) => error);
  try {
    for (const event of events) {
      await deal.objectStore("events").add(event);
      await deal.objectStore("outbox").add({ id: event.id });
    }
    for (const line of lines) await deal.objectStore("outbox").add({ id: line.id, line });
    if (photo) await deal.objectStore("photos").put(photo);
  } catch (error) {
    // All or nothing: an event without its outbox row would never be sent
    if (!deal.error) deal.abort();
    await done;
    throw error;
  }
  const error = await done;
  if (error) throw deal.error || error;
}

/** Take in events that others wrote; those known are left as they are. Returns how many were new. */
export async function takeIn(events) {
  const db = await base();
  const deal = db.transaction("events", "readwrite");
  let fresh = 0;
  for (const event of events) {
    if (!(await deal.store.getKey(event.id))) {
      await deal.store.put(event);
      fresh += 1;
    }
  }
  await deal.done;
  return fresh;
}

/** Events of a call, in order. */
export async function eventsOf(call) {
  return (await (await base()).getAllFromIndex("events", "call", call)).sort((a, b) => (a.id < b.id ? -1 : 1));
}

/** All openings on this phone, for the list of calls without a server. */
export async function openings() {
  return (await (await base()).getAll("events")).filter((event) => event.kind === "call opened");
}

/** What waits to be sent: rows of the outbox with their events and photos. */
export async function waiting() {
  const db = await base();
  const rows = await db.getAll("outbox");
  const events = await Promise.all(rows.map((row) => db.get("events", row.id)));
  const photos = (await db.getAll("photos")).filter((photo) => !photo.sent);
  return { rows, events: events.filter(Boolean), photos };
}

/** How many events wait. */
export async function waitingCount() {
  return (await base()).count("outbox");
}

/** The server has these on its disk. */
export async function sent(ids) {
  const deal = (await base()).transaction("outbox", "readwrite");
  await Promise.all([...ids.map((id) => deal.store.delete(id)), deal.done]);
}

/** The server refused these; they stay, with the reason. */
export async function refused(answers) {
  const deal = (await base()).transaction("outbox", "readwrite");
  for (const answer of answers.filter((a) => a.id)) {
    await deal.store.put({ ...(await deal.store.get(answer.id)), ...answer, refused: true });
  }
  await deal.done;
}

export async function photoSent(sha256) {
  const db = await base();
  const photo = await db.get("photos", sha256);
  if (photo) await db.put("photos", { ...photo, sent: true });
}

export const photo = async (sha256) => (await base()).get("photos", sha256);
export const keepFacts = async (path, data) => (await base()).put("facts", { path, data, at: Date.now() });
export const factsOf = async (path) => (await base()).get("facts", path);
export const keepPack = async (key, bytes) => (await base()).put("packs", { call: key, bytes, at: Date.now() });
export const packOf = async (key) => (await base()).get("packs", key);
export const keepSmall = async (name, value) => (await base()).put("small", value, name);
export const small = async (name) => (await base()).get("small", name);

/** Make room: facts and packs can be had again, and photos that were sent. Events are never touched. */
export async function makeRoom(call) {
  const db = await base();
  await db.clear("facts");
  for (const pack of await db.getAllKeys("packs")) if (pack.split(" ")[0] !== call) await db.delete("packs", pack);
  for (const one of await db.getAll("photos")) if (one.sent) await db.delete("photos", one.sha256);
}
