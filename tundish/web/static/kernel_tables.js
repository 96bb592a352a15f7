// What every check may show on the kinds of machine that are left: tundish.plan.pocket_tables for a phone.
// Tables are rows (outcomes) of Float64Array over states: kinds, their twins pulled out, something not described.
import { flatten } from "./kernel.js";
import { exceeds, MISDONE_NOTHING, MISDONE_OVER, valueOf } from "./kernel_chance.js";

const MATTERS = 2e-3;
const EARNEST = 8;
const BY_RANK = 4;
const BY_GAP = 3;
const GAP = 8;
const LIKE_HEALTHY = 0.5;

/** Kinds that matter: { kinds, mass, unknown, rows, owner, share, twins, twinOf, moved }. */
export function left({ pocket, weight, unknown }) {
  const number = pocket.head.kinds.length;
  const whole = new Float64Array(number);
  for (let i = 0; i < weight.length; i++) whole[pocket.kind[i]] += weight[i];
  const all = whole.reduce((a, b) => a + b, 0);
  const kinds = [...whole.keys()].filter((k) => whole[k] > MATTERS * Math.max(all, 1e-300));
  const place = new Int16Array(number).fill(-1);
  kinds.forEach((k, i) => (place[k] = i));
  const rows = [];
  for (let i = 0; i < weight.length; i++) if (place[pocket.kind[i]] >= 0 && weight[i] > 0) rows.push(i);
  const owner = Int16Array.from(rows, (i) => place[pocket.kind[i]]);
  const share = flattened(Float64Array.from(rows, (i) => weight[i]), owner, kinds.length);
  const kept = kinds.reduce((sum, k) => sum + whole[k], 0);
  const known = kinds.length ? 1 - unknown : 0;
  const mass = Float64Array.from(kinds, (k) => (whole[k] / Math.max(kept, 1e-300)) * known);
  const eased = [...pocket.arrays.eased.keys()].filter((t) => {
    const row = pocket.arrays.eased[t];
    return place[pocket.kind[row]] >= 0 && weight[row] > 0;
  });
  const twinOf = eased.map((t) => place[pocket.kind[pocket.arrays.eased[t]]]);
  const moved = [...new Set(twinOf)].sort((a, b) => a - b);
  return { kinds, mass, unknown: 1 - known, rows: Int32Array.from(rows), owner, share, twins: eased, twinOf, moved };
}

/** Weights within each kind, flattened until enough machines stand for it; each kind sums to 1. */
function flattened(weight, owner, kinds) {
  // Machines lie kind by kind
  for (let k = 0, first = 0; k < kinds; k++) {
    let end = first;
    while (end < owner.length && owner[end] === k) end++;
    flatten(weight.subarray(first, end));
    first = end;
  }
  return weight;
}

/** { check, rows, edges, fine } of a check; null where most machines have not what it needs. */
export function table(found, check) {
  const k = found.kinds.length;
  const levels = check.scale.levels;
  const count = new Float64Array(k * levels);
  const has = new Float64Array(k);
  const { rows, owner, share } = found;
  const { missing, codes } = check;
  for (let i = 0; i < rows.length; i++) {
    if (missing && missing[rows[i]]) continue;
    count[owner[i] * levels + codes[rows[i]]] += share[i];
    has[owner[i]] += share[i];
  }
  let all = 0;
  let able = 0;
  found.mass.forEach((m, i) => ((all += m), (able += m * has[i])));
  if (!k || able < 0.5 * all) return null;
  const edges = edgesOf(check, found, count);
  const fine = fineOf(check, edges);
  return { check, edges, fine: fine.length, rows: filled(found, check, { fine, count, has, anything: anything(check, edges) }) };
}

/** Edges of fine bands, SI: at ranks and at the widest gaps, and over range. */
function edgesOf(check, found, count) {
  const tool = check.errors;
  if (!tool) return [];
  const { levels } = check.scale;
  const shown = new Float64Array(levels);
  found.mass.forEach((m, k) => {
    for (let l = 0; l < levels; l++) shown[l] += m * count[k * levels + l];
  });
  const edges = new Set(shown[levels - 1] > 0 ? [tool.high] : []);
  const taken = [];
  for (let l = 0; l < levels - 1; l++) if (shown[l] > 0) taken.push(l);
  if (taken.length > 1) for (const i of cutsOf(taken, shown)) edges.add(valueOf(check.scale, (taken[i] + taken[i + 1]) / 2));
  return [...edges].filter((e) => e > tool.low).sort((a, b) => a - b);
}

