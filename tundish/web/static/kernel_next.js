// The next action in the pocket: tundish.plan.pocket_next for a phone. Every option with the guessed cost of the whole call.
import { dangers } from "./kernel.js";
import { chosen, joinedBands } from "./kernel_choose.js";
import { courses, guess, savings, split } from "./kernel_course.js";
import { left, table } from "./kernel_tables.js";
import { nearest } from "./kernel_walk.js";

const FAR = 1e9;
const LIKELY = 2e-3;
// As in tundish.plan.choice and advise.
const TIE = 0.025;
const STANDS = 2;
const LOOK_FIRST = 0.06;
const CONFIRMED = 0.9;
const LIKELY_ANSWER = 0.2;
const HARDLY = 0.01;
// Share of the work that is done once the checks are picked, about.
const LAID = 0.3;
export const ENDINGS = ["advise another machine", "stop, unrepaired", "nothing is wrong"];

/** All options of a call, best first, none unlawful: { options: [{ kind, what, at, own, promise, pays }], here, lay, joint, kept } or { halt }.
 * place: { state: name of the safety state or "", parts: faults whose part is in hand }. told: hears the share of the work that is done. */
export function board(weighed, place = {}, told = () => {}) {
  const { pocket } = weighed;
  const stop = dangers(pocket, [...weighed.groups.values()].flat()).find((danger) => danger.halts);
  if (stop) return { options: [], here: -1, halt: stop.say };
  const here = place.state ? pocket.head.states.indexOf(place.state) : pocket.head.start;
  if (here < 0) return { options: [], here, halt: "not in the pocket" };
  const kept = left(weighed);
  const parts = new Set(place.parts || []);
  const cures = likely(pocket, kept);
  const lay = laid(weighed, kept, cures, { here, parts });
  const joint = jointOf(kept, pocket.walk.outside[here]);
  told(LAID);
  const options = [...looks(lay, joint, here, told), ...deeds(pocket, lay, cures, { joint, here, parts })];
  const ranked = confirmed(pocket, lay, cures, joint, ordered(options, pocket.walk, here));
  return { options: ranked, here, lay, joint, kept };
}

/** Outcomes of a check: [{ chance, answer or low and high (SI), lacks, then: id of the next check or "", causes: [[id, chance]] }]. */
export function lead({ lay, joint, here, kept }, { pocket }, option) {
  const z = lay.picked.findIndex((t) => t.check.id === option.what);
  const { check, edges, fine } = lay.picked[z];
  const done = lay.picked.map((_, i) => i === z);
  return split(lay, joint, here, z).map((after, r) => {
    const chance = sum(after);
    const next = chance > 0 ? lay.choose(after, option.at, done) : null;
    const band = check.errors ? { low: edges[r - 1] ?? null, high: edges[r] ?? null } : { answer: check.answers[r] };
    const shown = r < fine ? band : { lacks: true };
    return { chance, ...shown, then: next && next.check >= 0 ? lay.picked[next.check].check.id : "", causes: causesOf(pocket, kept, after, chance) };
  });
}

function causesOf(pocket, kept, after, chance) {
  const held = new Map([["not described", after.at(-1)]]);
  const add = (name, mass) => held.set(name, (held.get(name) || 0) + mass);
  const kinds = [...kept.kinds, ...kept.moved.map((place) => kept.kinds[place])];
  kinds.forEach((k, s) => {
    const there = pocket.head.kinds[k].left;
    if (!there.length) add("nothing wrong", after[s]);
    for (const cause of there) add(pocket.head.causes[cause].id, after[s]);
  });
  return [...held].map(([name, mass]) => [name, mass / Math.max(chance, 1e-300)]).filter(([, c]) => c >= 0.01).sort((a, b) => b[1] - a[1]).slice(0, 3);
}

/** Remedies of which some fault is likely enough. */
function likely({ head }, kept) {
  const chance = new Map();
  kept.kinds.forEach((k, i) => {
    for (const cause of head.kinds[k].left) chance.set(head.causes[cause].id, (chance.get(head.causes[cause].id) || 0) + kept.mass[i]);
  });
  return [...head.remedies.keys()].filter((i) => head.remedies[i].faults.some((f) => (chance.get(f) || 0) > LIKELY));
}

