"""What age and circumstances do to the shares, learned: observed calls against expected ones, drawn towards what shipped.

In a group of calls (an age band, or those told a circumstance) a cause was seen O times where base shares and shipped factors
expect E. O ~ Poisson(f E), f ~ Gamma(a, a): a factor f on top of the shipped one is expected at (a + O) / (a + E). a is one number
for all groups and causes of a family and is learned: where shipped factors fit, it rises. As for relative risks of districts:
Clayton and Kaldor 1987, https://doi.org/10.2307/2532003 . One factor in ten is taken to have a broad prior of its own, so that one
that differs much is not drawn in by many that fit. Base shares and factors are found in turn.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import gammaln

from tundish.appliance.records import Circumstance, Description
from tundish.history.cells import AGES, Counted
from tundish.history.posterior import Floats, normalised
from tundish.history.tilted import base_shares

# Calls that a shipped factor counts as, and the factor within which that holds for two of three families: our choice.
WORTH, WORTH_FACTOR, CELLS = 20.0, 3.0, 61
# Share of factors that may be far off, and the calls that the shipped one counts as then: our choice.
STRANGE, BROAD = 0.1, 2.0
# Base shares and factors in turn, so often: twenty rounds more would move a factor of 3 by less than 0.2 %.
ROUNDS = 40
Times = Mapping[str, Mapping[str, float]]


@dataclass(frozen=True)
class Tilts:
    """times : group -> cause -> factor on top of the shipped one. counted : the counts with these factors in their cells."""

    times: Times
    counted: Mapping[str, Counted]


def learned_tilts(counted: Mapping[str, Counted], description: Description, worth: float) -> Tilts:
    """Factors of age bands and circumstances of a family.

    worth : calls that the shipped shares count as. Bands bear on every cause, a circumstance only on those its description names.
    """
    groups = _groups(counted, description)
    times = {group: dict.fromkeys(causes, 1.0) for group, causes in groups.items()}
    now = dict(counted)
    for _ in range(ROUNDS if groups else 0):
        base = {name: _base(one, description, name, worth) for name, one in now.items()}
        for some in _kinds(groups):
            sums = {group: _against(now, base, group, times[group]) for group in some}
            for group, fresh in _factors(sums, groups, some).items():
                now = {name: _moved(one, group, fresh, times[group]) for name, one in now.items()}
                times[group] = fresh
    # A band no call fell into keeps what shipped
    return Tilts({group: held for group, held in times.items() if held}, now)


def factors(observed: Floats, expected: Floats) -> Floats:
    """(n,) factors from observed and expected counts, each (n,), drawn towards 1 as far as all of them agree with 1.

    >>> factors(np.array([100.0, 52.0, 47.0]), np.array([50.0, 50.0, 50.0])).round(2).tolist()
    [1.91, 1.03, 0.96]
    """
    z = np.linspace(-4, 4, CELLS)
    a = WORTH * WORTH_FACTOR ** z[:, None]
    near, far = (_log_chance(observed, expected, one) for one in (a, np.full((1, 1), BROAD)))
    whole = np.logaddexp(np.log1p(-STRANGE) + near, np.log(STRANGE) + far)
    chance = normalised(whole.sum(axis=1) - 0.5 * z**2)
    # Chance that a factor is one of those far off, for every a
    strange = np.exp(np.log(STRANGE) + far - whole)
    mean = (1 - strange) * (a + observed) / (a + expected) + strange * (BROAD + observed) / (BROAD + expected)
    return np.asarray(chance @ mean)


def _log_chance(observed: Floats, expected: Floats, a: Floats) -> Floats:
    """The negative binomial, without what does not depend on a."""
    return np.asarray(gammaln(a + observed) - gammaln(a) + a * np.log(a) - (a + observed) * np.log(a + expected))


def tilted(description: Description, times: Times) -> dict[str, Circumstance]:
    """The circumstances of a description with learned factors, and a circumstance for each age band that was learned of."""
    found = {
        name: replace(one, times={**one.times, **{c: one.times[c] * f for c, f in times.get(name, {}).items()}})
        for name, one in description.circumstances.items()
    }
    for name, low, high in AGES:
        if name in times:
            # Asked for by the machine's age, so nobody is asked; the lower bound belongs to the band
            above = None if low is None else math.nextafter(low, -math.inf)
            found[name] = Circumstance(name, "", dict(times[name]), above, high)
    return found


def _groups(counted: Mapping[str, Counted], description: Description) -> dict[str, tuple[str, ...]]:
    """Group -> causes it may bear on, of groups that some call fell into."""
    there = {group for one in counted.values() for cell in one.groups for group in cell}
    causes = dict.fromkeys(cause for one in counted.values() for cause in one.causes)
    bands = {name: tuple(causes) for name, _, _ in AGES if name in there}
    told = {
        name: tuple(cause for cause in one.times if cause in causes)
        for name, one in description.circumstances.items()
        if name in there
    }
    return bands | {name: bears_on for name, bears_on in told.items() if bears_on}


def _kinds(groups: Mapping[str, object]) -> Iterator[tuple[str, ...]]:
    """Groups that no call shares, together: the bands; then each circumstance by itself."""
    bands = {name for name, _, _ in AGES}
    yield tuple(group for group in groups if group in bands)
    yield from ((group,) for group in groups if group not in bands)


def _base(one: Counted, description: Description, complaint: str, worth: float) -> Floats:
    share = np.array([description.complaints[complaint].shares[cause] for cause in one.causes])
    return base_shares(one.counts, one.factors, worth * share / share.sum())


def _against(
    counted: Mapping[str, Counted], base: Mapping[str, Floats], group: str, times: Mapping[str, float]
) -> dict[str, tuple[float, float]]:
    """Cause -> calls observed in a group, and expected if its factor were 1."""
    sums = dict.fromkeys(times, (0.0, 0.0))
    for name, one in counted.items():
        mine = np.array([group in cell for cell in one.groups])
        if not mine.any():
            continue
        counts, weight = one.counts[mine], one.factors[mine] * base[name]
        expected = counts.sum(axis=1) @ (weight / weight.sum(axis=1, keepdims=True))
        for place, cause in enumerate(one.causes):
            # A circumstance bears on few causes; the others stay as they were
            if cause in sums:
                seen, before = sums[cause]
                sums[cause] = (seen + float(counts[:, place].sum()), before + float(expected[place]) / times[cause])
    return sums


def _factors(
    sums: Mapping[str, Mapping[str, tuple[float, float]]], groups: Mapping[str, Sequence[str]], some: Sequence[str]
) -> dict[str, dict[str, float]]:
    places = [(group, cause) for group in some for cause in groups[group]]
    if not places:
        return {}
    observed, expected = np.array([sums[group][cause] for group, cause in places]).T
    fresh = factors(observed, expected).tolist()
    return {
        group: {cause: factor for (which, cause), factor in zip(places, fresh, strict=True) if which == group} for group in some
    }


def _moved(one: Counted, group: str, fresh: Mapping[str, float], old: Mapping[str, float]) -> Counted:
    """The counts of a complaint with a group's factors in the place of its old ones."""
    ratio = np.array([fresh.get(cause, 1.0) / old.get(cause, 1.0) for cause in one.causes])
    mine = np.array([group in cell for cell in one.groups])
    return replace(one, factors=np.where(mine[:, None], one.factors * ratio, one.factors))
