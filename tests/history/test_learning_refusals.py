"""What cannot be learned from is refused, with what was seen; and edges that must not break."""

from __future__ import annotations

import numpy as np
import pytest

from tundish.history.amounts import learned_amount, shipped
from tundish.history.errors import HistoryError
from tundish.history.looks import Believed, Sightings, look_errors
from tundish.history.looks_spread import rate_intervals
from tundish.history.noisy import CallbackRates, cure_chance, held_up, right_after, true_rate
from tundish.history.partial import pooled_shares, rate_pool, trust
from tundish.history.shrink import shrunk
from tundish.history.tilted import base_shares
from tundish.history.words import wording

HALF = np.array([0.5, 0.5])
REFUSED = [
    (lambda: rate_pool(np.array([0.0, 0]), np.array([3.0, 4])), "0 of 7 in 2 groups"),
    (lambda: rate_pool(np.array([5.0]), np.array([3.0])), "5 of 3"),
    (lambda: trust(np.array([[-1.0, 2]]), HALF), "counts from -1"),
    (lambda: trust(np.array([[1.0, 2]]), np.array([0.5, 0.6])), "summing to 1.1"),
    (lambda: trust(np.array([[1.0, 2]]), np.array([1.0, 0.0])), "2 calls of causes with no share"),
    (lambda: shrunk(np.array([1.0, 2, 3]), 1.0), "3 means"),
    (lambda: shrunk(np.arange(5.0), -1.0), "variance -1"),
    (lambda: shipped(0, 10), "from 0 to 10"),
    (lambda: learned_amount(shipped(5, 10), np.array([0.0])), "an amount of 0"),
    (lambda: CallbackRates(right=0.6, wrong=0.5), "0.6 after the right"),
    (lambda: CallbackRates(window=0), "0 days"),
    (lambda: right_after(1.2, called_back=True), "chance of 1.2"),
    (lambda: cure_chance(held_up(0, np.array([])), expected=1.0), "cure chance of 1"),
    (lambda: true_rate(0.3, sensitivity=0.4, specificity=0.6), "sensitivity 0.4 and specificity 0.6"),
    (lambda: Sightings(np.zeros((3, 2))), r"shape \(3, 2\)"),
    (lambda: Sightings(-np.ones((3, 2, 2))), r"shape \(3, 2, 2\)"),
    (lambda: base_shares(np.array([[1.0, 1]]), np.array([[1.0, 0]]), HALF), "rule out"),
    (lambda: base_shares(np.array([[0.0, 0]]), np.array([[1.0, 1]]), np.zeros(2)), "rule out"),
    (lambda: wording(["will not fill"], []), "1 texts, 0 classes"),
    (lambda: wording(["..."], ["NOFILL"]), "1 texts, 1 classes"),
]


@pytest.mark.parametrize(("asked", "seen"), REFUSED)
def test_refused_with_what_was_seen(asked, seen) -> None:
    with pytest.raises(HistoryError, match=seen) as caught:
        asked()
    assert caught.value.seen
    assert caught.value.allowed
    assert caught.value.do


def test_answers_that_nothing_allows_are_refused() -> None:
    seen = Sightings(np.eye(2)[[[0], [1]]])
    start = np.array([[[1.0, 0.0], [1.0, 0.0]]])
    with pytest.raises(HistoryError, match="item 1 "):
        look_errors(seen, start=start)


def test_an_item_nobody_looked_at_keeps_the_shares() -> None:
    answers = np.concatenate([np.eye(2)[[[0, 0, 0]] * 6 + [[1, 1, 1]] * 2], np.zeros((1, 3, 2))])
    found = look_errors(Sightings(answers), Believed(rates=0.5))
    assert found.truth[-1] == pytest.approx(found.shares[0], abs=1e-6)


def test_proof_against_every_answer_wins() -> None:
    answers = np.eye(2)[[[0, 0]] * 10 + [[1, 1]] * 10]
    proven = np.eye(2)[[1] + [0] * 9 + [1] * 10]
    found = look_errors(Sightings(answers, proven=proven))
    assert found.truth[0].tolist() == [0, 1]
    assert found.rates[0, 1] == pytest.approx([1 / 11, 10 / 11])


def test_a_class_without_items_leaves_its_rates_open() -> None:
    seen = Sightings(np.eye(2)[[[0, 0]] * 20], proven=np.tile([1.0, 0.0], (20, 1)))
    low, high = rate_intervals(look_errors(seen), seen)
    assert (low[0, 1].tolist(), high[0, 1].tolist()) == ([0, 0], [1, 1])


def test_shipped_shares_that_fit_are_trusted_more() -> None:
    rng = np.random.default_rng(1)
    centre = rng.dirichlet(np.ones(6), 30)
    fits = np.array([rng.multinomial(200, row) for row in centre])
    misfits = np.array([rng.multinomial(200, rng.dirichlet(5 * row)) for row in centre])
    assert trust(fits, centre).mean > 300
    assert trust(misfits, centre).interval(0.99)[1] < 10


def test_a_cause_that_cannot_be_has_no_interval() -> None:
    centre = np.array([1.0, 0.0])
    found = pooled_shares(np.array([[3.0, 0]]), centre, trust(np.array([[3.0, 0]]), centre))
    assert found.mean[0] == pytest.approx([1, 0], abs=1e-12)
    assert (found.low[0, 1], found.high[0, 1]) == (0, 0)


def test_means_all_alike_stay() -> None:
    found = shrunk(np.full(5, 2.0), 0.1)
    assert (found.kept, found.values.tolist()) == (0.0, [2.0] * 5)


def test_no_amounts_change_nothing() -> None:
    before = shipped(20, 45)
    assert learned_amount(before, np.array([])) == before
    assert learned_amount(before, np.array([90.0]), np.array([0.0])) == before


def test_words_are_learned_and_strange_ones_say_nothing() -> None:
    told = [
        "no water comes in",
        "it does not fill",
        "water stays in the drum",
        "it does not drain",
        "will not drain",
    ]
    learned = wording(told, ["NOFILL", "NOFILL", "NODRAIN", "NODRAIN", "NODRAIN"])
    assert learned.chances("xyzzy") == pytest.approx({"NOFILL": 0.4, "NODRAIN": 0.6})
    assert learned.chances("the DRUM will not drain!")["NODRAIN"] > 0.75
    assert sum(learned.chances("fill fill drain").values()) == pytest.approx(1)


def test_wordings_of_a_world_are_told_apart() -> None:
    """Classes that differ in a few words of forty: told apart far better than by the shares, from thirty texts each."""
    rng = np.random.default_rng(2)
    words = [f"{a}{b}" for a in "abcdefgh" for b in "vwxyz"]
    chance = np.full((3, 40), 1.0)
    for name in range(3):
        chance[name, 5 * name : 5 * name + 5] = 5.0
    chance /= chance.sum(axis=1, keepdims=True)

    def text(name: int) -> str:
        return " ".join(rng.choice(words, 8, p=chance[name]))

    learned = wording([text(n % 3) for n in range(90)], [str(n % 3) for n in range(90)])
    right = 0
    for n in range(300):
        chances = learned.chances(text(n % 3))
        right += max(chances, key=chances.__getitem__) == str(n % 3)
    assert right / 300 > 0.75
