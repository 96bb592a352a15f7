// Whether the repair is proven: the server's facts, else what this phone works out from the machine as the repair would leave it.
import { at, useFacts } from "./case.js";
import { repairedIn, usePocket } from "./pocket.js";
import { say, share } from "./say.js";

/** { data, kept, reckoned, error } of the page Prove. data.waits: the repair is not known to the computer yet, and nothing is packed for it. */
export function useProof(call, held, safe) {
  const asked = useFacts(at(call, "prove"));
  const expect = useFacts(at(call, "expect"));
  const repaired = held.state ? repairedIn(held.state) : [];
  const alone = repaired.length > 0 && (!!asked.kept || !!asked.error);
  const found = usePocket(call, held, { state: safe }, { wanted: alone, wants: "proof" });
  if (!alone) return { data: asked.data, kept: asked.kept, reckoned: false, error: asked.error };
  if (found?.proof) return { data: worded(found.proof, asked.data, expect.data), kept: asked.kept || Date.now(), reckoned: true };
  // What was kept before the repair speaks of a repair that is still to come
  const fresh = asked.data && !asked.data.planned;
  return { data: fresh ? asked.data : { ...NOTHING, ...texts(asked.data), waits: true }, kept: asked.kept, reckoned: false, error: null };
}

const NOTHING = { repaired: [], planned: false, proven: false, missing: [], left_now: 1, limit: 0, checks: [] };

const texts = (old) => ({ whole_proof: old?.whole_proof, deference: old?.deference });

function worded(proof, old, expect) {
  const known = new Map((old?.checks || []).map((row) => [row.check, row]));
  const band = new Map((expect || []).map((row) => [row.check, row]));
  const titles = new Map([...(old?.repaired || [])].map((cause) => [cause.id, cause.title]));
  return {
    ...texts(old), ...proof,
    repaired: proof.repaired.map((cause) => ({ ...cause, title: titles.get(cause.id) || cause.title })),
    missing: proof.missing.map(([key, { now, limit, ...rest }]) => say(key, { ...rest, now: share(now ?? 0), limit: share(limit ?? 0) })),
    checks: proof.checks.map((row) => ({ ...row, as_found: known.get(row.check)?.as_found || "", healthy: band.get(row.check)?.healthy.says || "" })),
  };
}
