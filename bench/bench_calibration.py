"""10,000 simulated calls a row, of every family: are the stated odds honest?

Thresholds at n = 10,000: |z_top| < 3, |z| < 3.5 for every hypothesis, ECE below what honest odds show by chance, no truth
at 0, ranks p > 0.001 after Bonferroni.
"""

from __future__ import annotations

from typing import Any

from bench.calibration import honesty
from tundish.population.build import build, world
from tundish.population.hypotheses import priors, shares
from tundish.store.library import load

CALLS_OF = (
    ("front-load washer", "EU", "SLOW"), ("front-load washer", "EU", "NOFILL"), ("front-load washer", "EU", "TRIP"),
    ("top-load washer", "NA", "NOFILL"), ("dishwasher", "EU", "NOHEAT"), ("dryer", "NA", "NOHEAT240"),
    ("oven and hob", "EU", "NOHEAT"), ("refrigerator-freezer", "NA", "FRIDGEWARM"),
)  # fmt: skip
CALLS, MACHINES, TAKEN = 10_000, 60_000, 3


def run() -> list[dict[str, Any]]:
    """One row a family, market and complaint."""
    return [_row(*call) for call in CALLS_OF]


def _row(family: str, market: str, complaint: str) -> dict[str, Any]:
    place = world(load(family), market)
    record = place.description.complaints[complaint]
    ours, truth = (build(place, complaint, MACHINES, seed) for seed in (1, 2))
    prior = priors(ours.hypotheses, record, shares(place.description, record, None, ()))
    checks = place.description.checks
    watched = [c.id for c in checks.values() if c.instrument is not None][:3]
    found = honesty(ours, truth, prior, checks, n=CALLS, taken=TAKEN, seed=3, watched=watched)
    return {
        "family": family, "complaint": complaint, "z top": round(found.z_top, 2), "worst z": round(found.z_worst, 2),
        "ECE": round(found.ece, 4), "honest ECE under": round(found.ece_limit, 4), "log score": round(found.score, 4),
        "hit": round(found.hit, 3), "stated": round(found.stated, 3), "truth at 0": found.zero,
        "cover 50/80/95": "/".join(f"{c:.3f}" for c in found.coverage), "least rank p": round(min(found.ranks.values()), 4),
    }  # fmt: skip
