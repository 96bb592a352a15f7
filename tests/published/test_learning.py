"""Learning from counts, against numbers that others printed.

- Rat tumours, 71 groups, 267 of 1739: data and posterior means of the two numbers (2.4, 14.3) in Gelman et al., Bayesian Data Analysis,
  3rd edition, table 5.1 and section 5.3 (means from memory; data as reprinted in public course notes).
- 18 averages after 45 trials each: Efron and Morris 1975, https://doi.org/10.1080/01621459.1975.10479864 ; shrinkage .212 about the mean
  .265; total squared error .077 of the averages and .022 shrunk (errors from memory; from the rounded table .0754 and .0213).
- Five rounds of ten tosses with one of two coins: Do and Batzoglou 2008, https://doi.org/10.1038/nbt1406 , figure 1.
- Five observers, 45 patients, four classes: Dawid and Skene 1979, https://doi.org/10.2307/2346806 , table 1; class shares
  .40, .42, .11, .07 (from memory).
- Two skin tests in two populations: Hui and Walter 1980, https://doi.org/10.2307/2530508 (counts and results from memory).
- Word counts: Manning, Raghavan and Schutze 2008, Introduction to Information Retrieval, example 13.1.
- Interval of 9 of 10: Wilson 1927; 0 of 10 and others: Clopper and Pearson's and Garwood's tables (from memory).
- Apparent and true rate: Rogan and Gladen 1978, https://doi.org/10.1093/oxfordjournals.aje.a112510 , their formula worked by hand.
"""

from __future__ import annotations

import numpy as np
import pytest

from tundish.history.counting import per_unit, wilson
from tundish.history.looks import Believed, Sightings, look_errors
from tundish.history.noisy import callback_chance, right_after, true_rate
from tundish.history.partial import pooled_shares, rate_pool
from tundish.history.posterior import Posterior
from tundish.history.shrink import shrunk
from tundish.history.words import wording

# fmt: off
TUMOURS = np.array([
    0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2, 2, 2, 2, 1, 5, 2, 5, 3, 2, 7, 7, 3,
    3, 2, 9, 10, 4, 4, 4, 4, 4, 4, 4, 10, 4, 4, 4, 5, 11, 12, 5, 5, 6, 5, 6, 6, 6, 6, 16, 15, 15, 9, 4,
], float)
RATS = np.array([
    20, 20, 20, 20, 20, 20, 20, 19, 19, 19, 19, 18, 18, 17, 20, 20, 20, 20, 19, 19, 18, 18, 25, 24, 23, 20, 20, 20, 20, 20,
    20, 10, 49, 19, 46, 27, 17, 49, 47, 20, 20, 13, 48, 50, 20, 20, 20, 20, 20, 20, 20, 48, 19, 19, 19, 22, 46, 49, 20, 20,
    23, 19, 22, 20, 20, 20, 52, 46, 47, 24, 14,
], float)
AVERAGES = np.array([
    .400, .378, .356, .333, .311, .311, .289, .267, .244, .244, .222, .222, .222, .222, .222, .200, .178, .156,
])
REST = np.array([
    .346, .298, .276, .222, .273, .270, .263, .210, .269, .230, .264, .256, .303, .264, .226, .285, .316, .200,
])
# One row a patient: observer 1 three times, observers 2 to 5 once.
PATIENTS = (
    "1111111 3334334 1122122 2223121 2223222 2223322 1222111 3333433 2222223 2322223 4444444 2223343 1111111 2223212 "
    "1211111 1112111 1111111 1111111 2222221 2221322 2222222 2222221 2223222 2212222 1111111 1111111 2322222 1111111 "
    "1111111 1121121 1111111 3333233 1111111 2222222 2223232 4334343 2212232 2323233 3333432 1111111 1111111 1212111 "
    "2322222 1211111 2222222"
)
# fmt: on
OBSERVER = (0, 0, 0, 1, 2, 3, 4)


def patients() -> np.ndarray:
    """(45, 5, 4) how often each observer gave each class."""
    answers = np.zeros((45, 5, 4))
    for row, said in enumerate(PATIENTS.split()):
        for observer, answer in zip(OBSERVER, said, strict=True):
            answers[row, observer, int(answer) - 1] += 1
    return answers


def test_rat_tumours() -> None:
    assert (len(RATS), TUMOURS.sum(), RATS.sum()) == (71, 267, 1739)
    pool = rate_pool(TUMOURS, RATS)
    assert pool.expected == pytest.approx((2.4, 14.3), abs=0.05)
    # The last group, 4 of 14: its raw rate .286 is drawn to the others
    assert pool.rates(np.array([4.0]), np.array([14.0])).item() == pytest.approx(0.21, abs=0.003)


def test_eighteen_averages() -> None:
    mean = AVERAGES.mean()
    found = shrunk(AVERAGES, variance=mean * (1 - mean) / 45)
    assert found.kept == pytest.approx(0.212, abs=5e-4)
    assert found.mean == pytest.approx(0.265, abs=5e-4)
    assert ((AVERAGES - REST) ** 2).sum() == pytest.approx(0.077, abs=0.002)
    assert ((found.values - REST) ** 2).sum() == pytest.approx(0.022, abs=0.001)


