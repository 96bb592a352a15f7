"""A trial as plain facts: every way's figures with their intervals, and what ours costs of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from tundish.plan.shop import Shop
from tundish.plan.trial import Result, Trial

Facts = dict[str, Any]
NOTE = (
    "Simulated calls: the same machines and readings for every way, machines other than those the odds come from. "
    "Costs are parts, minutes, second trips, callbacks and what giving up costs; the call-out is the same for all and left out."
)


def trial_facts(family: str, market: str, shop: Shop, found: Sequence[Trial]) -> Facts:
    """The facts of trials of one family."""
    return {
        "family": family,
        "market": market,
        "currency": shop.currency,
        "trials": [_trial(t) for t in found],
        "note": NOTE,
    }


def _trial(found: Trial) -> Facts:
    return {
        "complaint": found.complaint,
        "calls": found.calls,
        "ways": [_way(found, r) for r in found.results],
    }


def _way(found: Trial, result: Result) -> Facts:
    saved = found.saved.get(result.way)
    figures = ("cost", "minutes", "checks", "wrong", "first_visit")
    return {
        "way": result.way,
        **{name: asdict(getattr(result, name)) for name in figures},
        "saved": None if saved is None else asdict(saved),
        "ratio": found.ratio.get(result.way),
    }
