"""Which faults a machine may have, and how often, before any reading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from tundish.appliance.records import Circumstance, Complaint, Description, Fault
from tundish.population.layout import ROOT_SLOTS, SLOTS

# Share of calls in which nothing is wrong, for a complaint whose table has no such row: our choice, to be learned from calls.
NOTHING_WRONG = 0.01
# Pairs of roots are kept until they hold this much of all pairs' chance; the rest is spread over those kept.
PAIR_MASS = 0.98
# Age rule for shares (common practice, no source): under 2 years wear faults count x0.3, other people's doings x2.
YOUNG, YOUNG_WEAR, YOUNG_OTHER = 2.0, 0.3, 2.0
# Wear before a fault's usual years is rarer: x0.5, our choice, wide on purpose.
BEFORE_USUAL_YEARS = 0.5

NOTHING = "nothing wrong"
UNDESCRIBED = "something not described"


@dataclass(frozen=True)
class Hypothesis:
    """One way a machine may be.

    kind : normal (nothing wrong), root, two, or undescribed.
    roots : fault ids, none for `undescribed` and for a plain healthy machine.
    """

    kind: str
    roots: tuple[str, ...]

    @property
    def name(self) -> str:
        """Ids joined, or the words for no fault and for an unknown one."""
        if self.kind == "undescribed":
            return UNDESCRIBED
        return " + ".join(self.roots) or NOTHING


def hypotheses(description: Description, complaint: Complaint) -> tuple[Hypothesis, ...]:
    """Every hypothesis of a complaint, `something not described` last.

    Pairs are the likeliest ones by shares, until `PAIR_MASS` of all pairs' chance is held.
    """
    listed = [description.faults[f] for f in complaint.shares if complaint.shares[f] > 0]
    singles = [Hypothesis("normal" if f.kind == "normal" else "root", (f.id,)) for f in listed]
    # Nothing wrong is always possible, also where the trade's table has no row for it.
    if not any(h.kind == "normal" for h in singles):
        singles.append(Hypothesis("normal", ()))
    pairs = _likely_pairs(complaint, [f for f in listed if f.kind != "normal"])
    return (*singles, *pairs, Hypothesis("undescribed", ()))


def _likely_pairs(complaint: Complaint, faults: Sequence[Fault]) -> list[Hypothesis]:
    if complaint.two <= 0:
        return []
    chance = {
        (a.id, b.id): complaint.shares[a.id] * complaint.shares[b.id] for a, b in combinations(faults, 2)
    }
    total, held, kept = sum(chance.values()), 0.0, []
    for pair, share in sorted(chance.items(), key=lambda item: (-item[1], item[0])):
        # The many unlikely pairs cost more machines than they are worth; their chance goes to the likely
        # ones.
        if held >= PAIR_MASS * total:
            break
        held += share
        kept.append(Hypothesis("two", pair))
    return kept


def shares(
    description: Description, complaint: Complaint, age: float | None, told: Sequence[str]
) -> dict[str, float]:
    """Shares of a complaint's faults after the machine's age and the circumstances told; they sum to 1.

    age : years, or None when unknown.
    told : names of circumstances.
    Raises KeyError for an unknown circumstance; callers check names first.
    """
    weight = {f: s * _age_factor(description.faults[f], age) for f, s in complaint.shares.items()}
    for circumstance in _applying(description, age, told):
        weight = {f: w * circumstance.times.get(f, 1.0) for f, w in weight.items()}
    # Renormalised last, as the trade does: multiply by every answer, then make the shares sum to one again.
    total = sum(weight.values())
    return {f: w / total for f, w in weight.items()}


def _age_factor(fault: Fault, age: float | None) -> float:
    if age is None or fault.kind == "normal":
        return 1.0
    if age < YOUNG:
        return YOUNG_WEAR if fault.kind == "wear" else YOUNG_OTHER
    return BEFORE_USUAL_YEARS if fault.age and age < fault.age[0] else 1.0


def _applying(description: Description, age: float | None, told: Sequence[str]) -> list[Circumstance]:
    # An answer told twice is still one answer.
    by_age = [c for c in description.circumstances.values() if _of_age(c, age)]
    return by_age + [description.circumstances[name] for name in dict.fromkeys(told)]


def _of_age(circumstance: Circumstance, age: float | None) -> bool:
    low, high = circumstance.age_above, circumstance.age_below
    if age is None or (low is None and high is None):
        return False
    return (low is None or age > low) and (high is None or age < high)


def priors(kept: Sequence[Hypothesis], complaint: Complaint, share: dict[str, float]) -> list[float]:
    """The chance of each hypothesis before any reading; they sum to 1.

    kept : the hypotheses of which machines exist; chance of pairs that cannot show the complaint goes to the pairs that can.
    share : shares of single faults, summing to 1.
    """
    # When no pair can show the complaint, its chance goes back to single causes.
    two = complaint.two if any(h.kind == "two" for h in kept) else 0.0
    known = 1.0 - complaint.undescribed
    plain = NOTHING_WRONG if any(h.kind == "normal" and not h.roots for h in kept) else 0.0
    one = [_single(h, share) for h in kept]
    both = [share[h.roots[0]] * share[h.roots[1]] if h.kind == "two" else 0.0 for h in kept]
    scale_one = known * (1.0 - two) * (1.0 - plain) / (sum(one) or 1.0)
    scale_two = known * two * (1.0 - plain) / (sum(both) or 1.0)
    chance = [scale_one * a + scale_two * b for a, b in zip(one, both, strict=True)]
    for index, h in enumerate(kept):
        if h.kind == "undescribed":
            chance[index] = complaint.undescribed
        elif h.kind == "normal" and not h.roots:
            chance[index] = known * plain
    return chance


def _single(hypothesis: Hypothesis, share: dict[str, float]) -> float:
    return share[hypothesis.roots[0]] if len(hypothesis.roots) == 1 else 0.0


def slots(description: Description, hypothesis: Hypothesis) -> tuple[tuple[str, float], ...]:
    """The faults of a hypothesis by slot, each with the chance that it has come: roots 1, consequences as dragged.

    >>> ROOT_SLOTS, SLOTS
    (2, 4)
    """
    roots = [(r, 1.0) for r in hypothesis.roots]
    roots += [("", 0.0)] * (ROOT_SLOTS - len(roots))
    dragged = [
        item
        for r in hypothesis.roots
        for item in description.faults[r].drags.items()
        if item[0] not in hypothesis.roots
    ]
    dragged = dragged[: SLOTS - ROOT_SLOTS] + [("", 0.0)] * max(0, SLOTS - ROOT_SLOTS - len(dragged))
    return (*roots, *dragged)
