"""An alarm for odds that stop being honest, looked at after every call without paying for looking often.

Each call multiplies a stake by q(hit)/p(hit): p the stated odds, q the same tilted by d on the logit scale. Under honest odds the
stake is a fair game, so the chance that it ever reaches 1/a is at most a (Ville 1939; Waudby-Smith and Ramdas 2024,
https://doi.org/10.1093/jrsssb/qkad009 ). Several tilts share the stake, up and down. Odds that are honest for years and then slip
would find the stake spent; so the alarm adds a fresh stake with every call (Shiryaev and Roberts' rule), and then raises a false
alarm once in 1/a calls at most, on average (Shin, Ramdas and Rinaldo 2024, https://doi.org/10.51387/23-NEJSDS51 , from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import expit, logit

from tundish.history.errors import HistoryError
from tundish.history.posterior import Floats

# Tilts of the logit: from a little off to far off, both ways; our choice.
TILTS = np.array([-2.0, -1.0, -0.5, -0.25, 0.25, 0.5, 1.0, 2.0])
# Stated odds nearer to 0 or 1 than this are taken as this; a surprise then costs much and not everything.
EDGE = 1e-6
# Honest calls to a false alarm, on average: about two years of a busy shop. Our choice.
CALLS_TO_FALSE_ALARM = 2000.0


def evidence(stated: Floats, hit: Floats) -> Floats:
    """(n,) the stake after each call, begun at 1. Reaching 20 has a chance of 1/20 at most while the odds are honest.

    stated : (n,) odds in the order of the calls. hit : (n,) whether they came true.

    >>> float(evidence(np.full(60, 0.9), np.zeros(60))[-1]) > 1e6
    True
    """
    return np.asarray(np.exp(np.cumsum(_log_ratio(stated, hit), axis=0)).mean(axis=1))


@dataclass(frozen=True)
class Drift:
    """How it went. level : (n,) of the alarm after each call. at : first call at or above the limit, None when none was.

    tilt : the one that fits best at the end, on the logit scale; below 0 the odds say too much.
    """

    level: Floats
    at: int | None
    tilt: float


def drift(stated: Floats, hit: Floats, limit: float = CALLS_TO_FALSE_ALARM) -> Drift:
    """The alarm. limit : honest calls to a false alarm, at least, on average.

    >>> honest_then_not = np.concatenate([np.arange(200) % 10 != 0, np.arange(60) % 2 == 0])
    >>> 200 < (drift(np.full(260, 0.9), honest_then_not).at or 0) < 240
    True
    """
    # The sum of all stakes ever given grows by one a call while odds are honest, and no faster: that is the promise
    ratio = np.exp(_log_ratio(stated, hit))
    stakes, level = np.zeros(len(TILTS)), np.zeros(len(ratio))
    for call, one in enumerate(ratio):
        stakes = (stakes + 1) * one
        level[call] = stakes.mean()
    # After the alarm the level is still told, so that a picture shows how it went on
    over = np.flatnonzero(level >= limit)
    return Drift(level, int(over[0]) if len(over) else None, float(TILTS[stakes.argmax()]))


def _log_ratio(stated: Floats, hit: Floats) -> Floats:
    """(n, t) log of q(hit)/p(hit) for every tilt."""
    stated, right = np.asarray(stated, float), np.asarray(hit, bool)
    if stated.shape != right.shape or not ((stated >= 0) & (stated <= 1)).all():
        raise HistoryError(
            seen=f"{stated.size} stated odds and {right.size} outcomes",
            allowed="one outcome for each, odds from 0 to 1",
            do="give proven calls only, in the order of their ending",
        )
    # The tilt is fixed beforehand, so the game is fair whatever the odds of the next call
    p = np.clip(stated, EDGE, 1 - EDGE)[:, None]
    q = expit(logit(p) + TILTS)
    return np.asarray(np.where(right[:, None], np.log(q / p), np.log((1 - q) / (1 - p))))