function cutsOf(taken, shown) {
  let sum = 0;
  const summed = taken.map((l) => (sum += shown[l]));
  const cut = new Set();
  for (let q = 1; q <= BY_RANK; q++) {
    const at = summed.findIndex((s) => s >= (sum * q) / (BY_RANK + 1));
    cut.add(Math.min(at, taken.length - 2));
  }
  const gaps = taken.slice(1).map((l, i) => [l - taken[i], i]);
  gaps.sort((a, b) => b[0] - a[0] || a[1] - b[1]);
  for (const [gap, i] of gaps.slice(0, BY_GAP)) if (gap >= GAP) cut.add(i);
  return [...cut].sort((a, b) => a - b);
}

/** P(outcome | number shown), a row for each outcome. */
function fineOf(check, edges) {
  const any = anything(check, edges);
  const { levels } = check.scale;
  const mixed = (good, r) => good.map((v) => (1 - check.misdone) * v + check.misdone * any[r]);
  if (!check.errors) return check.answers.map((_, r) => mixed(Float64Array.from(check.chances, (row) => row[r]), r));
  const ends = [new Float64Array(levels).fill(1), ...edges.map((e) => exceeds(check, e)), new Float64Array(levels)];
  return ends.slice(1).map((next, r) => mixed(ends[r].map((v, i) => Math.max(v - next[i], 0)), r));
}

/** P(outcome) of a check mis-done. */
function anything(check, edges) {
  const { errors: tool, reach, answers } = check;
  if (!tool) return answers.map(() => 1 / answers.length);
  const under = [0, ...edges.map((e) => Math.min(Math.max(((tool.log ? Math.log(e) : e) - reach[0]) / (reach[1] - reach[0]), 0), 1)), 1];
  const foot = tool.log ? 0 : MISDONE_NOTHING;
  const out = under.slice(1).map((v, i) => (1 - MISDONE_OVER - foot) * (v - under[i]));
  out[0] += foot;
  out[out.length - 1] += MISDONE_OVER;
  return out;
}

/** Rows over kinds, twins and something not described; each state sums to 1. */
function filled(found, check, { fine, count, has, anything: any }) {
  const k = found.kinds.length;
  const n = k + found.moved.length + 1;
  const lacks = !!check.missing;
  const rows = Array.from({ length: fine.length + lacks }, () => new Float64Array(n));
  means(found, check, { fine, count, has, lacks }, rows);
  twins(found, check, fine, rows);
  fine.forEach((row, r) => {
    let sum = 0;
    for (const code of check.healthy) sum += row[code];
    rows[r][n - 1] = (LIKE_HEALTHY * sum) / check.healthy.length + (1 - LIKE_HEALTHY) * any[r];
  });
  for (let s = 0; s < n; s++) {
    const sum = rows.reduce((a, row) => a + row[s], 0);
    for (const row of rows) row[s] /= sum;
  }
  return rows;
}

/** Means of the kinds, drawn to the mean of all as far as chance may explain the difference (James & Stein 1961). */
function means(found, check, { fine, count, has, lacks }, rows) {
  const k = found.kinds.length;
  const { levels } = check.scale;
  const square = new Float64Array(k);
  for (let kind = 0; kind < k; kind++) {
    for (let l = 0; l < levels; l++) {
      const c = count[kind * levels + l];
      if (c === 0) continue;
      for (let r = 0; r < fine.length; r++) {
        rows[r][kind] += c * fine[r][l];
        square[kind] += c * fine[r][l] * fine[r][l];
      }
    }
    if (lacks) (rows.at(-1)[kind] = 1 - has[kind]), (square[kind] += 1 - has[kind]);
  }
  const number = new Float64Array(k);
  for (let i = 0; i < found.rows.length; i++) number[found.owner[i]] += found.share[i] ** 2;
  const whole = found.mass.reduce((a, b) => a + b, 0);
  const overall = rows.map((row) => found.mass.reduce((sum, m, i) => sum + m * row[i], 0) / whole);
  for (let kind = 0; kind < k; kind++) {
    let own = 0;
    let apart = 0;
    rows.forEach((row, r) => ((own += row[kind] ** 2), (apart += (row[kind] - overall[r]) ** 2)));
    // The sum over outcomes of mean square less squared mean; rounding may take it below nothing
    const spread = Math.max(square[kind] - own, 0);
    const factor = Math.min(Math.max(1 - (EARNEST * spread * number[kind]) / Math.max(apart, 1e-300), 0), 1);
    rows.forEach((row, r) => (row[kind] = Math.max(overall[r] + factor * (row[kind] - overall[r]), 0)));
  }
}

/** Means of the kinds pulled out. */
function twins(found, check, fine, rows) {
  const k = found.kinds.length;
  const many = new Float64Array(found.moved.length);
  found.twinOf.forEach((of, i) => {
    const t = found.moved.indexOf(of);
    many[t] += 1;
    for (let r = 0; r < fine.length; r++) rows[r][k + t] += fine[r][check.outside[found.twins[i]]];
  });
  many.forEach((m, t) => rows.forEach((row) => (row[k + t] /= m)));
}
