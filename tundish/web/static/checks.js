// What the entry of a check needs: answers or dimension, and what is expected.
import { facts } from "./server.js";
import { at } from "./case.js";
import { dimensionIn } from "./units.js";
import { choice } from "./say.js";
import { UNITS } from "./units_table.js";

/** Throws when nobody answers and nothing is kept. { answers, dimension, middle, bucket, says, healthy, system } of a check. */
export async function checkOf(call, id) {
  const { data } = await facts(at(call, "expect"), { patience: 8000 });
  return fromRow(data.find((row) => row.check === id));
}

function fromRow(row) {
  const answers = Object.entries(row.now.answers);
  const { unit, low, high, instrument, may_lack } = row.shows || {};
  const dimension = UNITS[unit]?.[0] || dimensionIn(row.healthy.says) || dimensionIn(row.now.says) || "number";
  return {
    check: row.check, answers, dimension, middle: row.now.middle ?? row.healthy.middle, bucket: dimension === "flow",
    says: row.now.says, healthy: row.healthy.says, system: choice.value.units || (/psi|°F|gpm/.test(row.healthy.says) ? "US" : "metric"),
    low, high, instrument, mayLack: !!may_lack,
  };
}
