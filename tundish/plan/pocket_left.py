"""What a pocket holds of a machine as a repair left it: enough to judge the repair without a server."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tundish.diagnosis.odds import Cloud
from tundish.plan.change import Floats
from tundish.plan.troubling import Bools


@dataclass(frozen=True, eq=False)
class Left:
    """A repair that was made or is about to be.

    repaired : its faults. works : (m,) chance that each machine works at a test. troubled : (m,) whether a cause is left that
    counts. limit : chance of one that still counts as proven. at_repair : that chance right after it. showing : checks as used
    that would have shown the faults. wanted : those to be read, best first. settle : checks beside them that tell whether a
    second cause is there.
    """

    repaired: tuple[str, ...]
    works: Floats
    troubled: Bools
    limit: float
    at_repair: float
    showing: tuple[str, ...]
    wanted: tuple[str, ...]
    settle: tuple[str, ...]


def chance_to_work(left: Cloud, passed: Cloud) -> Floats:
    """(m,) chance that each machine works at a test, from the cloud without one and the same with a test that was passed."""
    with np.errstate(invalid="ignore"):
        chance = np.exp(passed.log_weight - left.log_weight)
    return np.asarray(np.clip(np.nan_to_num(chance), 0.0, 1.0))
