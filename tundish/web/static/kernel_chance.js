// Chances of readings: the normal distribution and the likelihood of docs/odds.md, for every number that a check's scale has.

const HALF_LOG_2PI = 0.5 * Math.log(2 * Math.PI);
// As in tundish.diagnosis.likelihood; the test vectors hold both sides together.
export const MISDONE_OVER = 0.2;
export const MISDONE_NOTHING = 0.1;

/** Chance that a standard normal number lies above x >= 0. */
function above(x) {
  const density = Math.exp(-0.5 * x * x - HALF_LOG_2PI);
  if (x >= 3) return density / fraction(x);
  let term = x;
  let sum = x;
  // The series of the distribution about 0: x + x^3/3 + x^5/15 + ...
  for (let n = 3; term > 1e-17 * sum; n += 2) sum += term *= (x * x) / n;
  return 0.5 - density * sum;
}

/** Laplace's continued fraction of the tail, x >= 3. */
function fraction(x) {
  let tail = x;
  for (let n = 80; n > 0; n--) tail = x + n / tail;
  return tail;
}

const exact = (x) => (x >= 0 ? 1 - above(x) : above(-x));

/** Logarithm of the chance that a standard normal number lies below x. */
export function logBelow(x) {
  if (x < -3) return -0.5 * x * x - HALF_LOG_2PI - Math.log(fraction(-x));
  return x > 0 ? Math.log1p(-above(x)) : Math.log(above(-x));
}

// Cubic pieces between points 1/64 apart: wrong by less than 1e-9, and ten times as quick as the series
const FAR = 9;
const FINE = 64;
const POINTS = Float64Array.from({ length: 2 * FAR * FINE + 2 }, (_, i) => exact(i / FINE - FAR));
const SLOPES = Float64Array.from({ length: 2 * FAR * FINE + 2 }, (_, i) => Math.exp(-0.5 * (i / FINE - FAR) ** 2 - HALF_LOG_2PI) / FINE);

/** Chance that a standard normal number lies below x. */
export function below(x) {
  if (!(x > -FAR)) return 0;
  if (x >= FAR) return 1;
  const at = (x + FAR) * FINE;
  const i = Math.floor(at);
  const t = at - i;
  const u = 1 - t;
  return u * u * ((1 + 2 * t) * POINTS[i] + t * SLOPES[i]) + t * t * ((3 - 2 * t) * POINTS[i + 1] - u * SLOPES[i + 1]);
}

/** log(exp(a) + exp(b)). */
export function logAdd(a, b) {
  const top = Math.max(a, b);
  return top === -Infinity ? top : top + Math.log1p(Math.exp(Math.min(a, b) - top));
}

/** True value of a number of a scale, whole or between two. */
export function valueOf(scale, code) {
  if (scale.kind === "look") return code;
  if (code >= scale.levels - 1) return scale.top;
  const scaled = scale.first + scale.step * code;
  const plain = scale.curve > 0 ? (Math.sinh(scale.curve * scaled) * scale.floor) / scale.curve : scaled * scale.floor;
  // Rounding must not put a reading over its range
  return Math.min(scale.kind === "log" ? Math.exp(scaled) : plain, scale.top > 0 ? scale.top * (1 - 1e-9) : scale.top);
}

/** What a check's instrument shows of each number of its scale: { true, scaled, sigma, instrument, model }; null for a look. */
export function instrumentOf(check) {
  const tool = check.errors;
  if (!tool) return null;
  const foot = tool.log ? Math.max(tool.low, 1e-9 * tool.high) : tool.low;
  const value = Float64Array.from({ length: check.scale.levels }, (_, i) => valueOf(check.scale, i));
  const held = value.map((v) => Math.min(Math.max(v, foot), tool.high));
  const own = held.map((v) => (tool.log ? tool.relative ** 2 : tool.absolute ** 2 + (tool.relative * v) ** 2 + tool.resolution ** 2 / 12));
  const model = held.map((v) => (tool.log ? check.model ** 2 : (check.model * v) ** 2));
  const over = Uint8Array.from(value, (v) => (v >= tool.high ? 1 : 0));
  return { held, over, own, model, scaled: tool.log ? held.map(Math.log) : held, sigma: own.map((v, i) => Math.sqrt(v + model[i])) };
}

/** Chance that a fresh reading lies above a value, for each number of the scale. */
export function exceeds(check, value) {
  const { scaled, sigma, over } = check.shows;
  const at = check.errors.log ? Math.log(Math.max(value, 1e-9 * check.errors.high)) : value;
  return scaled.map((v, i) => (over[i] ? 1 : below((v - at) / Math.max(sigma[i], 1e-300))));
}

/** Log-likelihood of all readings of a check for each number of its scale. */
export function likelihood(check, readings) {
  const good = check.errors ? read(check, readings) : looked(check, readings);
  if (check.misdone <= 0) return good;
  const bad = Math.log(check.misdone) + misdone(check, readings);
  const right = Math.log1p(-check.misdone);
  return good.map((v) => logAdd(right + v, bad));
}

