"""Quantiles against scipy.stats (a general-purpose reference library)."""

import numpy as np
import pytest
from scipy import stats

from tundish.appliance.records import Distribution, Parameter
from tundish.population.draws import draw, quantile

Z = np.linspace(-3.5, 3.5, 29)
U = stats.norm.cdf(Z)


@pytest.mark.parametrize(
    ("distribution", "reference"),
    [
        (Distribution("normal", (350.0, 80.0)), stats.norm(350, 80)),
        (Distribution("lognormal", (3900.0, 1.05)), stats.lognorm(s=np.log(1.05), scale=3900)),
        (Distribution("uniform", (2.0, 6.0)), stats.uniform(2, 4)),
        (Distribution("loguniform", (1e4, 1e6)), stats.loguniform(1e4, 1e6)),
    ],
)
def test_closed_quantiles(distribution, reference):
    np.testing.assert_allclose(quantile(distribution, Z, {}), reference.ppf(U), rtol=1e-9)


@pytest.mark.parametrize(("a", "b"), [(2, 8), (16, 2), (2, 38), (1, 20), (3, 5)])
def test_beta_quantiles_from_the_table(a, b):
    # the trade's severities; the table's error must stay far below any instrument's
    np.testing.assert_allclose(
        quantile(Distribution("beta", (a, b)), Z, {}), stats.beta(a, b).ppf(U), atol=2e-6
    )


def test_choice_follows_its_weights():
    rng = np.random.default_rng(5)
    code = quantile(
        Distribution("choice", (6.0, 2.5, 1.5), ("lever", "globe", "gate")), rng.standard_normal(200_000), {}
    )
    np.testing.assert_allclose(
        np.bincount(code.astype(int)) / 200_000, [0.6, 0.25, 0.15], atol=4 * 0.5 / np.sqrt(200_000)
    )


def test_by_takes_the_case_of_each_machine():
    by = Distribution(
        "by", key="kind", cases=(Distribution("constant", (1.0,)), Distribution("uniform", (0.0, 2.0)))
    )
    np.testing.assert_allclose(
        quantile(by, np.zeros(3), {"kind": np.array([0.0, 1.0, 0.0])}), [1.0, 1.0, 1.0]
    )


def test_clip_is_in_the_files_unit_and_temperature_becomes_kelvin():
    cold = Parameter("cold", "°C", Distribution("normal", (12.0, 4.0), clip=(5.0, 20.0)))
    np.testing.assert_allclose(
        draw(cold, cold.distribution, np.array([-9.0, 0.0, 9.0]), {}), [278.15, 285.15, 293.15]
    )


def test_times_and_plus_take_the_other_parameter():
    values = {"street": np.array([3e5, 4e5]), "cold": np.array([285.15, 290.15])}
    hot = Parameter("hot", "kPa", Distribution("constant", (0.9,)), times="street")
    warm = Parameter("warm", "°C", Distribution("constant", (40.0,)), plus="cold")
    np.testing.assert_allclose(draw(hot, hot.distribution, np.zeros(2), values), [2.7e5, 3.6e5])
    np.testing.assert_allclose(draw(warm, warm.distribution, np.zeros(2), values), [325.15, 330.15])
