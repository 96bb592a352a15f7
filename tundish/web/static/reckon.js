// The facts of Find and of Prove from a packed call, without a server. Run by the worker, so that no tap waits for it.
import { board, chanceLeft, dangers, expected, lead, misfit, NOT_THERE, odds, weigh } from "./kernel.js";
import { way } from "./kernel_walk.js";
import { rounded } from "./units.js";
import { UNITS } from "./units_table.js";

// Below this many machines, or three times the root of those there are, the odds are not sure: docs/odds.md.
const EFFECTIVE = 200;
// Readings as used tell something when they bring the chance that a cause is left down to this share: tundish.store.verdict.
const TELLING = 0.8;
// Answers of a sound machine rarer than this are not named.
const LIKELY = 0.05;
const FIRST = 3;
const MOST_TOLD = 6;

/** The odds at once. asked: { readings, works }, readings as the kernel takes them, with `typed`. */
export function oddsOf(pocket, asked) {
  const weighed = weighedBy(pocket, asked);
  const found = odds(weighed);
  const titles = new Map(pocket.head.causes.map((cause) => [cause.id, cause]));
  const all = weighed.weight.reduce((many, w) => many + (w > 0), 0);
  return {
    readings: asked.readings.map((r) => ({ check: r.check, title: pocket.checks.get(r.check)?.title || "", shows: r.typed || r.answer })),
    causes: found.causes.map(([id, chance]) => ({ ...titles.get(id), chance })),
    nothing_wrong: found.nothing,
    not_described: found.unknown,
    misfit: misfit(weighed),
    sure: found.effective >= Math.max(EFFECTIVE, 3 * Math.sqrt(all)),
    effective_machines: found.effective,
    notices: dangers(pocket, weighedReadings(pocket, asked)).map((danger) => ({ say: danger.say })),
  };
}

/** The next action and all others, best first: { halt, options }. words: of the page's language. told: hears the share that is done. */
export function nextOf(pocket, asked, words, told = () => {}) {
  const weighed = weighedBy(pocket, asked);
  const shown = board(weighed, { state: asked.state, parts: asked.parts }, told);
  if (shown.halt) return { halt: shown.here < 0 && shown.halt === "not in the pocket" ? words.state : shown.halt, options: [] };
  // After a repair there was something wrong
  const open = shown.options.filter((option) => !pocket.head.proof || option.what !== "nothing is wrong");
  return { halt: "", options: open.map((option, i) => optionFacts(option, { weighed, shown, words, leads: i < FIRST })) };
}

/** Whether the repair that left these machines is proven, as tundish.store.verdict judges it; null before any repair. */
export function proofOf(pocket, asked, words) {
  const { proof } = pocket.head;
  if (!proof) return null;
  const counted = weighedReadings(pocket, asked);
  const used = counted.filter((r) => r.check in proof.used && r.answer !== NOT_THERE);
  const left = used.length ? chanceLeft(weighedBy(pocket, { ...asked, works: null })) : proof.at_repair;
  const now = chanceLeft(weighedBy(pocket, asked));
  const telling = used.length > 0 && left <= TELLING * proof.at_repair;
  const seen = used.some((r) => proof.showing.includes(r.check));
  const shown = telling || seen || (!proof.showing.length && asked.works === true);
  const missing = missingOf({ asked, proof, used, shown, now });
  const read = new Set(counted.map((r) => r.check));
  const unread = [...new Set([...proof.wanted, ...proof.showing])].filter((id) => !read.has(id) && pocket.checks.has(id));
  const rest = missing.length ? unread.slice(0, Math.max(1, proof.wanted.filter((id) => !read.has(id)).length)) : [];
  return {
    repaired: proof.repaired.map((id) => ({ id, title: proof.titles[id] })), planned: false, proven: !missing.length, missing, limit: proof.limit, left_now: now,
    after: pocket.head.remedies.filter((r) => r.faults.some((f) => proof.repaired.includes(f))).flatMap((r) => r.cautions).slice(0, MOST_TOLD),
    settle: (missing.length ? proof.settle : []).filter((id) => !read.has(id)).map((id) => pocket.checks.get(id)).filter(Boolean).map(({ id, title, where }) => ({ check: id, title, where })),
    checks: rest.map((id) => wantedFacts(pocket, asked, pocket.checks.get(id), words)),
  };
}