/** Log chance (density) of the readings when nothing is known but where the check's readings may fall. */
export function misdone(check, readings) {
  if (!check.errors) return -Math.log(check.answers.length);
  const [first, ...repeats] = readings;
  return repeats.reduce((sum, repeat) => {
    const same = repeat.bound === "exact" && first.bound === "exact" && first.value !== null;
    return sum + (same ? one(check, Math.fround(first.value), repeat) : Math.log(0.5));
  }, misdoneOnce(check, first));
}

function misdoneOnce(check, { value, bound }) {
  const { errors: tool, reach } = check;
  if (value >= tool.high) return Math.log(MISDONE_OVER);
  if (bound === "exact" && nothing(tool, value)) return Math.log(MISDONE_NOTHING);
  const width = reach[1] - reach[0];
  const floor = floored(tool, value);
  const at = tool.log ? Math.log(floor) : floor;
  if (bound === "exact") {
    const outside = Math.max(reach[0] - at, at - reach[1], 0) / width;
    return Math.log1p(-MISDONE_OVER - MISDONE_NOTHING) - Math.log(width) - Math.log(10) * outside - (tool.log ? Math.log(floor) : 0);
  }
  const share = Math.min(Math.max((at - reach[0]) / width, 0.02), 0.98) * (1 - MISDONE_OVER);
  return Math.log(bound === "below" ? share : 1 - share);
}

function looked(check, readings) {
  const at = check.answers.indexOf(readings.at(-1).answer);
  if (at < 0) throw new Error(`check ${check.id}: saw answer ${readings.at(-1).answer}; allowed: ${check.answers.join(", ")}; name one of these`);
  return Float64Array.from(check.chances, (row) => Math.log(row[at]));
}

function read(check, readings) {
  const tool = check.errors;
  const exactly = readings.filter((r) => r.bound === "exact" && tool.high > r.value && !nothing(tool, r.value));
  const rest = readings.filter((r) => !exactly.includes(r)).slice(0, 1);
  const together = exactly.length > 1 ? repeated(check, exactly) : each(check, exactly);
  const others = each(check, rest);
  return together.map((v, i) => v + others[i]);
}

function each(check, readings) {
  const { held, scaled, sigma, over } = check.shows;
  const sum = new Float64Array(held.length);
  for (const reading of readings) for (let i = 0; i < sum.length; i++) sum[i] += density(check.errors, reading, held[i], scaled[i], sigma[i], over[i]);
  return sum;
}

/** One reading where the machine's true value is `value`. */
function one(check, value, reading) {
  const tool = check.errors;
  const held = Math.min(Math.max(value, tool.log ? Math.max(tool.low, 1e-9 * tool.high) : tool.low), tool.high);
  const own = tool.log ? tool.relative ** 2 : tool.absolute ** 2 + (tool.relative * held) ** 2 + tool.resolution ** 2 / 12;
  const sigma = Math.sqrt(own + (tool.log ? check.model ** 2 : (check.model * held) ** 2));
  return density(tool, reading, held, tool.log ? Math.log(held) : held, sigma, value >= tool.high);
}

function density(tool, { value, bound }, held, scaled, sigma, over) {
  if (value >= tool.high) return over ? 0 : logBelow((held - tool.high) / (tool.log ? sigma * held : sigma));
  const floor = floored(tool, value);
  const gap = ((tool.log ? Math.log(floor) : floor) - scaled) / sigma;
  if (bound === "above") return over ? 0 : logBelow(-gap);
  if (over) return -Infinity;
  if (bound === "below" || nothing(tool, value)) return logBelow(gap);
  return -0.5 * gap * gap - Math.log(sigma) - HALF_LOG_2PI - (tool.log ? Math.log(floor) : 0);
}

/** Readings that share the persistent part of the error and the model's error. */
function repeated(check, readings) {
  const { own, model, scaled, over } = check.shows;
  const tool = check.errors;
  const values = readings.map((r) => floored(tool, r.value));
  const at = tool.log ? values.map(Math.log) : values;
  const n = at.length;
  const mean = at.reduce((a, b) => a + b) / n;
  const spread = at.reduce((sum, v) => sum + (v - mean) ** 2, 0);
  const jacobian = tool.log ? values.reduce((sum, v) => sum + Math.log(v), 0) : 0;
  return scaled.map((v, i) => {
    if (over[i]) return -Infinity;
    const variance = own[i] + model[i];
    const shared = tool.persistent * own[i] + model[i];
    const fresh = Math.max(variance - shared, 1e-6 * variance);
    const joint = shared + fresh / n;
    const likely = -0.5 * (mean - v) ** 2 / joint - 0.5 * Math.log(joint * n) - (0.5 * spread) / fresh - 0.5 * (n - 1) * Math.log(fresh);
    return likely - n * HALF_LOG_2PI - jacobian;
  });
}

const nothing = (tool, value) => !tool.log && value <= tool.low;
const floored = (tool, value) => (tool.log ? Math.max(value, 1e-9 * tool.high) : value);
