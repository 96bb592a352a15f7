// Numbers between the hand and SI. Shown rounded to three figures; what is recorded is what was typed, in SI.
import { CUSTOMARY, LIMITS, UNITS } from "./units_table.js";

const BUCKETS = { metric: [10, "L"], US: [2, "gal"] };
// Units a gauge may have beside the customary ones.
const BESIDE = { pressure: { metric: ["bar", "psi"], US: ["kPa", "bar"] }, flow: { metric: ["L/min"], US: ["gpm"] } };

/** Number in a unit to SI. */
export const toSI = (number, unit) => (number + UNITS[unit][2]) * UNITS[unit][1];

/** SI to a number in a unit. */
export const fromSI = (value, unit) => value / UNITS[unit][1] - UNITS[unit][2];

/** The customary unit for a value of a dimension. */
export function unitFor(value, dimension, system) {
  const steps = CUSTOMARY[system][dimension];
  if (!value || !Number.isFinite(value)) return steps.at(-1)[1];
  return steps.filter(([least]) => least <= Math.abs(value)).at(-1)?.[1] || steps[0][1];
}

/** Three figures, no exponent. */
export function rounded(number) {
  if (!Number.isFinite(number)) return "–";
  return Number(number.toPrecision(3)).toLocaleString("en", { maximumFractionDigits: 6, useGrouping: false });
}

/** Units to offer on the pad for a dimension. middle: what is expected, SI, or null: its unit comes first. */
export function offered(dimension, system, middle, bucket = false) {
  const first = unitFor(middle ?? 0, dimension, system);
  const steps = CUSTOMARY[system][dimension].map(([, unit]) => unit);
  const close = steps.filter((unit) => near(unit, first));
  const all = [first, ...close, ...(BESIDE[dimension]?.[system] || [])];
  const found = [...new Set(all)].slice(0, 4).map((unit) => ({ unit, label: unit.replace(/^delta /, "") }));
  if (!bucket || dimension !== "flow") return found;
  const [volume, in_] = BUCKETS[system];
  return [{ unit: `bucket ${volume} ${in_}`, label: `s / ${volume} ${in_}`, volume, in_ }, ...found];
}

/** What was keyed: { value, typed } in SI and in words. choice: one of `offered`. */
export function keyed(number, choice) {
  if (choice.volume) {
    return { value: toSI(choice.volume, choice.in_) / number, typed: `${choice.volume} ${choice.in_} in ${number} s` };
  }
  return { value: toSI(number, choice.unit), typed: `${number} ${choice.unit}` };
}

/** Why a number cannot be a reading: { low, high } that it must lie between, in the words of its unit, and whether the instrument or
 * sense sets them; null when it can. about: { dimension, low, high } SI, of the instrument, null where it has no end. */
export function outside(number, unit, about) {
  const { value } = keyed(number, unit);
  const [least, most] = LIMITS[about.dimension] || [null, null];
  const low = Math.max(about.low ?? -Infinity, least ?? -Infinity);
  const high = Math.min(about.high ?? Infinity, most ?? Infinity);
  // A number converted twice may be off in its last digit
  const slack = 1e-9 * Math.max(Math.abs(low) < Infinity ? Math.abs(low) : 0, Math.abs(high) < Infinity ? Math.abs(high) : 0, 1e-300);
  if (value >= low - slack && value <= high + slack) return null;
  const [from, to] = unit.volume ? [high, low].map((flow) => toSI(unit.volume, unit.in_) / flow) : [low, high].map((v) => (Number.isFinite(v) ? fromSI(v, unit.unit) : v));
  const label = unit.volume ? "s" : unit.label;
  const told = (end) => `${rounded(end)} ${label}`;
  return { low: Number.isFinite(from) ? told(from) : "", high: Number.isFinite(to) ? told(to) : "", above: value > high };
}

/** The dimension of a text such as "99.6 s (81.7 s to 2:01 min)"; "" when there is none in it. */
export function dimensionIn(says) {
  const found = /-?\d[\d.:]*\s*([^\s\d(),]+(?:\s?(?:water|K))?)/.exec(says || "");
  const unit = found?.[1];
  return UNITS[unit]?.[0] || UNITS[unit?.replace(/^k?Ω$/, "ohm")]?.[0] || "";
}

function near(unit, first) {
  const ratio = UNITS[unit][1] / UNITS[first][1];
  return ratio >= 1e-3 && ratio <= 1e3;
}
