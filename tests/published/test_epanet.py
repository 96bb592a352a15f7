"""Looped pipe networks against EPANET 2, the network program of the US Environmental Protection Agency.

Two questions. Does our solver find EPANET's flows when it is given EPANET's friction factors (Swamee and Jain 1976
above Re 4000, Dunlop's cubic between 2000 and 4000)? All pipes of 200 networks within 0.01 %, or a millionth of the
network's largest flow. And how far do our own factors (Colebrook) lead from EPANET? Swamee and Jain are off Colebrook by
some 3 % in f at Re 4000 and 1 % at 10 000, and flow goes as the root: within 1 % of the largest flow, main pipes with
Re above 20 000 within 1 % of their own, half of those within 0.3 %.
"""

from __future__ import annotations

import math
import warnings
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from epanet_network import TEMPERATURE, Looped, as_network, epanets, looped, ours

from tundish.physics import water
from tundish.physics.friction import LAMINAR_END, PIPE, TURBULENT_START
from tundish.physics.law import Coefficients, Inputs, Response
from tundish.physics.network import Network, solve

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    pytest.importorskip(
        "wntr",
        reason="wntr, which carries EPANET, is not installed or cannot be loaded here",
        exc_type=ImportError,
    )

VISCOSITY = float(water.viscosity(TEMPERATURE)) / float(water.density(TEMPERATURE))
NETWORKS = range(200)


def epanet_factor(re: np.ndarray, rough: np.ndarray) -> np.ndarray:
    """Darcy's factor as EPANET takes it: L. A. Rossman, EPANET 2 Users Manual, EPA/600/R-00/057, appendix D."""
    fast = np.maximum(re, TURBULENT_START)
    swamee_jain = 0.25 / np.log10(rough / 3.7 + 5.74 / fast**0.9) ** 2
    y2 = rough / 3.7 + 5.74 / TURBULENT_START**0.9
    y3 = -0.86859 * np.log(y2)
    fa = y3**-2
    fb = fa * (2 - 0.00514215 / (y2 * y3))
    r = re / 2000
    x2, x3 = 0.128 - 17 * fa + 2.5 * fb, -0.128 + 13 * fa - 2 * fb
    cubic = 7 * fa - fb + r * (x2 + r * (x3 + r * (0.032 - 3 * fa + 0.5 * fb)))
    slow = np.where(re < LAMINAR_END, 64 / np.maximum(re, 1e-12), cubic)
    return np.where(re > TURBULENT_START, swamee_jain, slow)


def prepare(inputs: Inputs) -> Coefficients:
    density, viscosity = water.density(inputs["temperature"]), water.viscosity(inputs["temperature"])
    bore = inputs["bore"]
    scale = 2 * density * np.square(bore / viscosity) * bore / inputs["length"]
    return scale, math.pi / 4 * bore * viscosity / density, np.true_divide(inputs["roughness"], bore)


def flow(drop: np.ndarray, scale: np.ndarray, per_re: np.ndarray, rough: np.ndarray) -> Response:
    """Re with f Re2 = T by halving, then the flow; slope by a small difference."""
    total = scale * np.abs(drop)
    re = _halved(total, rough)
    wider = 1e-6 * np.maximum(re, 1e-9)
    rise = (epanet_factor(re + wider, rough) * (re + wider) ** 2 - total) / wider
    return np.copysign(per_re * re, drop), per_re * scale / rise


def _halved(total: np.ndarray, rough: np.ndarray) -> np.ndarray:
    low, high = np.zeros_like(total), total / 64 + 1e-12
    for _ in range(90):
        middle = 0.5 * (low + high)
        below = epanet_factor(middle, rough) * middle**2 < total
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return 0.5 * (low + high)


EPANET_PIPE = replace(PIPE, name="pipe by EPANET's factors", prepare=prepare, flow=flow)


def with_epanets_factors(made: Looped) -> dict[str, float]:
    network, inputs, held = as_network(made)
    links = tuple(replace(link, law=EPANET_PIPE) if link.law is PIPE else link for link in network.links)
    found = solve(Network(links), inputs, held, machines=1)
    return {name: float(found.flow[name][0]) for name in made.pipes}


@pytest.fixture(scope="module")
def theirs(tmp_path_factory: pytest.TempPathFactory) -> dict[int, dict[str, float]]:
    """EPANET's flows of all networks."""
    folder: Path = tmp_path_factory.mktemp("epanet")
    return {seed: epanets(looped(seed), folder) for seed in NETWORKS}


def test_solver_finds_epanets_flows_with_epanets_friction(theirs: dict[int, dict[str, float]]) -> None:
    for seed, flows in theirs.items():
        mine = with_epanets_factors(looped(seed))
        largest = max(map(abs, flows.values()))
        for name, their in flows.items():
            assert mine[name] == pytest.approx(their, rel=1e-4, abs=1e-6 * largest), (seed, name)


def test_own_friction_leads_to_epanets_flows_as_near_as_swamee_jain_allows(
    theirs: dict[int, dict[str, float]],
) -> None:
    errors = []
    for seed, flows in theirs.items():
        made = looped(seed)
        found, largest = ours(made), max(map(abs, flows.values()))
        for name, their in flows.items():
            error = abs(float(found.flow[name][0]) - their)
            assert error < 0.01 * largest, (seed, name)
            re = 4 * abs(their) / (math.pi * made.pipes[name][3] * VISCOSITY)
            if re > 2e4 and abs(their) > 0.3 * largest:
                errors.append(error / abs(their))
    assert len(errors) > 300
    assert max(errors) < 0.01
    assert np.median(errors) < 0.003


def test_the_networks_have_loops_and_flow_of_every_kind(theirs: dict[int, dict[str, float]]) -> None:
    reynolds = []
    for seed, flows in theirs.items():
        made = looped(seed)
        assert len(made.pipes) > len(made.junctions)
        reynolds += [4 * abs(q) / (math.pi * made.pipes[name][3] * VISCOSITY) for name, q in flows.items()]
    counts, _ = np.histogram(reynolds, [1, LAMINAR_END, TURBULENT_START, 1e4, 1e6])
    assert (counts > 50).all()
