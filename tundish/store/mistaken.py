"""Mistakes of looks learned from proven calls: what a look should have shown comes from the simulated machines of the cause."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from tundish.appliance.records import Check, Description
from tundish.history.cells import Row
from tundish.history.counted import Mistakes
from tundish.history.mistakes import learned_mistakes
from tundish.history.posterior import Floats
from tundish.population.build import Population, world
from tundish.store.learning import Mistaken
from tundish.store.shelf import population_for
from tundish.store.taught import described

# Calls by answer named, chance of each true answer, chance that the cause was this one.
Pair = tuple[Floats, Floats, float]


def mistaken_in(folder: Path, size: int) -> Mistaken:
    """Learns mistakes with the populations kept in a folder. size : of a population."""

    def mistaken(description: Description, looks: Sequence[Row]) -> Mistakes:
        # The machines that the calls' odds were made with are on the shelf already
        simulated = described(description.family)[0]
        by_page: dict[tuple[str, str], list[Row]] = defaultdict(list)
        for row in looks:
            if row["complaint"] in simulated.complaints and row["market"] in simulated.markets:
                by_page[row["market"], row["complaint"]].append(row)
        held: dict[str, list[Pair]] = defaultdict(list)
        for (market, complaint), rows in sorted(by_page.items()):
            population = population_for(world(simulated, market), complaint, folder, size=size)
            for check, pair in _pairs(description, population, rows):
                held[check].append(pair)
        return {
            check: learned_mistakes(
                description.checks[check],
                np.array([counts for counts, _, _ in pairs]),
                np.array([truth for _, truth, _ in pairs]),
                proof=np.array([proof for _, _, proof in pairs]),
            )
            for check, pairs in sorted(held.items())
        }

    return mistaken


def _pairs(description: Description, population: Population, rows: Sequence[Row]) -> list[tuple[str, Pair]]:
    """What each look answered, by cause."""
    counts: dict[tuple[str, str], Floats] = {}
    proofs: dict[tuple[str, str], float] = defaultdict(float)
    for row in sorted(rows, key=lambda row: (row["check"], row["proven"], row["answer"])):
        check = description.checks.get(row["check"])
        names = [answer.name for answer in check.answers] if check else []
        # A look of which the description is certain can only be mended there
        if check and row["answer"] in names and _errs(check):
            held = counts.setdefault((row["check"], row["proven"]), np.zeros(len(names)))
            held[names.index(row["answer"])] += row["calls"]
            proofs[row["check"], row["proven"]] += row["proof"]
    found = []
    for (name, cause), held in counts.items():
        truth = truth_of(population, cause, name, len(held))
        if truth is not None:
            found.append((name, (held, truth, proofs[name, cause] / held.sum())))
    return found


def truth_of(population: Population, cause: str, check: str, answers: int) -> Floats | None:
    """(k,) how often each answer is true on machines with this cause alone; None when there are none."""
    which = [place for place, one in enumerate(population.hypotheses) if one.roots == (cause,)]
    mine = np.isin(population.stratum, which)
    if not mine.any():
        return None
    shown = population.row(check)[mine].astype(int)
    return np.asarray(np.bincount(np.clip(shown, 0, answers - 1), minlength=answers) / len(shown))


def _errs(check: Check) -> bool:
    return check.misdone > 0 or all(sum(wrong.values()) > 0 for wrong in check.mistakes.values())
