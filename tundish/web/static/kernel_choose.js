// Which checks are worth following, and their bands: tundish.plan.candidates for a phone.

const MOST_CHECKS = 10;
const MOST_BANDS = 3;
const TINY = 1e-12;
const POOL = 24;
const ROWS = 10;
const LEAST_SAVING = 0.02;

// Room for the remedies of one trial: none is made anew in the innermost loop.
let rates = new Float64Array(64);
let shares = new Float64Array(64);
let order = new Int32Array(64);

/** Expected cost x chance of trying remedies by chance over cost at a belief (chance x weight). */
function trial(trying, joint) {
  const { cures, cost, giveUp } = trying;
  const where = (trying.where ??= cures.map((row) => Int32Array.from([...row.keys()].filter((s) => row[s] !== 0))));
  const chance = sum(joint);
  const count = cures.length;
  if (count > order.length) [rates, shares, order] = [new Float64Array(count), new Float64Array(count), new Int32Array(count)];
  for (let d = 0; d < count; d++) {
    let cured = 0;
    for (const s of where[d]) cured += cures[d][s] * joint[s];
    shares[d] = cured / Math.max(chance, TINY);
    rates[d] = shares[d] / cost[d];
    let at = d;
    for (; at > 0 && rates[order[at - 1]] < rates[d]; at--) order[at] = order[at - 1];
    order[at] = d;
  }
  let before = 1;
  let done = 0;
  let paid = 0;
  let best = giveUp;
  for (let i = 0; i < count; i++) {
    paid += cost[order[i]] * before;
    done += shares[order[i]];
    before = Math.max(1 - done, 0);
    best = Math.min(best, paid + before * giveUp);
  }
  return chance * best;
}

/** Chance that the likeliest remedy is the wrong one, x chance. */
const guessed = ({ cures }, joint) => sum(joint) - Math.max(0, ...cures.map((row) => dot(row, joint)));

function times(row, weight) {
  const out = new Float64Array(row.length);
  for (let s = 0; s < row.length; s++) out[s] = row[s] * weight[s];
  return out;
}

/** Places of the checks to follow, picked one by one for what each saves once the answers of those before it are known.
 * every: [{ near: rows over kinds and not described, own: money }]. going: places of those whose evidence goes when the machine is moved. */
export function chosen(trying, every, weight, going) {
  const money = [];
  const worth = every.map(({ near }, i) => {
    const parts = near.map((row) => times(row, weight));
    money[i] = Math.max(trial(trying, weight) - sum(parts.map((p) => trial(trying, p))), 0);
    const wrong = Math.max(guessed(trying, weight) - sum(parts.map((p) => guessed(trying, p))), 0);
    return money[i] + (trying.giveUp * wrong) / trying.cost.length;
  });
  const picked = going.filter((i) => money[i] > every[i].own);
  const best = [...every.keys()].sort((a, b) => worth[b] - worth[a] || a - b).slice(0, POOL);
  const pool = best.filter((i) => worth[i] > LEAST_SAVING && !picked.includes(i));
  let known = [weight];
  while (pool.length && picked.length < MOST_CHECKS) {
    const now = sum(known.map((row) => trial(trying, row)));
    const gains = pool.map((i) => now - sum(known.flatMap((row) => every[i].near.map((r) => trial(trying, times(r, row))))));
    // The ratio alone would take only cheap looks, the difference only dear readings
    const ratio = pool.length % 2 === 0;
    const score = gains.map((gain, j) => (ratio ? gain / every[pool[j]].own : gain - every[pool[j]].own));
    const [next] = pool.splice(score.indexOf(Math.max(...score)), 1);
    picked.push(next);
    known = coarse(known.flatMap((row) => every[next].near.map((r) => times(r, row))));
  }
  return picked;
}

function coarse(rows) {
  if (rows.length <= ROWS) return rows;
  const keyed = rows.map((row, i) => [sum(row), i]).sort((a, b) => b[0] - a[0] || a[1] - b[1]);
  const rest = new Float64Array(rows[0].length);
  for (const [, i] of keyed.slice(ROWS)) rows[i].forEach((v, s) => (rest[s] += v));
  return [...keyed.slice(0, ROWS).map(([, i]) => rows[i]), rest];
}

/** A table with its bands joined where joining costs least, until a few are left. */
export function joinedBands(trying, one, weight) {
  if (!one.edges.length) return one;
  let bands = one.near.slice(0, one.fine).map((row, r) => ({ last: r, row: times(row, weight) }));
  while (bands.length > MOST_BANDS) {
    const costs = bands.slice(1).map((next, i) => {
      const both = bands[i].row.map((v, s) => v + next.row[s]);
      const loss = trial(trying, both) - trial(trying, bands[i].row) - trial(trying, next.row);
      return [Math.round(loss * 1e9) / 1e9, sum(both), i];
    });
    const [, , at] = costs.reduce((a, b) => (b[0] < a[0] || (b[0] === a[0] && b[1] < a[1]) ? b : a));
    const row = bands[at].row.map((v, s) => v + bands[at + 1].row[s]);
    bands = [...bands.slice(0, at), { last: bands[at + 1].last, row }, ...bands.slice(at + 2)];
  }
  const lasts = bands.map((b) => b.last);
  const rows = lasts.map((last, i) => added(one.rows.slice(i ? lasts[i - 1] + 1 : 0, last + 1)));
  return { ...one, rows: [...rows, ...one.rows.slice(one.fine)], edges: lasts.slice(0, -1).map((l) => one.edges[l]), fine: rows.length };
}

function added(rows) {
  const out = new Float64Array(rows[0].length);
  for (const row of rows) for (let s = 0; s < out.length; s++) out[s] += row[s];
  return out;
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
