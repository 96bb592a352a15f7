"""What must be told first: not sure, readings that do not fit, notices; and what every figure opens into."""

from types import SimpleNamespace

import numpy as np
import pytest

from tundish.appliance.records import Check, Instrument, Notice
from tundish.diagnosis.expect import expected
from tundish.diagnosis.odds import odds, start
from tundish.diagnosis.reading import Reading
from tundish.documents.facts import notices, sure
from tundish.documents.numbers import expected_text, percent, reading_text, shown
from tundish.population.build import build
from tundish.population.hypotheses import priors, shares

GAUGE = Instrument("gauge", "pressure", 14e3, 0.0, 1e4, 0.5, 0.0, 1e6)
OHMS = Instrument("ohmmeter", "resistance", 0.5, 0.01, 0.1, 0.5, 0.0, 2e7)
EYE = Instrument("eye", "fraction", 0.15, 0.0, 0.0, 0.5, 0.0, 1.0)


def check(instrument, unit):
    return Check("K", "t", "q", unit, instrument, (), {}, 0.0, 0.0, 1.0, "NONE", (), False, "", "", ())


@pytest.fixture(scope="module")
def cloud(place, toy):
    held = build(place, "SLOW", 3_000, 4)
    record = toy.complaints["SLOW"]
    return start(held, priors(held.hypotheses, record, shares(toy, record, None, ())))


def standing(cloud):
    return SimpleNamespace(now=SimpleNamespace(cloud=cloud, odds=odds(cloud)))


def test_many_machines_are_sure_a_handful_is_not(cloud):
    from dataclasses import replace

    assert sure(standing(cloud))
    few = np.full(cloud.population.size, -np.inf)
    few[:150] = 0.0
    assert not sure(standing(replace(cloud, log_weight=few)))
    # one machine that carries nearly all, however many carry the rest
    peaked = cloud.log_weight.copy()
    peaked[0] += 12.0
    assert not sure(standing(replace(cloud, log_weight=peaked)))


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        (Reading("C07", 6e5), ["high"]),
        (Reading("C07", 5.5e5), []),
        (Reading("C08", 6e5), []),  # not a check of this notice
        (Reading("C23", answer="none"), ["no earth"]),
        (Reading("C23", answer="good"), []),
    ],
)
def test_a_notice_is_given_by_the_reading_whatever_the_odds(reading, said):
    high = Notice("high", ("C07",), "too high", "code", above=552e3)
    earth = Notice("no earth", ("C23",), "stop", "code", answers=("none",))
    description = SimpleNamespace(notices={n.name: n for n in (high, earth)}, sources={})
    found = SimpleNamespace(description=description, readings=(reading,))
    assert [n["name"] for n in notices(found)] == said


@pytest.mark.parametrize(
    ("instrument", "unit", "value", "system", "text"),
    [
        (GAUGE, "kPa", 3e5, "metric", "300 kPa"), (GAUGE, "kPa", 468843.0, "US", "68 psi"), (GAUGE, "kPa", np.inf, "US", "over range"),
        (OHMS, "ohm", 3_900.0, "metric", "3.9 kohm"), (OHMS, "ohm", np.inf, "metric", "OL"),
        (EYE, "-", 0.2, "US", "20 %"), (EYE, "-", 1.0, "US", "100 %"),
    ],
)  # fmt: skip
def test_values_as_an_instrument_shows_them(instrument, unit, value, system, text):
    assert shown(check(instrument, unit), value, system) == text


def test_a_bound_is_told_as_a_bound():
    assert reading_text(check(OHMS, "ohm"), Reading("K", 2e6, bound="above"), "metric") == "above 2 Mohm"


def test_a_prediction_tells_its_band():
    rng = np.random.default_rng(1)
    said = expected(check(GAUGE, "kPa"), np.full(4_000, 3e5, dtype=np.float32), rng)
    # 5 and 95 % of a normal of 14.3 kPa about 300
    assert said.low == pytest.approx(3e5 - 1.645 * 14.3e3, abs=1e3)
    assert said.high == pytest.approx(3e5 + 1.645 * 14.3e3, abs=1e3)
    assert expected_text(check(GAUGE, "kPa"), said, "metric").startswith("300 kPa (27")


def test_no_chance_is_told_as_certain():
    assert {percent(p) for p in (0.0, 1e-9, 1.0, 1 - 1e-9)} == {"under 0.1 %", "over 99.9 %"}
