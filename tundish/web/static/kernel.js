// The call in the pocket, reckoned without a server. tundish.plan.pocket_kernel does the same; tests hold both to the same vectors.
// docs/pocket.md says what is in the file and how each figure is made.
import { exceeds, instrumentOf, likelihood, logAdd, misdone } from "./kernel_chance.js";
import { walkOf } from "./kernel_walk.js";

export { board, lead } from "./kernel_next.js";

const VERSION = 1;
const FRONT = 48;
/** The answer to any check whose thing the machine lacks. */
export const NOT_THERE = "not there";
// Share of checks that an unknown fault leaves as on a healthy machine; chance that a thing is overlooked; bounds of the alarm.
const LIKE_HEALTHY = 0.5;
const OVERLOOKED = 0.01;
const ALARM_CHANCE = 0.001;
const ALARM_UNKNOWN = 0.5;
const HALVINGS = 40;
// A kind needs so many effective machines; powers that flatten its weights until it has.
const EFFECTIVE = 20;
// Machines from which odds are sure: docs/odds.md.
const LEAST_EFFECTIVE = 200;
const POWERS = [1, 0.5, 0.25, 0.1, 0.05, 0];
// Least chance of what a test showed, and the logarithm that stands for none.
const HARDLY = 1e-30;
const NEVER = -1e9;
const ARRAY = { u1: Uint8Array, u2: Uint16Array, f4: Float32Array };

/** A packed call, opened. Throws for bytes that are none, are damaged, or of another version. */
export async function unpack(bytes) {
  const whole = await inflated(bytes);
  const view = new DataView(whole);
  const magic = String.fromCharCode(...new Uint8Array(whole, 0, 8));
  if (magic !== "TUNDPACK" || view.getUint32(8, true) !== VERSION) throw new Error("saw no packed call of version 1; fetch it again");
  await check(whole);
  const length = view.getUint32(12, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(whole, FRONT, length)));
  const arrays = {};
  for (const { name, kind, first, length: many } of head.arrays) arrays[name] = new ARRAY[kind](whole, FRONT + length + first, many);
  return laid(head, arrays);
}

async function inflated(bytes) {
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Response(stream).arrayBuffer();
}

async function check(whole) {
  const found = new Uint8Array(await crypto.subtle.digest("SHA-256", new Uint8Array(whole, FRONT)));
  const wanted = new Uint8Array(whole, 16, 32);
  if (found.some((byte, i) => byte !== wanted[i])) throw new Error("saw a packed call that its hash does not fit; fetch it again");
}

function laid(head, arrays) {
  const checks = new Map();
  head.checks.forEach((facts, i) => {
    const one = { ...facts, codes: arrays[`s${i}`], healthy: arrays[`h${i}`], outside: arrays[`o${i}`], missing: arrays[`l${i}`] };
    checks.set(one.id, { ...one, shows: instrumentOf(one) });
  });
  return { head, arrays, checks, kind: arrays.kind, prior: arrays.prior, walk: walkOf(head, arrays) };
}

/** The machines after all readings that stand; one taken back is left out and everything weighed anew.
 * readings: [{ check, value, answer, bound }], value Infinity over range. works: what the test after a repair showed, null for none. */
export function weigh(pocket, readings, works = null) {
  const { prior, log_unknown } = tested(pocket, works);
  let unknown = log_unknown;
  const groups = byCheck(readings.filter((r) => r.answer !== NOT_THERE));
  const like = new Map();
  for (const [name, group] of groups) {
    const one = of(pocket, name);
    const table = likelihood(one, group);
    like.set(name, table);
    unknown += undescribed(one, table, group);
  }
  const here = { ...pocket, prior };
  const exact = summed(here, like);
  const effective = effectiveOf(exact);
  const log = effective >= LEAST_EFFECTIVE ? exact : followed(here, like);
  unknown = lacking(pocket, readings, log, unknown);
  const evidence = logAdd(logSum(log), unknown);
  if (!Number.isFinite(evidence)) throw new Error("saw readings that nothing can show; check the last one");
  const weight = log.map((v) => Math.exp(v - evidence));
  return { pocket, weight, unknown: Math.exp(unknown - evidence), evidence, effective, like, groups };
}

/** Log-weights with the test: what is not described would still fail, and leaves what it shows of the rest as it is. */
function tested({ prior, arrays, head: { log_unknown } }, works) {
  if (works === null || !arrays.w) return { prior, log_unknown };
  const seen = Float64Array.from(arrays.w, (w) => Math.log(Math.max(works ? w : 1 - w, HARDLY)));
  return { prior: seen.map((v, i) => v + prior[i]), log_unknown: log_unknown + (works ? NEVER : 0) };
}

