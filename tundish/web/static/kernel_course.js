// Whole courses of checks, guessed: tundish.plan.guide for a phone. Beliefs are chance x weight over states.

const LONGEST = 7;
const FOLLOWED = 0.02;
const FAR = 1e9;

// Room for the remedies of one guess: no array is made anew in the innermost loops.
let chances = new Float64Array(64);
let costs = new Float64Array(64);
let order = new Int32Array(64);
const acting = new WeakMap();

/** Guessed cost x chance without checks: remedies by chance over cost, then the cheapest ending. */
export function guess(lay, joint, node) {
  const mass = sum(joint);
  let ends = Infinity;
  let worst = Infinity;
  for (const row of lay.ends) {
    let own = 0;
    let top = -Infinity;
    for (let s = 0; s < row.length; s++) {
      own += row[s] * joint[s];
      if (row[s] > top) top = row[s];
    }
    ends = Math.min(ends, own);
    worst = Math.min(worst, top);
  }
  if (!lay.works.length) return ends;
  // An ending cheap for a few machines only gets dearer per machine as the others are cured
  const each = Math.min(ends / Math.max(mass, 1e-300), worst);
  return Math.min(triedOut(lay, joint, node, 1 / Math.max(mass, 1e-300), each) * mass, ends);
}

/** Cost per machine of the remedies in their order, given up for an ending where that is cheapest. share: one over the chance. */
function triedOut(lay, joint, node, share, each) {
  const acts = actsOf(lay);
  const count = acts.length;
  if (count > order.length) [chances, costs, order] = [new Float64Array(count), new Float64Array(count), new Int32Array(count)];
  for (let d = 0; d < count; d++) {
    const { at, works, tolls } = acts[d];
    let p = 0;
    let toll = 0;
    for (let i = 0; i < at.length; i++) {
      p += works[i] * joint[at[i]];
      toll += tolls[i] * joint[at[i]];
    }
    chances[d] = p * share;
    costs[d] = lay.cost[d][node] + toll * share;
    const rate = chances[d] / costs[d];
    let i = d;
    for (; i > 0 && chances[order[i - 1]] / costs[order[i - 1]] < rate; i--) order[i] = order[i - 1];
    order[i] = d;
  }
  let before = 1;
  let done = 0;
  let paid = 0;
  let best = Infinity;
  for (let i = 0; i < count; i++) {
    paid += costs[order[i]] * before;
    done += chances[order[i]];
    before = Math.max(1 - done, 0);
    best = Math.min(best, paid + before * each);
  }
  return best;
}

/** Of each remedy the states in which it does anything: a few of many. */
function actsOf({ works, tolls }) {
  let found = acting.get(works);
  if (!found) {
    found = works.map((row, d) => {
      const at = [...row.keys()].filter((s) => row[s] !== 0 || tolls[d][s] !== 0);
      return { at: Int32Array.from(at), works: Float64Array.from(at, (s) => row[s]), tolls: Float64Array.from(at, (s) => tolls[d][s]) };
    });
    acting.set(works, found);
  }
  return found;
}

/** Beliefs after each outcome of a check from a state. */
export function split(lay, joint, node, z) {
  const from = moved(lay, joint, node, z);
  return lay.picked[z].rows.map((row) => times(row, from, new Float64Array(row.length)));
}

/** A belief once the machine was pulled out for a check, if it has to be. */
function moved(lay, joint, node, z) {
  if (!lay.crosses[z][node] || !lay.moved.length) return joint;
  const out = joint.slice();
  lay.moved.forEach((place, t) => ((out[lay.k + t] += joint[place]), (out[place] = 0)));
  return out;
}

function times(row, belief, out) {
  for (let s = 0; s < row.length; s++) out[s] = row[s] * belief[s];
  return out;
}

/** What each check saves and costs at a belief, x chance, and the best of them: { saved, paid, without, best: { check, money } }. */
export function savings(lay, joint, node, done) {
  const mass = sum(joint);
  const without = guess(lay, joint, node);
  const room = new Float64Array(joint.length);
  const saved = [];
  const paid = [];
  const best = { check: -1, money: 0 };
  let score = -Infinity;
  for (let z = 0; z < lay.picked.length; z++) {
    paid[z] = lay.price[z][node] * mass;
    saved[z] = -Infinity;
    if (done[z] || lay.price[z][node] >= FAR) continue;
    let after = 0;
    const from = moved(lay, joint, node, z);
    for (const row of lay.picked[z].rows) after += guess(lay, times(row, from, room), lay.land[z][node]);
    saved[z] = without - after;
    const own = saved[z] / Math.max(paid[z], 1e-12);
    if (saved[z] > paid[z] * (1 + 1e-9) && own > score) {
      score = own;
      Object.assign(best, { check: z, money: paid[z] });
    }
  }
  return { saved, paid, without, best };
}

/** Guessed cost x chance of the course that goes on from some beliefs in one state. whole: chance at its start. */
export function courses(lay, beliefs, node, done, whole, depth = 0) {
  let total = 0;
  for (const joint of beliefs) {
    const { without, best } = savings(lay, joint, node, done);
    if (best.check < 0 || depth === LONGEST || sum(joint) < FOLLOWED * whole) {
      total += without;
      continue;
    }
    const asked = done.map((d, z) => d || z === best.check);
    const after = split(lay, joint, node, best.check).filter((row) => sum(row) > 1e-12);
    total += best.money + courses(lay, after, lay.land[best.check][node], asked, whole, depth + 1);
  }
  return total;
}

function sum(values) {
  let all = 0;
  for (const v of values) all += v;
  return all;
}
