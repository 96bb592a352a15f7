"""Records in, a description that says something else out; by name, by version, and only for what is there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from closed_maker import at, outcome

from tundish.history.errors import HistoryError
from tundish.history.learned import Learned, Provenance, applied, read_back, written
from tundish.history.noisy import FAILED, USUAL
from tundish.history.outcome import First, Found, Outcome
from tundish.history.tally import causes_of, returns_of
from tundish.history.teach import taught
from tundish.population.hypotheses import NOTHING, shares

FROM = Provenance(4, at(0), at(120), 1, at(200))
WORLD = {"S04": 0.2, "F01": 0.6, "N01": 0.2}


def a_world(toy, n: int, rng: np.random.Generator, cure: float = 0.6) -> list[Outcome]:
    """Calls of a world with other shares and a poorer cure of S04; a third of the customers moved house, some machines are old."""
    complaint = replace(toy.complaints["SLOW"], shares=WORLD)
    calls = []
    for _ in range(n):
        told = ("house move",) if rng.random() < 1 / 3 else ()
        age = float(rng.uniform(2, 16))
        # What age and circumstances do is the description's; what they are done to is the world's
        chance = shares(toy, complaint, age, told)
        cause = str(rng.choice(list(chance), p=list(chance.values())))
        if cause == "N01":
            calls.append(
                outcome(
                    family=toy.family, age=age, circumstances=told, ended="nothing wrong", repairs=(), first=None,
                    causes=(Found(NOTHING, "unproven", 0.95),),
                )
            )  # fmt: skip
            continue
        days = float(rng.uniform(0, 60))
        is_right = rng.random() < (cure if cause == "S04" else 0.9)
        back = rng.random() < (USUAL.right if is_right else USUAL.wrong) * USUAL.watched(days)
        days = float(rng.uniform(0, min(days, USUAL.window))) if back else days
        calls.append(
            outcome(
                family=toy.family, age=age, circumstances=told, causes=(Found(cause, "proven", 0.95),), days=days,
                called_back=bool(back), repairs=((cause, float(40 * np.exp(rng.normal(0, 0.2)))),), first=First(cause, 1.0, 0.0),
            )
        )  # fmt: skip
    return calls


def learned_of(toy, calls: list[Outcome]) -> Learned:
    """What some calls teach."""
    return Learned({toy.family: taught(calls, toy)}, FROM)


def test_a_world_that_differs_is_learned(toy) -> None:
    found = taught(a_world(toy, 4_000, np.random.default_rng(1)), toy)
    assert sum(found.shares["SLOW"].values()) == pytest.approx(1)
    # Counts of 4000 calls: within 3.3 standard errors, and what fifty shipped calls still pull. A call that came back counts less,
    # so a cause that cures poorly comes out a little rarer.
    for cause, share in WORLD.items():
        assert found.shares["SLOW"][cause] == pytest.approx(share, abs=0.03)
    # 900 repairs or so, of which the callbacks tell little each
    assert found.cures["S04"] == pytest.approx(0.6, abs=0.12)
    assert found.cures["F01"] == pytest.approx(0.9, abs=0.06)
    low, high = found.minutes["F01"]
    # Four of five of 40 min spread by 20 %
    assert (low, high) == pytest.approx((40 * np.exp(-0.2563), 40 * np.exp(0.2563)), rel=0.05)
    # One complaint only: so far from the shipped shares that these are worth few calls
    assert found.worth < 25
    assert found.calls["SLOW"] < 4_000


def test_few_calls_move_little(toy) -> None:
    shipped = toy.complaints["SLOW"].shares
    total = sum(shipped.values())
    found = taught(a_world(toy, 3, np.random.default_rng(2)), toy).shares["SLOW"]
    for cause, share in shipped.items():
        assert found[cause] == pytest.approx(share / total, abs=0.07)


def test_no_calls_teach_nothing(toy) -> None:
    learned = learned_of(toy, [outcome(family="another")])
    assert (learned.families[toy.family].shares, learned.families[toy.family].cures) == ({}, {})
    assert applied(toy, learned).complaints == toy.complaints


def test_the_population_gets_the_learned_shares(toy) -> None:
    learned = learned_of(toy, a_world(toy, 500, np.random.default_rng(3)))
    mine = applied(toy, learned)
    complaint = mine.complaints["SLOW"]
    assert shares(mine, complaint, None, ()) == pytest.approx(
        dict(learned.families[toy.family].shares["SLOW"])
    )
    assert mine.faults["S04"].cure == learned.families[toy.family].cures["S04"] != toy.faults["S04"].cure
    assert mine.faults["S04"].minutes == learned.families[toy.family].minutes["S04"]
    assert mine.faults["N01"] == toy.faults["N01"]
    # Populations of before are not taken for those of after
    other = applied(toy, learned_of(toy, a_world(toy, 50, np.random.default_rng(9))))
    assert len({mine.digest, other.digest, toy.digest}) == 3
    assert applied(toy, learned).digest == mine.digest
    assert mine.checks == toy.checks


def test_another_family_keeps_what_shipped(toy) -> None:
    learned = learned_of(toy, a_world(toy, 20, np.random.default_rng(4)))
    other = replace(toy, family="another")
    assert applied(other, learned) is other


def test_same_calls_same_name(toy) -> None:
    calls = a_world(toy, 200, np.random.default_rng(5))
    first, second = learned_of(toy, calls), learned_of(toy, calls)
    assert written(first) == written(second)
    assert read_back(written(first), first.name) == first
    # The moment of learning is not part of the name; the calls are
    assert replace(first, provenance=replace(FROM, made=at(900))).name == first.name
    assert learned_of(toy, calls[:-1]).name != first.name


@pytest.mark.parametrize(
    ("content", "do"),
    [(b"{}", "learn again"), (b"no json", "learn again"), (b'{"families":{},"provenance":5}', "learn again")],
)
def test_another_file_is_refused(content: bytes, do: str) -> None:
    with pytest.raises(HistoryError, match=do):
        read_back(content)


def test_a_record_that_was_changed_is_refused(toy) -> None:
    learned = learned_of(toy, a_world(toy, 50, np.random.default_rng(6)))
    other = replace(learned, provenance=replace(FROM, calls=5))
    with pytest.raises(HistoryError, match=other.name[:12]):
        read_back(written(other), learned.name)
    newer = replace(learned, provenance=replace(FROM, method=99))
    with pytest.raises(HistoryError, match="method 99"):
        read_back(written(newer))


@pytest.mark.parametrize(
    ("change", "seen"),
    [
        ({"shipped": "0" * 64}, "000000000000"),
        ({"cures": {"X99": 0.5}}, "X99"),
        ({"mistakes": {"Y99": {}}}, "Y99"),
        ({"shares": {"SLOW": {"S04": 0.5, "F01": 0.4}}}, "summing to 0.9"),
        ({"shares": {"SLOW": {"S04": 1.5, "F01": -0.5}}}, "from -0.5"),
    ],
)
def test_what_does_not_fit_the_description_is_refused(toy, change, seen) -> None:
    whole = learned_of(toy, a_world(toy, 50, np.random.default_rng(7)))
    broken = replace(whole, families={toy.family: replace(whole.families[toy.family], **change)})
    with pytest.raises(HistoryError, match=seen):
        applied(toy, broken)


def test_a_cause_that_the_table_lacks_is_told(toy) -> None:
    calls = [outcome(family=toy.family, causes=(Found("X99", "proven", 1.0),)), outcome(family=toy.family)]
    found = causes_of(calls, toy)["SLOW"]
    assert found.unlisted == {"X99": 1.0}
    assert found.counts.sum() == pytest.approx(0.95 * 0.96 / (0.95 * 0.96 + 0.05 * 0.45))


def test_calls_of_like_circumstances_share_a_cell(toy) -> None:
    calls = [
        outcome(family=toy.family, age=12.0),
        outcome(family=toy.family, age=13.0),
        outcome(family=toy.family, age=6.0),
        outcome(family=toy.family, age=6.0, circumstances=("house move", "a word of an older version")),
    ]
    assert len(causes_of(calls, toy)["SLOW"].counts) == 3


def test_a_call_says_of_a_repair_what_followed_it(toy) -> None:
    calls = [
        outcome(repairs=(("S04", 10.0), ("F01", 10.0)), called_back=True, days=3.0, first=None),
        outcome(repairs=(("S04", 10.0),), called_back=True, days=3.0),
        outcome(repairs=(("S04", 10.0),), called_back=True, days=33.0),
        outcome(repairs=(("S04", 10.0),), days=5.0),
    ]
    found = returns_of(calls, "toy")
    assert set(found) == {"S04"}
    # By hand: .04/.55 - 1; (1 - 5/30 x .04)/(1 - 5/30 x .55) - 1; .96/.45 - 1
    expected = [-0.927273, 0.09358, 1.133333]
    assert found["S04"].calls.tolist() == [1, 1, 1] and found["S04"].gain.tolist() == pytest.approx(expected, abs=1e-5)
    # Another repair had to follow, and the cause was there with .7: 1 - .7 cure, whatever came later
    failed = replace(calls[1], first=First("S04", 0.7, FAILED))
    assert returns_of([failed], "toy")["S04"].gain.tolist() == pytest.approx([-0.7])
