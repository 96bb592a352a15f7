// Whole courses of checks, guessed: tundish.plan.guide for a phone. Beliefs are chance x weight over states.

const LONGEST = 7;
const FOLLOWED = 0.02;
const FAR = 1e9;

/** Guessed cost x chance without checks: remedies by chance over cost, then the cheapest ending. */
export function guess(lay, joint, node) {
  const mass = sum(joint);
  let ends = Infinity;
  let worst = Infinity;
  for (const row of lay.ends) {
    ends = Math.min(ends, dot(row, joint));
    worst = Math.min(worst, row.reduce((a, b) => Math.max(a, b)));
  }
  const count = lay.works.length;
  if (!count) return ends;
  const share = 1 / Math.max(mass, 1e-300);
  const tried = new Array(count);
  for (let d = 0; d < count; d++) {
    const p = dot(lay.works[d], joint) * share;
    const c = lay.cost[d][node] + dot(lay.tolls[d], joint) * share;
    tried[d] = { p, c, rate: p / c };
  }
  tried.sort((a, b) => b.rate - a.rate);
  // An ending cheap for a few machines only gets dearer per machine as the others are cured
  const each = Math.min(ends * share, worst);
  let before = 1;
  let done = 0;
  let paid = 0;
  let best = Infinity;
  for (const { p, c } of tried) {
    paid += c * before;
    done += p;
    before = Math.max(1 - done, 0);
    best = Math.min(best, paid + before * each);
  }
  return Math.min(best * mass, ends);
}

/** Beliefs after each outcome of a check from a state. */
export function split(lay, joint, node, z) {
  let there = joint;
  if (lay.crosses[z][node] && lay.moved.length) {
    there = joint.slice();
    lay.moved.forEach((place, t) => ((there[lay.k + t] += joint[place]), (there[place] = 0)));
  }
  return lay.picked[z].rows.map((row) => row.map((v, s) => v * there[s]));
}

/** What each check saves and costs at a belief, x chance, and the best of them: { saved, paid, without, best: { check, money } }. */
export function savings(lay, joint, node, done) {
  const mass = sum(joint);
  const without = guess(lay, joint, node);
  const saved = [];
  const paid = [];
  const best = { check: -1, money: 0 };
  let score = -Infinity;
  for (let z = 0; z < lay.picked.length; z++) {
    paid[z] = lay.price[z][node] * mass;
    saved[z] = -Infinity;
    if (done[z] || lay.price[z][node] >= FAR) continue;
    let after = 0;
    for (const row of split(lay, joint, node, z)) after += guess(lay, row, lay.land[z][node]);
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

function dot(a, b) {
  let all = 0;
  for (let i = 0; i < a.length; i++) all += a[i] * b[i];
  return all;
}

function sum(values) {
  let all = 0;
  for (const v of values) all += v;
  return all;
}
