"""Repair or replace, against tables and examples that others worked.

- Two equivalent-annual-cost tables: a generator at 12 %, https://id.scribd.com/document/336745352/Assignment5-Solutions (its
  author used interest factors to four digits, hence 0.06); a machine at 8 %, https://acedmypaper.com/1003384/ .
- Age replacement: documentation of a Python package on reliability, "Optimal replacement time",
  https://github.com/MatthewReid854/reliability ; prints 493.19 where the root is at 493.047: the optimum is flat, so 0.5.
- Break-even price: an institute's study of repair against replacement (wupperinst.org pd/911) prints 74 for "about 290"
  taken from 366: exact 76.
- Lives: share of large appliances replaced within five years because of a defect, 3.5 % (2004) to 8.3 % (2013), Umweltbundesamt,
  as printed by resource.co 10888.
- The fix-or-replace rule: Hasidi and Kalech 2021, definition 3; its example was worked by hand.
"""

from __future__ import annotations

import numpy as np
import pytest

from tundish.prices.age_replacement import best_replacement, cost_rate
from tundish.prices.annual import annual_costs, economic_life, marginal_costs, years_to_keep
from tundish.prices.life import USUAL_LIVES, Life
from tundish.prices.worth import TwoFailures, break_even_of, fix_or_replace

GENERATOR = (9500, range(8000, 0, -1000), (1000, 1000, 1200, 1500, 2000, 2000, 2000, 3000))
OLD = (2400, (1400, 980, 686, 480, 336, 235, 165, 115), (2000, 1500, 2000, 3500, 3000, 3500, 5000, 4500))
MACHINE = (25_000, (16_000, 13_000, 11_000, 10_000, 9_500), (5_000, 8_000, 11_000, 14_000, 17_000))


def test_a_new_generator_is_kept_four_years() -> None:
    costs = annual_costs(*GENERATOR, rate=0.12)
    printed = [3640, 3319.25, 3236.5, 3233.07, 3290.81, 3314.16, 3318.68, 3393.52]
    assert costs == pytest.approx(printed, abs=0.06)
    assert economic_life(costs) == 4


def test_the_old_generator_is_kept_for_it_costs_less() -> None:
    costs = annual_costs(*OLD, rate=0.12)
    printed = [3288, 2722, 2630, 2872, 2924, 3013, 3219, 3329]
    assert costs == pytest.approx(printed, abs=0.56)
    assert economic_life(costs) == 3
    assert costs.min() < annual_costs(*GENERATOR, rate=0.12).min()


def test_a_machine_at_eight_percent() -> None:
    costs, marginal = annual_costs(*MACHINE, rate=0.08), marginal_costs(*MACHINE, rate=0.08)
    assert costs == pytest.approx([16_000, 14_212, 14_159, 14_541, 15_181], abs=0.55)
    assert marginal == pytest.approx([16_000, 12_280, 14_040, 15_880, 18_300], abs=1e-9)
    assert economic_life(costs) == 3
    # Printed: with a challenger of 16,500 a year keep through year 4
    assert years_to_keep(marginal, 16_500) == 4


def test_age_replacement() -> None:
    life = Life(1000, 2.5)
    best = best_replacement(life, planned=1, failed=5)
    assert best.age == pytest.approx(493.19, abs=0.5)
    assert round(best.rate, 4) == 0.0035
    # How flat: the printed age costs less than a millionth more
    assert 1 < cost_rate(life, 493.19, planned=1, failed=5) / best.rate < 1 + 1e-6


@pytest.mark.parametrize(
    ("mean", "shape", "scale", "five", "ten"),
    [
        (12.6, 2.0, 14.218, 0.8837, 0.6097),
        (13.7, 2.3, 15.464, 0.9282, 0.6929),
        (14.0, 2.5, 15.779, 0.9450, 0.7263),
        (15.2, 2.5, 17.131, 0.9550, 0.7708),
    ],
)
def test_lives_by_mean(mean: float, shape: float, scale: float, five: float, ten: float) -> None:
    # Recomputed beforehand with scipy.stats.weibull_min
    life = Life.of_mean(mean, shape)
    assert life.scale == pytest.approx(scale, abs=5.1e-4)
    assert life.mean == pytest.approx(mean, rel=1e-12)
    assert (life.survival(5), life.survival(10)) == pytest.approx((five, ten), abs=5.1e-5)


def test_remaining_life() -> None:
    # Worked beforehand by numerical integration of S
    life = Life(13, 2)
    left = [life.remaining(age) for age in (0, 5, 10, 13, 15)]
    assert left == pytest.approx([11.521, 7.834, 5.760, 4.926, 4.481], abs=5.1e-4)


def test_the_usual_lives_agree_with_early_defects() -> None:
    early = [1 - life.survival(5) for life in USUAL_LIVES.values()]
    assert 0.035 <= min(early) <= max(early) <= 0.083


def test_fix_or_replace() -> None:
    life = Life(13, 2)
    fixed, new = life.outlives(8, 5), life.outlives(0, 5)
    assert (fixed, new) == pytest.approx((0.5372, 0.8625), abs=5.1e-5)
    costs = fix_or_replace(TwoFailures(fix=60, new=120, overhead=80, survives_fixed=fixed, survives_new=new))
    assert costs == pytest.approx((152.55, 147.50), abs=0.011)


def test_without_memory_nothing_healthy_is_replaced() -> None:
    life = Life(13, 1)
    chances = {"survives_fixed": life.outlives(8, 5), "survives_new": life.outlives(0, 5)}
    fix, replace = fix_or_replace(TwoFailures(fix=60, new=120, overhead=80, **chances))
    assert replace - fix == pytest.approx(60)
    assert np.isinf(best_replacement(life, planned=1, failed=5).age)


def test_break_even() -> None:
    assert break_even_of(366, 290) == 76
    assert break_even_of(366, 290) == pytest.approx(74, abs=2)