/** Chance that a cause is left that counts, something not described among them; of a machine as a repair left it. */
export function chanceLeft({ pocket, weight, unknown }) {
  const troubled = pocket.arrays.t;
  let sum = unknown;
  for (let i = 0; i < weight.length; i++) if (troubled[i]) sum += weight[i];
  return sum;
}

/** What readings ask to be said at once: [{ say, halts, refer }]; where one halts, no work goes on. */
export function dangers({ head }, readings) {
  return head.dangers.filter((danger) => readings.some((reading) => asks(danger, reading)));
}

function asks(danger, { check: name, value, answer }) {
  if (!danger.checks.includes(name)) return false;
  if (value === null || value === undefined) return danger.answers.includes(answer);
  return (danger.above !== null && value > danger.above) || (danger.below !== null && value < danger.below);
}

/** { causes: [[id, chance]] likeliest first, nothing, unknown, effective }. */
export function odds({ pocket, weight, unknown, effective }) {
  const { kinds, causes } = pocket.head;
  const mass = massOf(pocket, weight);
  const chance = new Float64Array(causes.length);
  let nothing = 0;
  kinds.forEach((kind, k) => {
    for (const cause of kind.causes) chance[cause] += mass[k];
    if (kind.sound) nothing += mass[k];
  });
  const ranked = causes.map((cause, i) => [cause.id, chance[i]]).sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
  return { causes: ranked, nothing, unknown, effective };
}

/** What a check should read now: { low, middle, high, over } of 5, 50 and 95 %, SI, or { answers } of a look. */
export function expected({ pocket, weight }, name) {
  const one = of(pocket, name);
  const share = shared(one, weight);
  if (!one.errors) {
    const said = one.answers.map((answer, j) => [answer, one.chances.reduce((sum, row, i) => sum + share[i] * row[j], 0)]);
    return { low: null, middle: null, high: null, over: 0, answers: Object.fromEntries(said) };
  }
  const over = dot(share, exceeds(one, one.errors.high));
  const [low, middle, high] = [0.05, 0.5, 0.95].map((q) => quantile(one, share, q, over));
  return { low, middle, high, over, answers: {} };
}

/** Whether the readings fit: { alarm, worst, fits: [[check, chance]] worst first }. */
export function misfit(weighed) {
  const fits = [...weighed.groups].map(([name, group]) => [name, fit(weighed, name, group)]).sort((a, b) => a[1] - b[1]);
  const alarm = fits.length > 0 && (weighed.unknown > ALARM_UNKNOWN || fits[0][1] < ALARM_CHANCE);
  return { alarm, worst: fits.length ? fits[0][0] : null, fits };
}

/** Chance of each kind of machine. */
export function massOf(pocket, weight) {
  const mass = new Float64Array(pocket.head.kinds.length);
  for (let i = 0; i < weight.length; i++) mass[pocket.kind[i]] += weight[i];
  return mass;
}

function of(pocket, name) {
  const one = pocket.checks.get(name);
  if (!one) throw new Error(`saw check ${name}, which is not in the pocket; ask the server about it`);
  return one;
}

function byCheck(readings) {
  const groups = new Map();
  for (const reading of readings) groups.set(reading.check, [...(groups.get(reading.check) || []), reading]);
  return groups;
}

/** Something not described pays for every reading too: half as a healthy machine, half anything. */
function undescribed(one, table, group) {
  const healthy = logSum(Float64Array.from(one.healthy, (code) => table[code])) - Math.log(one.healthy.length);
  return logAdd(Math.log(LIKE_HEALTHY) + healthy, Math.log1p(-LIKE_HEALTHY) + misdone(one, group));
}

/** Weights once it was said that the machine has not what some checks need; each thing counts once. */
function lacking(pocket, readings, log, unknown) {
  const said = readings.filter((r) => r.answer === NOT_THERE).map((r) => r.check).sort();
  const things = new Map(said.map((name) => [of(pocket, name).needs, of(pocket, name).missing]));
  let left = unknown;
  for (const missing of things.values()) {
    const top = log.reduce((a, b) => Math.max(a, b), -Infinity);
    let whole = 0;
    let meets = 0;
    for (let i = 0; i < log.length; i++) {
      const chance = missing?.[i] ? 1 : OVERLOOKED;
      const weight = Math.exp(log[i] - top);
      whole += weight;
      meets += weight * chance;
      log[i] += Math.log(chance);
    }
    left += Math.log(meets / whole);
  }
  return left;
}

/** Log-weights after the readings of one check after the other. Nothing can be regrown on a phone: where the machines of a kind become
 * too few to stand for it, their weights within the kind are flattened before the next check. like: check -> table by number shown. */
