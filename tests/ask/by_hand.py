"""Tables small enough to be worked through on paper."""

from __future__ import annotations

from functools import cache

import numpy as np

from tundish.appliance.records import Description, Question, Reply
from tundish.ask.tariff import Bills
from tundish.plan.candidates import Trying
from tundish.store.library import load


@cache
def described(family: str) -> Description:
    """A family that ships, read once."""
    return load(family)


def bills_at(*money: float, away: tuple[float, ...] = ()) -> Bills:
    """Bills of one value each, something not described last."""
    each = np.array(money)
    return Bills(each, each, np.array(away) if away else np.zeros(len(each)))


def asks(id: str, *names: str, seconds: float = 10.0, lost_trip: float = 0.0) -> Question:
    """A question with these answers, which stand for nothing."""
    return Question(id, f"{id}?", seconds, tuple(Reply(n) for n in names), "TOY", lost_trip=lost_trip)


# Two causes and one remedy for each, money 100 and 300; giving up costs 1000. The last column is something not described.
TWO = Trying(np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]), np.array([100.0, 300.0]), 1000.0)
EVEN = np.array([0.5, 0.5, 0.0])
SURE = np.array([[1.0, 0.0, 0.5], [0.0, 1.0, 0.5]])
USELESS = np.array([[0.3, 0.3, 0.3], [0.7, 0.7, 0.7]])
