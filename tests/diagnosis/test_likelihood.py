"""The likelihood of readings, against scipy and against its own noise."""

import numpy as np
import pytest
from scipy import integrate, stats

from tundish.appliance.records import Answer, Check, Instrument
from tundish.diagnosis.likelihood import Span, exceeds, log_likelihood, noise, span
from tundish.diagnosis.reading import Reading

GAUGE = Instrument("gauge", "pressure", 14e3, 0.0, 10e3, 0.5, 0.0, 1e6)
OHMS = Instrument("ohmmeter", "resistance", 0.5, 0.01, 0.1, 0.5, 0.0, 2e7)
TESTER = Instrument("insulation tester", "resistance", 0.0, 0.1, 0.0, 0.5, 1e3, 5e8, log=True)
REACH = Span(0.0, 6e5)


def check(instrument=None, answers=(), mistakes=None, model=0.03, misdone=0.02):
    return Check(
        "C05", "title", "q", "kPa", instrument, tuple(Answer(a) for a in answers), mistakes or {}, model, misdone, 6.0, "FILL", (), False,
        "tee", "", (),
    )  # fmt: skip


def one(c, true, *readings, reach=REACH):
    return float(np.exp(log_likelihood(c, reach, np.array([true], dtype=np.float32), readings)[0]))


def test_a_reading_is_a_density_with_the_chances_of_nothing_and_over_range():
    c = check(GAUGE)
    middle, _ = integrate.quad(
        lambda y: one(c, 3e5, Reading("C05", y)), 1.0, 1e6 - 1.0, points=[2.5e5, 3e5, 3.5e5, 6e5], limit=400
    )
    total = middle + one(c, 3e5, Reading("C05", 0.0)) + one(c, 3e5, Reading("C05", np.inf))
    assert total == pytest.approx(1.0, abs=0.01)


def test_a_log_instrument_is_a_density_in_its_own_value():
    c, reach = check(TESTER), Span(np.log(1e4), np.log(5e8))
    area, _ = integrate.quad(
        lambda t: np.exp(t) * one(c, 1e6, Reading("C05", float(np.exp(t))), reach=reach),
        np.log(1e3),
        np.log(5e8),
        limit=400,
    )
    assert area + one(c, 1e6, Reading("C05", np.inf), reach=reach) == pytest.approx(1.0, abs=0.03)


def test_one_sigma_joins_instrument_resolution_and_model():
    c = check(GAUGE, misdone=0.0)
    sigma = np.sqrt(14e3**2 + 1e4**2 / 12 + (0.03 * 3e5) ** 2)
    assert one(c, 3e5, Reading("C05", 3.2e5)) == pytest.approx(stats.norm(3e5, sigma).pdf(3.2e5), rel=1e-6)


@pytest.mark.parametrize("number", [2, 3, 5])
def test_repeats_share_the_persistent_error(number):
    """Against scipy's multivariate normal with the shared variance off the diagonal."""
    c, true = check(GAUGE, misdone=0.0), 3e5
    instrument = 14e3**2 + 1e4**2 / 12
    shared = 0.5 * instrument + (0.03 * true) ** 2
    covariance = np.full((number, number), shared) + np.eye(number) * 0.5 * instrument
    values = true + 1e4 * np.array([0.7, -0.4, 1.9, 0.1, -1.1])[:number]
    expected = stats.multivariate_normal(np.full(number, true), covariance).pdf(values)
    assert one(c, true, *[Reading("C05", v) for v in values]) == pytest.approx(expected, rel=1e-5)


def test_repeating_a_check_does_not_make_it_certain():
    """Ten equal readings 2 sigma off the truth must not rule it out: the persistent error repeats."""
    c = check(GAUGE, misdone=0.0)
    ten = [Reading("C05", 3.35e5)] * 10
    ratio = one(c, 3e5, *ten) / one(c, 3.35e5, *ten)
    fresh_only = (one(c, 3e5, ten[0]) / one(c, 3.35e5, ten[0])) ** 10
    assert ratio > 100 * fresh_only


def test_open_line_is_certain_on_an_open_coil_and_only_a_mistake_on_a_sound_one():
    c, reach = check(OHMS), Span(3e3, 5e3)
    assert one(c, 1e9, Reading("C05", np.inf), reach=reach) == pytest.approx(0.98 + 0.02 * 0.2, abs=1e-6)
    assert one(c, 3.9e3, Reading("C05", np.inf), reach=reach) == pytest.approx(0.02 * 0.2, rel=1e-3)
    assert one(c, 1e9, Reading("C05", 3.9e3), reach=reach) < 1e-5


@pytest.mark.parametrize(
    ("bound", "value", "expected"),
    [("above", 3e5, 0.5), ("below", 3e5, 0.5), ("above", 2e5, 1.0), ("below", 2e5, 0.0)],
)
def test_bounds_are_chances(bound, value, expected):
    c = check(GAUGE, misdone=0.0)
    assert one(c, 3e5, Reading("C05", value, bound=bound)) == pytest.approx(expected, abs=1e-4)


def test_a_look_follows_its_mistakes():
    c = check(None, ("whole", "torn"), {"torn": {"whole": 0.2}, "whole": {"torn": 0.03}}, misdone=0.0)
    assert one(c, 1, Reading("C05", answer="whole")) == pytest.approx(0.2)
    assert one(c, 0, Reading("C05", answer="whole")) == pytest.approx(0.97)
    assert one(c, 1, Reading("C05", answer="torn"), Reading("C05", answer="torn")) == pytest.approx(0.8)


def test_an_answer_that_does_not_exist_is_refused():
    with pytest.raises(ValueError, match=r"saw answer 'bent'; allowed: whole, torn"):
        one(check(None, ("whole", "torn")), 0, Reading("C05", answer="bent"))


@pytest.mark.parametrize(("instrument", "true"), [(GAUGE, 3e5), (GAUGE, 5e3), (OHMS, 3.9e3), (TESTER, 2e6)])
def test_noise_and_likelihood_agree(instrument, true):
    """Simulated readings must have the density the likelihood says (Kolmogorov-Smirnov on the part inside the range)."""
    c = check(instrument, misdone=0.0)
    read = noise(c, np.full(20_000, true, dtype=np.float32), np.random.default_rng(1))
    inside = read[(read > instrument.low) & np.isfinite(read)]
    points = np.quantile(inside, [0.05, 0.3, 0.5, 0.7, 0.95])
    above = [float(exceeds(c, np.array([true], dtype=np.float32), p)[0]) for p in points]
    np.testing.assert_allclose(above, [(read > p).mean() for p in points], atol=0.015)


def test_a_wild_reading_never_kills_a_machine():
    """Ten readings that cannot be right cost at most the chance of ten mis-done checks."""
    c = check(GAUGE)
    assert one(c, 3e5, Reading("C05", 9.5e5)) > 1e-3 * 0.02 / 6e5


def test_span_reaches_beyond_what_machines_show():
    c = check(GAUGE)
    found = span(c, np.linspace(1e5, 4e5, 1_000, dtype=np.float32))
    assert found.low < 1e5
    assert found.high > 4e5