function followed({ prior, kind, checks, head }, like) {
  const count = head.kinds.length;
  const first = new Int32Array(count + 1).fill(-1);
  kind.forEach((k, i) => first[k] < 0 && (first[k] = i));
  first[count] = kind.length;
  const log = Float64Array.from(prior);
  for (let k = 0; k < count; k++) {
    const [from, to] = [first[k], first[k + 1]];
    const own = log.subarray(from, to);
    let chance = logSum(own);
    const weight = own.map((v) => Math.exp(v - chance));
    for (const [name, table] of like) {
      const { codes } = checks.get(name);
      let top = -Infinity;
      for (let i = from; i < to; i++) top = Math.max(top, table[codes[i]]);
      if (top === -Infinity) top = 0;
      let sum = 0;
      let square = 0;
      for (let i = from; i < to; i++) sum += weight[i - from] *= Math.exp(table[codes[i]] - top);
      chance += Math.log(sum) + top;
      for (let i = 0; i < weight.length; i++) (weight[i] /= Math.max(sum, 1e-300)), (square += weight[i] ** 2);
      if (square * EFFECTIVE > 1) flatten(weight);
    }
    for (let i = 0; i < own.length; i++) own[i] = chance + Math.log(weight[i]);
  }
  return log;
}

/** Weights raised to a power until enough machines stand for their kind; sums to 1, what is 0 stays 0. */
export function flatten(weight) {
  const top = weight.reduce((a, b) => Math.max(a, b), 1e-300);
  const raised = new Float64Array(weight.length);
  for (const power of POWERS) {
    let sum = 0;
    let square = 0;
    for (let i = 0; i < weight.length; i++) {
      raised[i] = weight[i] > 0 ? (weight[i] / top) ** power : 0;
      sum += raised[i];
      square += raised[i] ** 2;
    }
    if (sum * sum < EFFECTIVE * square && power > 0) continue;
    for (let i = 0; i < weight.length; i++) weight[i] = raised[i] / Math.max(sum, 1e-300);
    return;
  }
}

function summed({ prior, checks }, like) {
  const log = Float64Array.from(prior);
  for (const [name, table] of like) {
    const { codes } = checks.get(name);
    for (let i = 0; i < log.length; i++) log[i] += table[codes[i]];
  }
  return log;
}

/** Effective machines of weights that were not flattened: whether the odds may be trusted. */
function effectiveOf(log) {
  const top = log.reduce((a, b) => Math.max(a, b), -Infinity);
  if (top === -Infinity) return 0;
  let sum = 0;
  let square = 0;
  for (const v of log) (sum += Math.exp(v - top)), (square += Math.exp(v - top) ** 2);
  return (sum * sum) / Math.max(square, 1e-300);
}

function fit({ pocket, like }, name, group) {
  const one = of(pocket, name);
  const table = like.get(name);
  const others = new Map([...like].filter(([other]) => other !== name));
  // A machine ruled out for good cannot be brought back by leaving the reading out
  const alive = followed(pocket, others).map((v, i) => (Number.isFinite(table[one.codes[i]]) ? v : -Infinity));
  const top = alive.reduce((a, b) => Math.max(a, b), -Infinity);
  if (top === -Infinity) return 0;
  const share = shared(one, alive.map((v) => Math.exp(v - top)));
  const last = group.at(-1);
  if (!one.errors) return dot(share, one.chances.map((row) => row[one.answers.indexOf(last.answer)]));
  if (last.value >= one.errors.high) return dot(share, exceeds(one, one.errors.high * (1 - 2 ** -53)));
  const above = dot(share, exceeds(one, last.value));
  if (last.bound === "above") return above;
  return last.bound === "below" ? 1 - above : 2 * Math.min(above, 1 - above);
}

/** Share of each number of a check's scale. */
function shared(one, weight) {
  const share = new Float64Array(one.scale.levels);
  let sum = 0;
  for (let i = 0; i < weight.length; i++) (share[one.codes[i]] += weight[i]), (sum += weight[i]);
  return share.map((v) => v / Math.max(sum, 1e-300));
}

/** Least reading that no more than 1 - q lie above. */
function quantile(one, share, q, over) {
  const { low, high, log } = one.errors;
  if (over > 1 - q) return Infinity;
  const foot = log ? Math.max(low, 1e-9 * high) : low;
  if (dot(share, exceeds(one, foot)) <= 1 - q) return foot;
  let [a, b] = log ? [Math.log(foot), Math.log(high)] : [foot, high];
  for (let i = 0; i < HALVINGS; i++) {
    const middle = (a + b) / 2;
    if (dot(share, exceeds(one, log ? Math.exp(middle) : middle)) > 1 - q) a = middle;
    else b = middle;
  }
  return log ? Math.exp(b) : b;
}

function dot(a, b) {
  let sum = 0;
  for (let i = 0; i < a.length; i++) if (a[i] > 0) sum += a[i] * b[i];
  return sum;
}

function logSum(values) {
  let top = -Infinity;
  for (const v of values) if (v > top) top = v;
  if (top === -Infinity) return top;
  let sum = 0;
  for (const v of values) sum += Math.exp(v - top);
  return top + Math.log(sum);
}
