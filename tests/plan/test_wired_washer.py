"""What the trade does first on a front-load washer, with the planner choosing. Facts of the trade: common practice, no source."""

import numpy as np
import pytest

from tundish.diagnosis.odds import start, weigh
from tundish.diagnosis.reading import Reading
from tundish.plan.advise import advise, planned
from tundish.plan.demands import demands_of_check
from tundish.plan.shop import shop_for
from tundish.plan.standing import Standing
from tundish.plan.states import Safety
from tundish.population.build import build, world
from tundish.population.hypotheses import priors, shares
from tundish.store.library import load

# What the looks show where tap, hose, house and drain are sound and the fill is slow.
SOUND = (
    Reading("C16.seal", answer="open"), Reading("C14", 0.95), Reading("C02", answer="smooth"),
    Reading("C01.Q10", answer="strong"), Reading("C11.flow", 14 / 60_000), Reading("C01.hoses", answer="no"),
    Reading("C16", 0.8), Reading("C16.top", 0.85), Reading("C16.depth", 0.1), Reading("C11", answer="most"),
    Reading("C14.kind", answer="lever"), Reading("C25", 0.13), Reading("C04", 4 / 60_000), Reading("C03", 210.0),
)  # fmt: skip


@pytest.fixture(scope="module")
def washer():
    return load("front-load washer")


@pytest.fixture(scope="module")
def call(washer):
    """A call by complaint and circumstances: its place, cloud and shop; populations are built once."""
    place, kept = world(washer, "EU"), {}

    def made(complaint, *told, age=None):
        if complaint not in kept:
            kept[complaint] = build(place, complaint, 3_000, 61)
        record, held = washer.complaints[complaint], kept[complaint]
        return place, start(held, priors(held.hypotheses, record, shares(washer, record, age, told)))

    return made


@pytest.fixture(scope="module")
def shop(washer):
    return shop_for(washer.markets["EU"])


def test_slow_fill_the_lever_and_the_hose_are_looked_at_before_the_machine_is_moved(washer, call, shop):
    """A4: a lever a quarter open is seen in a minute; a kinked hose straightens when the machine is pulled."""
    place, cloud = call("SLOW", "house move", age=9.0)
    sound, read = {r.check: r for r in SOUND}, []
    for _ in range(len(sound)):
        now = weigh(cloud, washer.checks, read) if read else cloud
        found = planned(place, now, shop, Standing(read=frozenset(r.check for r in read)), seed=1)
        option = found.ranked[0].option
        name = found.wired.problem.actions[option.action].name
        state = found.wired.ground.states[found.wired.problem.access.names[option.node]]
        if state.place == "pulled out" or name not in sound:
            break
        read.append(sound[name])
    assert {"C14", "C02"} <= {r.check for r in read}


def test_slow_fill_a_lever_part_closed_is_opened_and_no_part_is_sold(washer, call, shop):
    place, cloud = call("SLOW", age=9.0)
    read = [Reading("C14.kind", answer="lever"), Reading("C14", 0.25), Reading("C04", 3.6 / 60_000)]
    now = weigh(cloud, washer.checks, read)
    options = advise(place, now, shop, Standing(read=frozenset(r.check for r in read))).options
    repairs = [o for o in options if o.faults]
    assert repairs[0].faults == ("S02",)
    assert repairs[0].kind == "repair"
    # At most a look of a few minutes comes before it, with the machine where it stands
    before = options[: options.index(repairs[0])][:1]
    assert all(o.check and o.minutes <= 5 and not o.steps for o in before)


@pytest.mark.parametrize("seed", [1, 2])
def test_overfilling_the_seat_test_comes_first(call, shop, seed):
    """Unplug in mid fill: three minutes that split valve from level."""
    place, cloud = call("OVER")
    assert advise(place, cloud, shop, Standing(), seed=seed).options[0].check == "W03"


@pytest.mark.parametrize("seed", [1, 2])
def test_water_stays_in_no_ohms_before_filter_or_flow(washer, call, shop, seed):
    """A12: the filter look and the bucket are cheaper than any ohm reading."""
    place, cloud = call("NODRAIN", age=3.0)
    names = [o.check for o in advise(place, cloud, shop, Standing(), seed=seed).options if o.check]
    ohms = [n for n in names if any(d.touches == "conductor" for d in demands_of_check(washer.checks[n]))]
    assert {"W08", "W09"} & set(names)
    for reading in ohms:
        assert names.index(reading) > min(names.index(n) for n in ("W08", "W09") if n in names)


def test_an_object_in_the_filter_is_taken_out_and_no_pump_is_sold(washer, call, shop):
    place, cloud = call("NODRAIN", age=3.0)
    read = [Reading("W08", answer="object"), Reading("W09", 1.5 / 60_000)]
    advice = advise(place, weigh(cloud, washer.checks, read), shop, Standing(read=frozenset({"W08", "W09"})))
    assert advice.options[0].faults == ("F14",)


def test_no_live_check_is_proposed_to_somebody_not_qualified_and_it_is_said_why(washer, call, shop):
    place, cloud = call("NODRAIN", age=3.0)
    advice = advise(place, cloud, shop, Standing())
    proposed = {o.check for o in advice.options if o.check}
    live = {c.id for c in washer.checks.values() if c.live}
    assert not proposed & live
    assert live <= {b.name for b in advice.barred}
    assert all("qualified" in b.why for b in advice.barred if b.name in live)


def test_house_wiring_is_handed_over_with_the_licensed_trade_named(washer, call, shop):
    place, cloud = call("OVER")
    states = planned(place, cloud, shop, Standing()).wired.cures.values()
    away = [r for r in states if "house" in washer.faults[r.faults[0]].access]
    assert away
    assert all(r.kind == "hand over" for r in away)
    assert all(r.price == np.mean(washer.faults[r.faults[0]].price["EUR"]) for r in away)


# A hazard leaves only stopping; what is out of use may be replaced as well
@pytest.mark.parametrize(
    ("state", "left"),
    [
        (Safety(hazard="seen"), {"stop, unrepaired"}),
        (Safety(use="out of use"), {"advise another machine", "stop, unrepaired"}),
    ],
)
def test_where_nothing_may_be_done_the_call_can_only_be_given_up(call, shop, state, left):
    place, cloud = call("NODRAIN", age=3.0)
    advice = advise(place, cloud, shop, Standing(state))
    assert {o.name for o in advice.options} == left


def test_on_the_phone_coming_costs_the_call_out(call, shop):
    place, cloud = call("NODRAIN", age=3.0)
    options = advise(place, cloud, shop, Standing(phone=True)).options
    assert options[0].kind == "question"
    assert all(o.cost >= shop.call_out for o in options if o.kind == "repair")