def test_prior_of_ten_calls() -> None:
    # (10 x .5 + 1) / 17 and so on, by hand
    worth = Posterior(np.array([10.0]), np.array([1.0]))
    mean = pooled_shares(np.array([[1.0, 6, 0]]), np.array([0.5, 0.3, 0.2]), worth).mean[0]
    assert mean == pytest.approx([6 / 17, 9 / 17, 2 / 17], abs=1e-12)


def coins(steps: int) -> tuple[np.ndarray, np.ndarray]:
    """Chances of heads of the two coins, and the first weights of the coins by round."""
    heads = np.array([5.0, 9, 8, 4, 7])
    start = np.array([[[0.6, 0.4], [0.5, 0.5]]])
    seen = Sightings(np.stack([heads, 10 - heads], axis=1)[:, None, :])
    found = look_errors(seen, Believed(shares=np.array([[0.5, 0.5]])), start=start, steps=steps, until=0.0)
    return found.rates[0, :, 0], found.truth


def test_two_coins() -> None:
    assert coins(0)[1][1] == pytest.approx([0.80, 0.20], abs=0.006)
    assert coins(1)[0] == pytest.approx([0.71, 0.58], abs=0.005)
    assert coins(10)[0] == pytest.approx([0.80, 0.52], abs=0.005)


def test_five_observers() -> None:
    found = look_errors(Sightings(patients()))
    # .42 is .4217, .11 is .1122
    assert found.shares[0] == pytest.approx([0.40, 0.42, 0.11, 0.07], abs=0.005)
    # Recomputed by others on the same data
    assert found.log_likelihood == pytest.approx(-192.8909, abs=1e-3)
    assert np.diag(found.rates[0]) == pytest.approx([0.889, 0.876, 0.661, 0.444], abs=1e-3)


def test_two_tests_in_two_populations() -> None:
    both = np.eye(2)[[[0, 0], [0, 1], [1, 0], [1, 1]]]
    seen = Sightings(
        np.concatenate([both, both]),
        times=np.array([14.0, 4, 9, 528, 887, 31, 37, 367]),
        groups=np.repeat([0, 1], 4),
    )
    found = look_errors(seen, until=1e-12)
    assert found.shares[:, 0] == pytest.approx([0.0268, 0.7168], abs=1e-4)
    assert found.rates[:, 1, 0] == pytest.approx([0.0067, 0.0159], abs=1e-4)
    assert found.rates[:, 0, 1] == pytest.approx([0.0339, 0.0311], abs=1.1e-4)


def test_callbacks_as_noisy_labels() -> None:
    # Prior .85, callbacks .04 and .55: worked by hand
    assert callback_chance(0.85) == pytest.approx(0.1165, abs=1e-12)
    assert right_after(0.85, called_back=False) == pytest.approx(0.85 * 0.96 / 0.8835, abs=1e-12)
    assert right_after(0.85, called_back=True) == pytest.approx(0.85 * 0.04 / 0.1165, abs=1e-12)
    assert round(right_after(0.85, called_back=False), 2) == 0.92
    assert round(right_after(0.85, called_back=True), 2) == 0.29


def test_true_rate_behind_an_apparent_one() -> None:
    assert true_rate(0.12, sensitivity=0.80, specificity=0.97) == pytest.approx(0.09 / 0.77, abs=1e-12)


def test_words_of_a_book() -> None:
    words = dict.fromkeys(("chinese", "beijing", "shanghai", "macao", "tokyo", "japan"), 1 / 6)
    told = ["Chinese Beijing Chinese", "Chinese Chinese Shanghai", "Chinese Macao", "Tokyo Japan Chinese"]
    # One count more for each of six words: a uniform base that counts as six words
    found = wording(told, ["c", "c", "c", "j"], base=words, weight=6.0)
    chance = np.exp(found.log_word)
    assert chance[0, found.words["chinese"]] == pytest.approx(3 / 7)
    assert chance[0, found.words["tokyo"]] == pytest.approx(1 / 14)
    assert chance[1, found.words["chinese"]] == pytest.approx(2 / 9)
    both = found.chances("Chinese Chinese Chinese Tokyo Japan")
    c, j = 3 / 4 * (3 / 7) ** 3 / 14**2, 1 / 4 * (2 / 9) ** 5
    assert (round(c, 4), round(j, 4)) == (0.0003, 0.0001)
    assert both["c"] == pytest.approx(c / (c + j))


def test_nine_of_ten() -> None:
    assert wilson(9, 10) == pytest.approx((0.60, 0.98), abs=0.005)


@pytest.mark.parametrize(("count", "low", "high"), [(0, 0.0, 3.69), (1, 0.025, 5.57), (10, 4.80, 18.39)])
def test_counts_that_come_by_chance(count: int, low: float, high: float) -> None:
    assert per_unit(count, 1.0) == pytest.approx((low, high), abs=0.005)
