// Runs the phone's kernel over a file of vectors and prints what it says: node run.mjs KERNEL VECTORS.
import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { pathToFileURL } from "node:url";

const [kernel, vectors] = process.argv.slice(2);
const { board, expected, misfit, odds, unpack, weigh } = await import(pathToFileURL(kernel));
const told = JSON.parse(readFileSync(vectors));
const pocket = await unpack(readFileSync(join(dirname(vectors), told.pack)));
const plain = (v) => (v === Infinity ? "over" : v);

const said = told.cases.map(({ readings, place, expected: asked }) => {
  const weighed = weigh(pocket, readings.map((r) => ({ ...r, value: r.value === "over" ? Infinity : r.value })));
  const found = odds(weighed);
  const fit = misfit(weighed);
  const shown = board(weighed, place);
  const bands = Object.keys(asked).map((name) => {
    const { low, middle, high, over, answers } = expected(weighed, name);
    return [name, { low: plain(low), middle: plain(middle), high: plain(high), over, answers }];
  });
  return {
    odds: { causes: Object.fromEntries(found.causes), nothing: found.nothing, unknown: found.unknown },
    evidence: weighed.evidence, effective: found.effective,
    misfit: { alarm: fit.alarm, worst: fit.worst, fits: Object.fromEntries(fit.fits) },
    expected: Object.fromEntries(bands),
    options: shown.options.map(({ kind, what, at, own, promise }) => ({ kind, what, at, own, promise })),
    halt: !!shown.halt,
  };
});
console.log(JSON.stringify(said));