function missingOf({ asked, proof, used, shown, now }) {
  const said = [];
  if (asked.works === false) said.push(["miss_fails", {}]);
  if (!shown) {
    const misplaced = asked.readings.filter((r) => elsewhere(proof, r)).map((r) => r.check);
    if (misplaced.length) said.push(["miss_place", { checks: misplaced.join(", ") }]);
    said.push([used.length ? "miss_little" : proof.showing.length ? "miss_read" : "miss_test", {}]);
  }
  if (now > proof.limit) said.push(["miss_left", { now, limit: proof.limit }]);
  if (asked.unready) said.push(["miss_state", {}]);
  return said;
}

function wantedFacts(pocket, asked, check, words) {
  const weighed = weighedBy(pocket, { ...asked, works: null });
  const sound = pocket.head.kinds.map((kind) => !kind.left.length);
  const cured = { ...weighed, weight: weighed.weight.map((w, i) => (sound[pocket.kind[i]] ? w : 0)) };
  const { id, title, where, how, cautions, instrument, minutes } = check;
  return { check: id, title, where, how, cautions, instrument, minutes, as_left: band(expected(cured, id), check, words), as_found: "", read_then: "", healthy: "" };
}

function band({ low, high, over, answers }, check, words) {
  if (!check.errors) return Object.entries(answers).filter(([, c]) => c >= LIKELY).sort((a, b) => b[1] - a[1]).map(([name]) => name).join(", ");
  if (over > 0.5) return words.over;
  return outcome({ low, high }, check, words);
}

/** Readings that count: after a repair none that was taken as used with the machine open, moved or off. */
function weighedReadings({ checks, head }, { readings }) {
  return readings.filter((r) => checks.has(r.check) && !elsewhere(head.proof, r));
}

/** What asks for no state of its own tells of a machine that runs only when it runs. */
function elsewhere(proof, { check, stood }) {
  return !!proof && !!stood && check in proof.used && (stood.open || (proof.used[check] && stood.off));
}

const weighedBy = (pocket, asked) => weigh(pocket, weighedReadings(pocket, asked), asked.works ?? null);

/** An option as `tundish next --json` tells it. */
function optionFacts(option, { weighed, shown, words, leads }) {
  const { head, walk, checks } = weighed.pocket;
  const check = checks.get(option.kind === "check" ? option.what : "");
  const remedy = head.remedies.find((r) => r.name === option.what);
  const money = walk.money[shown.here * walk.number + option.at];
  const name = option.kind === "order" ? `order ${remedy.part}, return` : option.what;
  return {
    name, label: check ? `${check.id} ${check.title}` : name, kind: option.kind, check: check?.id || "", faults: remedy?.faults || [],
    where: check?.where || "", instrument: check?.instrument || "", how: check?.how || "", live: false,
    steps: way(walk, shown.here, option.at).map((s) => head.steps[s]),
    cautions: check?.cautions || remedy?.cautions || [],
    why: words.why, cost: option.own, minutes: (check || remedy)?.minutes + money / head.money.rate || 0,
    promise: option.promise, saves: 0,
    leads: check && leads ? leadsOf(weighed, shown, option, { check, words }) : [],
  };
}

function leadsOf(weighed, shown, option, { check, words }) {
  const { checks } = weighed.pocket;
  return lead(shown, weighed, option).filter((row) => row.chance >= 0.01).map((row) => {
    const next = checks.get(row.then);
    return { outcome: outcome(row, check, words), chance: row.chance, then: next ? `${next.id} ${next.title}` : words.then, causes: row.causes };
  });
}

function outcome({ answer, lacks, low, high }, check, words) {
  if (lacks) return NOT_THERE;
  if (answer) return answer;
  const [, factor, offset] = UNITS[check.unit] || ["", 1, 0];
  const number = (value) => (value >= check.errors.high ? words.over : `${rounded(value / factor - offset)} ${check.unit}`);
  if (low === null) return high === null ? words.any : `< ${number(high)}`;
  return high === null ? `≥ ${number(low)}` : `${number(low)} – ${number(high)}`;
}
