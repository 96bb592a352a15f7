"""How often a look names another answer than the true one, from the answers given in calls whose cause was proven.

A proven cause does not say what the look should have shown, but its simulated machines say how often each answer is true. So each
call has chances of the true answer, and the error rates are found by expectation and maximisation as in `looks`
(Dawid and Skene 1979, https://doi.org/10.2307/2346806 ), on top of the shipped ones. Proof is not certain: with the rest of its
chance the true answer is as in all proven calls together. Left out, that would pass for mistakes of the look.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from tundish.appliance.records import Check
from tundish.history.looks import Believed, Sightings, look_errors
from tundish.history.partial import SHIPPED
from tundish.history.posterior import Floats

# A true answer that no simulated machine of a cause shows may still be there; our choice.
EDGE = 1e-3


def learned_mistakes(
    check: Check, counts: Floats, truth: Floats, *, proof: Floats, worth: float = SHIPPED
) -> dict[str, dict[str, float]]:
    """True answer -> (answer named -> chance), as a description has it.

    counts : (n, k) calls by cause and answer named. truth : (n, k) chance of each true answer, rows summing to 1.
    proof : (n,) chance that the cause was this one. worth : calls of each true answer that the shipped mistakes count as.
    """
    seen, believed = sightings(check, counts, truth, proof=proof, worth=worth)
    names, k = [answer.name for answer in check.answers], len(check.answers)
    # A check that was not done at all names anything: that is counted beside the mistakes, not among them
    found = look_errors(seen, believed).rates[0]
    rates = np.clip((found - check.misdone / k) / (1 - check.misdone), 0.0, 1.0)
    rates /= rates.sum(axis=1, keepdims=True)
    return {
        true: {named: float(rates[i, j]) for j, named in enumerate(names) if j != i} for i, true in enumerate(names)
    }


def sightings(
    check: Check, counts: Floats, truth: Floats, *, proof: Floats, worth: float = SHIPPED
) -> tuple[Sightings, Believed]:
    """What was answered and what is believed beforehand, for `look_errors` and `rate_intervals`; arguments as above."""
    names, k = [answer.name for answer in check.answers], len(check.answers)
    mixed = (1 - check.misdone) * answer_chances(check.mistakes, names) + check.misdone / k
    rows, answers = np.nonzero(counts)
    whole = counts.sum(axis=1) @ truth / max(counts.sum(), 1.0)
    likely = proof[:, None] * truth + (1 - proof[:, None]) * whole
    proven = ((1 - EDGE) * likely + EDGE / k)[rows]
    # The truth of each cause is given; the looks must not bend it to their own shares
    believed = Believed(worth * mixed[None], np.full((1, k), 1 / k))
    return Sightings(np.eye(k)[answers][:, None, :], times=counts[rows, answers], proven=proven), believed


def answer_chances(mistakes: Mapping[str, Mapping[str, float]], names: list[str]) -> Floats:
    """(k, k) chance of each answer by true one, rows summing to 1.

    >>> answer_chances({"wet": {"dry": 0.1}}, ["wet", "dry"]).tolist()
    [[0.9, 0.1], [0.0, 1.0]]
    """
    table = np.array([[mistakes.get(true, {}).get(named, 0.0) for named in names] for true in names])
    np.fill_diagonal(table, 0.0)
    return np.asarray(table + np.diag(1 - table.sum(axis=1)))
