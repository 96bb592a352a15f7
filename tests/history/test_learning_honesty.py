"""Honest odds pass, dishonest ones are found, the alarm keeps its promise on false alarms."""

from __future__ import annotations

import numpy as np
import pytest

from tundish.history.drift import drift, evidence
from tundish.history.errors import HistoryError
from tundish.history.honesty import bands, blame, z_of_causes, z_of_hits


def stated_odds(rng: np.random.Generator, n: int) -> np.ndarray:
    """Odds as a diagnosis states them, mostly high."""
    return rng.beta(4, 1.5, n)


def test_z_of_honest_odds_is_standard_normal() -> None:
    rng = np.random.default_rng(1)
    z = np.array([z_of_hits(odds := stated_odds(rng, 200), rng.random(200) < odds) for _ in range(2000)])
    assert abs(z.mean()) < 3.3 / 2000**0.5
    assert z.std() == pytest.approx(1, abs=3.3 / 4000**0.5)


def test_odds_that_say_too_much_are_found() -> None:
    rng = np.random.default_rng(2)
    odds = stated_odds(rng, 2000)
    assert z_of_hits(odds, rng.random(2000) < odds - 0.1 * odds) < -5


def test_causes_one_by_one() -> None:
    rng = np.random.default_rng(3)
    odds = rng.dirichlet([3, 2, 1, 0.5], 4000)
    honest = np.array([rng.choice(4, p=row) for row in odds])
    assert np.abs(z_of_causes(odds, honest)).max() < 3.5
    # The rare cause comes twice as often as said, at the cost of the first
    tilted = odds * [1, 1, 1, 2]
    liar = np.array([rng.choice(4, p=row / row.sum()) for row in tilted])
    assert z_of_causes(odds, liar)[3] > 8
    assert z_of_causes(np.tile([1.0, 0.0], (5, 1)), np.zeros(5, int)).tolist() == [0, 0]


def test_bands_hold_what_they_say() -> None:
    stated = np.array([0.05, 0.65, 0.65, 0.95, 1.0])
    found = bands(stated, np.array([False, True, False, True, True]))
    assert [(band.bounds, band.calls, band.found) for band in found] == [
        ((0.0, 0.2), 1, 0.0), ((0.6, 0.7), 2, 0.5), ((0.9, 1.0), 2, 1.0)
    ]  # fmt: skip
    assert found[1].stated == pytest.approx(0.65)
    assert all(band.low <= band.found <= band.high for band in found)


def test_the_lying_check_is_blamed_and_no_other() -> None:
    rng = np.random.default_rng(4)
    names = [f"C{n:02d}" for n in range(10)]
    worst, others = [], 0
    for _ in range(50):
        odds, member = stated_odds(rng, 1500), rng.random((1500, 10)) < 0.15
        hit = rng.random(1500) < np.where(member[:, 3], 0.65 * odds, odds)
        found = blame(odds, hit, names, member=member)
        worst.append(found[0].group)
        others += sum(one.chance < 0.001 for one in found[1:])
    assert worst.count("C03") == 50
    assert others <= 2


def test_nobody_is_blamed_when_all_are_honest() -> None:
    rng = np.random.default_rng(5)
    names, blamed = [f"C{n:02d}" for n in range(20)], 0
    for _ in range(400):
        odds, member = stated_odds(rng, 300), rng.random((300, 20)) < 0.2
        blamed += blame(odds, rng.random(300) < odds, names, member=member)[0].chance < 0.05
    # At most one in twenty, whatever the groups share
    assert blamed / 400 < 0.05 + 3.3 * (0.05 * 0.95 / 400) ** 0.5


def test_a_group_without_calls_is_not_blamed() -> None:
    (found,) = blame(np.array([0.5]), np.array([True]), ["dryer"], member=np.array([[False]]))
    assert (found.calls, found.z, found.chance) == (0, 0.0, 1.0)


def test_honest_odds_seldom_reach_the_limit_however_often_looked_at() -> None:
    rng = np.random.default_rng(6)
    odds = stated_odds(rng, 600_000).reshape(2000, 300)
    hit = rng.random(odds.shape) < odds
    over = np.mean([evidence(o, h).max() >= 20 for o, h in zip(odds, hit, strict=True)])
    assert over <= 0.05 + 3.3 * (0.05 * 0.95 / 2000) ** 0.5
    # A z looked at after every call would have cried wolf: the same odds, the usual 5 % limit
    z = np.cumsum(hit - odds, axis=1) / np.sqrt(np.cumsum(odds * (1 - odds), axis=1))
    assert np.mean((np.abs(z[:, 20:]) > 1.96).any(axis=1)) > 0.2


def test_the_alarm_is_false_no_more_often_than_once_in_its_limit() -> None:
    rng = np.random.default_rng(7)
    limit, runs, most = 50.0, 300, 2000
    waits = []
    for _ in range(runs):
        odds = stated_odds(rng, most)
        at = drift(odds, rng.random(most) < odds, limit).at
        waits.append(most if at is None else at + 1)
    assert np.mean(waits) > limit


def test_odds_that_slip_are_noticed_soon_and_the_side_is_told() -> None:
    rng = np.random.default_rng(8)
    waits, early = [], 0
    for _ in range(100):
        odds = stated_odds(rng, 900)
        honest = np.arange(900) < 500
        found = drift(odds, rng.random(900) < np.where(honest, odds, odds - 0.25 * odds))
        early += found.at is not None and found.at < 500
        waits.append(np.inf if found.at is None else found.at - 500)
        assert found.tilt < 0
    assert np.median(waits) < 120
    # 500 honest calls, one false alarm in 2000 at most
    assert early / 100 < 0.25 + 3.3 * (0.25 * 0.75 / 100) ** 0.5


def test_sure_odds_that_fail_do_not_end_the_game() -> None:
    assert np.isfinite(evidence(np.array([1.0, 0.0]), np.array([False, True]))).all()


@pytest.mark.parametrize("stated", [[], [1.2], [np.nan]])
def test_odds_that_are_none_are_refused(stated: list[float]) -> None:
    with pytest.raises(HistoryError, match="proven calls only"):
        z_of_hits(np.array(stated), np.ones(len(stated), bool))
    if stated:
        with pytest.raises(HistoryError, match="proven calls only"):
            drift(np.array(stated), np.ones(len(stated)))
