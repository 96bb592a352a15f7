"""What learning changed, how honest the odds were and how the week went, as plain facts; the command line prints these."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from tundish.appliance.records import Description
from tundish.history.cells import Row
from tundish.history.counted import banded, blamed, z_of
from tundish.history.counting import per_unit, wilson
from tundish.history.drift import CALLS_TO_FALSE_ALARM, drift
from tundish.history.honesty import Blame
from tundish.history.learned import Learned, Taught
from tundish.history.week import Figure

Facts = dict[str, Any]
# A z beyond this is unlikely in honest odds: two-sided 5 %.
FAR = 1.959964
# A check or family is named a liar when chance explains its z this seldom, all groups together. Common practice.
LIES = 0.05
# A factor nearer to 1 than this is not worth a line.
LEAST_TILT = 0.05
# Shares and rates of the weeks: what is counted, of what.
TRENDS = (
    ("first-visit fix", "first_visit", "repaired"),
    ("callbacks in 30 days", "called_back", "ripe"),
    ("no fault found", "nothing", "visited"),
    ("quotes refused", "refused_calls", "quoted_calls"),
    ("first named cause proven", "right", "known"),
)


def learned_facts(learned: Learned, shipped: Mapping[str, Description]) -> Facts:
    """What moved and how far, the farthest first."""
    known = learned.provenance
    return {
        "name": learned.name,
        "calls": known.calls,
        "first": known.first,
        "last": known.last,
        "shops": known.shops,
        "made": known.made,
        "families": [_family(shipped[name], one) for name, one in sorted(learned.families.items()) if name in shipped],
    }


def _family(description: Description, taught: Taught) -> Facts:
    faults = description.faults
    return {
        "family": description.family,
        "worth": taught.worth,
        "shares": _farthest(_share_moves(description, taught)),
        "cures": _farthest(
            {"cause": id, "title": faults[id].title, "before": faults[id].cure, "after": cure}
            for id, cure in taught.cures.items()
        ),
        "minutes": [
            {"cause": id, "title": faults[id].title, "before": list(faults[id].minutes), "after": [low, high]}
            for id, (low, high) in sorted(taught.minutes.items())
        ],
        "prices": [
            {
                "cause": id, "title": faults[id].title, "currency": currency,
                "before": list(faults[id].price[currency]), "after": [low, high],
            }
            for currency, prices in sorted(taught.prices.items())
            for id, (low, high) in sorted(prices.items())
        ],
        "tilts": _tilts(description, taught),
        "words": [
            {"complaint": name, "words": len(taught.words.get(name, {})), "calls": calls} for name, calls in sorted(taught.said.items())
        ],
        "mistakes": _farthest(_mistake_moves(description, taught)),
        "unlisted": [
            {"complaint": name, "cause": cause, "calls": calls}
            for name, held in sorted(taught.unlisted.items())
            for cause, calls in sorted(held.items())
        ],
    }


def _tilts(description: Description, taught: Taught) -> list[Facts]:
    """What age bands and circumstances do beside what shipped, the farthest first."""
    found = [
        {"group": group, "cause": cause, "title": description.faults[cause].title, "times": times}
        for group, held in sorted(taught.tilts.items())
        for cause, times in held.items()
        if abs(times - 1) >= LEAST_TILT
    ]
    return sorted(found, key=lambda move: -abs(np.log(move["times"])))


def _share_moves(description: Description, taught: Taught) -> Iterable[Facts]:
    for name, shares in sorted(taught.shares.items()):
        before = description.complaints[name].shares
        whole = sum(before.values())
        for cause, share in shares.items():
            yield {
                "complaint": name, "cause": cause, "title": description.faults[cause].title,
                "before": before[cause] / whole, "after": share, "calls": taught.calls.get(name, 0.0),
            }  # fmt: skip


def _mistake_moves(description: Description, taught: Taught) -> Iterable[Facts]:
    for check, table in sorted(taught.mistakes.items()):
        before = description.checks[check].mistakes
        for truth, named in table.items():
            for answer, chance in named.items():
                was = before.get(truth, {}).get(answer, 0.0)
                yield {"check": check, "truth": truth, "answer": answer, "before": was, "after": chance}


def _farthest(moves: Iterable[Facts]) -> list[Facts]:
    return sorted(moves, key=lambda move: -abs(move["after"] - move["before"]))


def honesty_facts(asked: Callable[[str], Sequence[Row]]) -> Facts:
    """Stated odds against what was proven. asked : gives the rows of `bands`, `family`, `check`, `cause`, `said` in `history.asked`."""
    said = asked("said")
    whole = {
        "right": sum(row["hit"] for row in said),
        "odds": sum(row["odds"] for row in said),
        "variance": sum(row["odds"] * (1 - row["odds"]) for row in said),
    }
    z = z_of(whole)
    return {
        "calls": len(said), "right": whole["right"], "expected": whole["odds"], "z": z, "says": _verdict(z, len(said)),
        "bands": [
            {
                "from": band.bounds[0], "to": band.bounds[1], "calls": band.calls, "stated": band.stated,
                "found": band.found, "low": band.low, "high": band.high,
            }
            for band in banded(asked("bands"))
        ],
        "families": [_blame(one) for one in blamed(asked("family"), "family")],
        "checks": [_blame(one) for one in blamed(asked("check"), "check")],
        "causes": [
            {"family": row["family"], "cause": row["cause"], "said": row["odds"], "found": row["right"], "z": z_of(row)}
            for row in sorted(asked("cause"), key=lambda row: (-abs(z_of(row)), row["cause"]))
        ],
        "alarm": _alarm(said),
    }  # fmt: skip


def _verdict(z: float, calls: int) -> str:
    if not calls:
        return "no call has both stated odds and a proven cause yet"
    if abs(z) < FAR:
        return "what was found agrees with what was said"
    return "fewer were right than was said" if z < 0 else "more were right than was said"


def _blame(one: Blame) -> Facts:
    return {"name": one.group, "calls": one.calls, "z": one.z, "chance": one.chance, "lies": one.chance < LIES}


def _alarm(said: Sequence[Row]) -> Facts:
    """The alarm of drifting odds, call by call."""
    if not said:
        return {"rings": False, "at": None, "level": 0.0, "limit": CALLS_TO_FALSE_ALARM}
    went = drift(np.array([row["odds"] for row in said]), np.array([row["hit"] for row in said], float))
    return {
        "rings": bool(went.level[-1] >= CALLS_TO_FALSE_ALARM),
        "at": None if went.at is None else said[went.at]["call"],
        "level": float(went.level[-1]),
        "limit": CALLS_TO_FALSE_ALARM,
    }


def week_facts(figures: Sequence[tuple[str, Sequence[Figure]]], rows: Sequence[Row], since: str, until: str) -> Facts:
    """The figures of each currency, and the weeks before it. rows : of `asked.weeks`."""
    return {
        "since": since,
        "until": until,
        "figures": [{"currency": currency, **_figure(one)} for currency, some in figures for one in some],
        "weeks": [week for row in sorted(rows, key=lambda row: row["week"]) for week in _trends(row)],
    }


def _figure(one: Figure) -> Facts:
    healthy = list(one.healthy) if one.healthy else None
    return {
        "name": one.name, "value": one.value, "low": one.low, "high": one.high, "calls": one.calls, "unit": one.unit,
        "healthy": healthy,
    }  # fmt: skip


def _trends(row: Row) -> Iterable[Facts]:
    for name, part, whole in TRENDS:
        if row[whole]:
            low, high = wilson(row[part], row[whole])
            yield {"week": row["week"], "name": name, "value": row[part] / row[whole], "low": low, "high": high, "calls": row[whole]}
    low, high = per_unit(row["calls"], row["days"])
    yield {"week": row["week"], "name": "calls a day", "value": row["calls"] / row["days"], "low": low, "high": high, "calls": row["calls"]}
