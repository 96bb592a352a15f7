"""Populations of the toy family."""

import numpy as np
import pytest

from tundish.population.build import PopulationError, build, healthy, world
from tundish.population.hypotheses import Hypothesis


@pytest.fixture(scope="module")
def grown(place):
    return build(place, "SLOW", 4_000, 11)


def test_every_machine_shows_the_complaint_unless_nothing_is_wrong(place, grown, toy):
    stratum = [grown.hypotheses[i] for i in grown.stratum]
    machines = place.machines(place.batch(stratum, grown.latent.astype(float), found=False))
    slow = machines.value("fill_time") > 60.0
    broken = np.array([h.kind != "normal" for h in stratum])
    assert broken.sum() > 2_000
    # the rows are kept in single precision, so a machine on the very edge may fall over it
    assert slow[broken].mean() > 0.999


def test_severity_is_drawn_given_the_complaint(place, grown, toy):
    """Rejection must bend the severity: clean screens do not make a bucket slow to fill, so they are gone."""
    stratum = [grown.hypotheses[i] for i in grown.stratum]
    alone = np.array([h.roots == ("S04",) for h in stratum])
    blocked = place.machines(place.batch(stratum, grown.latent.astype(float), found=True)).value("blocked")[
        alone
    ]
    assert blocked.mean() > 16 / 18 - 0.02  # mean of Beta(16, 2), lifted by the condition
    assert (blocked < 0.5).sum() == 0


def test_same_inputs_same_machines_other_seed_other_machines(place, grown):
    again = build(place, "SLOW", 4_000, 11)
    assert np.array_equal(again.predicted, grown.predicted)
    assert not np.array_equal(build(place, "SLOW", 4_000, 12).predicted[:, :100], grown.predicted[:, :100])


def test_rare_hypotheses_keep_machines(grown):
    count = np.bincount(grown.stratum, minlength=len(grown.hypotheses))
    kinds = [h.kind for h in grown.hypotheses]
    assert all(c >= 100 for c, k in zip(count, kinds, strict=True) if k != "undescribed")
    assert count[kinds.index("undescribed")] == 0


def test_a_consequence_follows_as_often_as_described(grown):
    """S04 drags F01 with chance 0.1 in the toy; the complaint hardly depends on it."""
    stratum = np.array([grown.hypotheses[i].roots == ("S04",) for i in grown.stratum])
    share = grown.present[stratum, 2].mean()
    assert share == pytest.approx(0.1, abs=4 * np.sqrt(0.09 / stratum.sum()) + 0.02)


def test_an_intermittent_fault_sleeps_on_some_visits(place):
    """F01 acts while readings are taken in half of the machines (acts: 0.5), in all of them when the user complained."""
    z = np.random.default_rng(2).standard_normal((4_000, place.plan.width))
    here = [Hypothesis("root", ("F01",))] * len(z)
    assert place.batch(here, z, found=False).acting[:, 0].all()
    assert place.batch(here, z, found=True).acting[:, 0].mean() == pytest.approx(0.5, abs=0.04)


def test_a_complaint_no_fault_can_show_is_refused(toy, place):
    import dataclasses

    never = dataclasses.replace(
        toy.complaints["SLOW"], when=(dataclasses.replace(toy.complaints["SLOW"].when[0], above=1e9),)
    )
    broken = dataclasses.replace(toy, complaints={"SLOW": never})
    with pytest.raises(PopulationError, match="saw the complaint in 0.0.% of machines drawn; at least"):
        build(world(broken, "EU"), "SLOW", 1_000, 1)


def test_healthy_machines_of_a_market_use_its_distributions(toy):
    """The toy's American market has no gate taps; the tap kind is check L02 with gate as answer 2."""
    row = list(toy.checks).index("L02")
    american, european = healthy(world(toy, "NA"), 3_000, 1)[row], healthy(world(toy, "EU"), 3_000, 1)[row]
    assert len(np.unique(american)) == 2
    assert len(np.unique(european)) == 3


def test_coil_ohms_come_out_of_the_circuit(toy, place):
    """The ohmmeter reads the coil's own resistance: parameters and network must agree."""
    z = np.random.default_rng(3).standard_normal((200, place.plan.width))
    machines = place.machines(place.batch([Hypothesis("normal", ())] * 200, z, found=True))
    np.testing.assert_allclose(machines.value("coil_ohms"), machines.value("coil") + 2.0, rtol=1e-4)
    assert not machines.lost.any()


def test_a_machine_outside_physical_range_is_thrown_away_not_the_batch(toy, place):
    """A tail of a distribution (a blocked share above 1 here) must not stop the other machines, nor pass for a machine."""
    z = np.random.default_rng(3).standard_normal((50, place.plan.width))
    machines = place.machines(place.batch([Hypothesis("normal", ())] * 50, z, found=True))
    machines.value("blocked")[7] = 1.4
    machines.value("blocked")[8] = np.nan
    flow = machines.value("fill_flow")
    assert list(np.flatnonzero(machines.lost)) == [7, 8]
    assert (flow[:7] > 0).all()