/** The problem laid out for guessing: checks worth following, remedies, endings, and money from every state. */
function laid(weighed, kept, cures, { here, parts }) {
  const { pocket } = weighed;
  const { head, walk } = pocket;
  const works = byState(pocket, kept, cures, "cures");
  const tolls = byState(pocket, kept, cures, "tolls").map((row, d) => row.map((v, s) => (works[d][s] > 0 ? v : 0)));
  const where = cures.map((i) => nearest(walk, head.remedies[i].demand, here));
  const cost = cures.map((i, d) => costOf(walk, head, i, where[d], parts));
  const sick = sickOf(pocket, kept);
  const picked = pick(weighed, kept, { works, sick, here, cost: cost.map((row) => row[here]) });
  const land = picked.map((t) => nearest(walk, t.check.demand, here));
  const price = picked.map((t, z) => Float64Array.from(land[z], (to, from) => (to < 0 ? FAR : walk.money[from * walk.number + to] + t.check.cost)));
  const crosses = land.map((row) => Uint8Array.from(row, (to, from) => (!walk.outside[from] && walk.outside[Math.max(to, 0)] ? 1 : 0)));
  const { money } = head;
  const ends = [sick.map(() => money.replace), sick.map(() => money.stop), sick.map((s) => money.explain + money.missed * s)];
  const lay = { picked, price, land, crosses, works, tolls, cost, where, ends, k: kept.kinds.length, moved: kept.moved };
  lay.choose = (joint, node, done) => savings(lay, joint, node, done).best;
  return lay;
}

function byState({ arrays, head }, kept, cures, name) {
  const many = head.kinds.length;
  return cures.map((i) => {
    const own = kept.kinds.map((k) => arrays[name][i * many + k]);
    return Float64Array.from([...own, ...kept.moved.map((place) => own[place]), 0]);
  });
}

function costOf(walk, head, cure, where, parts) {
  const remedy = head.remedies[cure];
  const order = missing(remedy, parts) ? head.money.trip : 0;
  return Float64Array.from(where, (to, from) => (to < 0 ? FAR : Math.max(walk.money[from * walk.number + to] + remedy.cost + order, 1e-6)));
}

const missing = (remedy, parts) => remedy.order && !remedy.faults.some((f) => parts.has(f));

function sickOf({ head }, kept) {
  const there = kept.kinds.map((k) => (head.kinds[k].left.length ? 1 : 0));
  return Float64Array.from([...there, ...kept.moved.map((place) => there[place]), 1]);
}

/** The checks worth following, their bands joined to a few. */
function pick(weighed, kept, { works, sick, here, cost }) {
  const { pocket, groups } = weighed;
  const { walk, head } = pocket;
  const k = kept.kinds.length;
  const seen = (row) => Float64Array.from([...row.subarray(0, k), row.at(-1)]);
  const every = [];
  for (const check of pocket.checks.values()) {
    if (groups.has(check.id) || check.demand < 0) continue;
    const near = nearest(walk, check.demand, here)[here];
    const made = near < 0 ? null : table(kept, check);
    if (made) every.push({ ...made, near: made.rows.map(seen), own: walk.money[here * walk.number + near] + check.cost });
  }
  const trying = {
    cures: [...works.map(seen), seen(sick.map((s) => 1 - s))], cost: [...cost, head.money.explain],
    giveUp: Math.min(head.money.replace, head.money.stop),
  };
  const weight = Float64Array.from([...kept.mass, kept.unknown]);
  const eased = kept.moved.reduce((sum, place) => sum + kept.mass[place], 0);
  const going = [...every.keys()].filter((i) => eased > LIKELY && every[i].check.goes);
  return chosen(trying, every, weight, going).map((i) => joinedBands(trying, every[i], weight));
}

function jointOf(kept, out) {
  const joint = Float64Array.from([...kept.mass, ...kept.moved.map(() => 0), kept.unknown]);
  // Outside already, what moving changes is changed
  if (out) kept.moved.forEach((place, t) => ((joint[kept.kinds.length + t] = joint[place]), (joint[place] = 0)));
  return joint;
}

/** Checks, each followed by the course that the guess would go. */
function looks(lay, joint, here, told) {
  const { saved, paid } = savings(lay, joint, here, lay.picked.map(() => false));
  return lay.picked.map((t, z) => {
    const done = lay.picked.map((_, i) => i === z);
    const after = split(lay, joint, here, z).filter((row) => sum(row) > 0);
    const own = lay.price[z][here];
    const promise = own + courses(lay, after, lay.land[z][here], done, (sum(after.map(sum)) || 1) * 1);
    told(LAID + ((1 - LAID) * (z + 1)) / lay.picked.length);
    const pays = saved[z] > paid[z] ? saved[z] / Math.max(paid[z], 1e-9) : 0;
    return { kind: "check", what: t.check.id, at: lay.land[z][here], own, promise, pays };
  });
}

/** Repairs, hand overs, orders and endings, each followed by the guess. */
function deeds({ head, walk }, lay, cures, { joint, here, parts }) {
  const out = [];
  const { home } = walk;
  const home_ = walk.money[here * walk.number + home];
  cures.forEach((cure, d) => {
    const remedy = head.remedies[cure];
    if (missing(remedy, parts)) {
      const own = home_ + head.money.trip;
      const cost = lay.cost.map((row, i) => (i === d ? row.map((v) => v - head.money.trip) : row));
      out.push({ kind: "order", what: remedy.name, at: home, own, promise: own + guess({ ...lay, cost }, joint, home), pays: 0 });
      return;
    }
    if (lay.where[d][here] < 0) return;
    const own = lay.cost[d][here];
    const rest = joint.map((w, s) => (1 - lay.works[d][s]) * w);
    const others = (rows) => rows.filter((_, i) => i !== d);
    const bare = { ...lay, works: others(lay.works), tolls: others(lay.tolls), cost: others(lay.cost) };
    const toll = joint.reduce((all, w, s) => all + w * lay.works[d][s] * lay.tolls[d][s], 0) + remedy.again * sum(rest);
    out.push({ kind: remedy.kind, what: remedy.name, at: lay.where[d][here], own, promise: own + toll + guess(bare, rest, home), pays: 0 });
  });
  if (home_ < Infinity) {
    lay.ends.forEach((row, i) => {
      const money = joint.reduce((all, w, s) => all + w * row[s], 0);
      out.push({ kind: "end", what: ENDINGS[i], at: home, own: home_, promise: home_ + money, pays: 0 });
    });
  }
  return out;
}

/** By promise; of checks as good as the best those first that pay by themselves and leave the machine where it is. */
function ordered(options, walk, here) {
  const best = options.reduce((a, b) => (b.promise < a.promise ? b : a));
  const moves = (o) => !walk.outside[here] && !!walk.outside[o.at];
  const limit = best.pays ? best.promise * (1 + TIE) : -Infinity;
  const looked = moves(best) ? best.promise * (1 + LOOK_FIRST) : -Infinity;
  const keyed = options.map((option, i) => {
    const stays = !moves(option);
    const near = option.promise <= limit || (stays && option.pays >= STANDS && option.promise <= looked);
    const first = option.pays > 0 && near;
    return { option, key: [first ? 0 : 1, first && !stays ? 1 : 0, Math.round((first ? -option.pays : option.promise) * 1e6) / 1e6, i] };
  });
  keyed.sort((a, b) => a.key.map((v, i) => v - b.key[i]).find((d) => d !== 0) || 0);
  return keyed.map(({ option }) => option);
}

/** The check that would confirm the cause goes before its repair where it costs hardly more. */
function confirmed({ head }, lay, cures, joint, ranked) {
  const [best] = ranked;
  const d = cures.findIndex((i) => head.remedies[i].name === best.what);
  if (d < 0) return ranked;
  const there = joint.map((w, s) => (lay.works[d][s] > 0 ? w : 0));
  if (sum(there) >= CONFIRMED) return ranked;
  const good = ranked.slice(1).find((option) => {
    if (option.kind !== "check" || option.promise > best.promise * (1 + HARDLY)) return false;
    const { rows } = lay.picked.find((t) => t.check.id === option.what);
    return rows.some((row) => {
      const chance = row.reduce((all, v, s) => all + v * joint[s], 0);
      const cause = row.reduce((all, v, s) => all + v * there[s], 0);
      return chance >= LIKELY_ANSWER && cause >= CONFIRMED * chance;
    });
  });
  return good ? [good, ...ranked.filter((o) => o !== good)] : ranked;
}

function sum(values) {
  let all = 0;
  for (const v of values) all += v;
  return all;
}
