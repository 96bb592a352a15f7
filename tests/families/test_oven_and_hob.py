"""Oven and hob against the trade's tables. Source of every figure: common practice, no source, unless one is named."""


import numpy as np
import pytest
from tables import OVEN

from tundish.documents.handover import handover_words
from tundish.plan.demands import domain_of

FAMILY = OVEN.family
DESCRIBED = FAMILY.description
answer, machines, shown, shows = FAMILY.answer, FAMILY.machines, FAMILY.shown, FAMILY.complains


LEVEL = {"leg_volts": "120 V", "mains": "v240", "legs": "two", "neutral_rise": "0 V"}


def test_consequences_are_described():
    assert set(DESCRIBED.faults["O14"].drags) == {"O09", "O10"}
    assert set(DESCRIBED.faults["O09"].drags) == {"O10"}


def test_what_is_not_ours_is_handed_over():
    """House wiring and microwave high voltage: no repair of ours, and somebody is named."""
    domains = {name: domain_of(fault) for name, fault in DESCRIBED.faults.items() if domain_of(fault)}
    assert domains == {"O01": "house wiring", "M01": "microwave high voltage", "M02": "house wiring"}
    assert all("hand over" in " ".join(DESCRIBED.faults[name].after).casefold() for name in domains)
    assert "cover" in handover_words("microwave high voltage")
    assert "hand over" in " ".join(DESCRIBED.faults["H07"].after).casefold()


def test_every_check_on_live_parts_is_marked_and_warned_of():
    for name, check in DESCRIBED.checks.items():
        if name.startswith(("C1.", "C2.")) or name == "OC12.volts":
            assert check.live, name
        if check.live:
            assert any(c.startswith("Live") for c in check.cautions), name
    assert not any(check.live for name, check in DESCRIBED.checks.items() if name.startswith("MW"))
    assert all(
        check.state in ("NONE", "PWR") and not check.access
        for name, check in DESCRIBED.checks.items()
        if name.startswith("MW")
    )


# --- the trade's worked numbers on the whole machine ---

RANGE = LEVEL | {
    "bake_watts": "3000 W",
    "watts_kept": 1.0,
    "cold_share": 1.0,
    "leg1_ohms": 1e-3,
    "leg2_ohms": 1e-3,
}
WYE = RANGE | {"mains": "v208", "second_leg": "-120 deg"}
BACKFED = RANGE | {"lamp_leg": "t2", "lamp_1": 0.0, "lamp_2": 1.0, "lamp_ohms": "360 ohm"}


def test_a_lost_leg_is_fed_back_through_bake_and_lights_the_lamp_only_then():
    """19.2 ohm and a lamp of 360 ohm: 113.9 V on the dead leg, 6.1 V over the poles, 0 V with bake off (worked out by hand)."""
    found = machines(joint2="open", **BACKFED)
    assert shown(found, "C2.L2N") == pytest.approx(113.9, abs=0.2)
    assert shown(found, "C2.LL") == pytest.approx(6.1, abs=0.1)
    assert shown(found, "C2.L2N.off") == pytest.approx(0, abs=0.05)
    assert shown(found, "C2.wire") == pytest.approx(240, abs=0.5)
    assert answer(found, "OC14") == "only with bake"
    assert answer(found, "C8.hob") == "dead"
    assert shown(found, "OC3.bake") < 0.5
    assert shows(found, "NOHEAT")


def test_the_same_leg_lost_in_the_house_shows_at_the_outlet():
    found = machines(leg2="dead", **BACKFED)
    assert shown(found, "C1.LL") < 1
    assert shown(found, "C1.L1N") == pytest.approx(120, abs=0.2)
    assert shown(found, "C1.L2N") < 1
    assert shown(found, "C2.L2N") == pytest.approx(113.9, abs=0.2)
    assert 20 < shown(found, "C1.L2N.hiz") < 60


def test_a_healthy_range_at_240_volts():
    """3 kW at 240 V: 12.5 A and 19.2 ohm."""
    found = machines(**RANGE)
    assert shown(found, "OC3.bake") == pytest.approx(12.5, abs=0.1)
    assert shown(found, "OC4.bake") == pytest.approx(19.2, abs=0.05)
    assert answer(found, "OC14") == "by itself"
    assert not any(shows(found, c) for c in DESCRIBED.complaints)


def test_a_wye_of_208_volts():
    """Leg to leg 208, leg to neutral 120, three quarters of what the same machine draws at 240 V (5400 to 4056 W)."""
    found = machines(**WYE)
    assert shown(found, "C1.LL") == pytest.approx(208, abs=0.3)
    assert shown(found, "C1.L1N") == pytest.approx(120, abs=0.3)
    assert shown(found, "C1.L2N") == pytest.approx(120, abs=0.3)
    heats, at_240 = (float(each.value("bake_power")[0]) for each in (found, machines(**RANGE)))
    assert heats / at_240 == pytest.approx(4056 / 5400, abs=0.002)


def test_a_wye_that_lost_its_neutral_hangs_between_two_legs():
    """The dead neutral stud lies on the line between the legs, parted by clock and lamp: 104 V each if they are equal (by hand)."""
    equal = {"lamp_leg": "t2", "lamp_1": 0.0, "lamp_2": 1.0, "lamp_ohms": "400 ohm", "clock_ohms": "400 ohm"}
    found = machines(**WYE | equal, jointn="open")
    assert shown(found, "C2.L2N.off") == pytest.approx(104, abs=0.3)
    assert float(found.value("clock_volts")[0]) == pytest.approx(104, abs=0.3)


def test_a_leak_in_the_middle_of_an_element_on_a_wye_flows_all_the_time():
    """The middle of two legs 120 degrees apart stands at 60 V to earth: 6 mA through 10 kohm, where 240 V has none (by hand)."""
    leak = {"leak_at": 0.5, "element_leak_hot": "10 kohm", "hob_leak": "100 Mohm", "fan_leak": "100 Mohm", "wiring_leak": "100 Mohm"}
    assert float(machines(**WYE | leak).value("leak_hot_flow")[0]) == pytest.approx(6e-3, rel=0.01)


HOLDS = {"oven_heat": "9 kJ/K", "oven_loss": 4.5, "room": "24 °C", "mode_used": "bottom", "centre_offset": 0.0, "mech_offset": 0.0,
         "bake_asked": 1.0, "top_asked": 0.0, "ring_asked": 0.0, "grill_asked": 0.0, "bake_watts": "2600 W", "seal_leak": 1.0}  # fmt: skip


def test_preheat_and_duty():
    """2600 W: 10.3 min to 177 °C and a duty of 0.26; door gap 11.0 min and 0.37 (worked out by hand)."""
    found = machines(**RANGE | HOLDS)
    assert shown(found, "OC7.preheat") == pytest.approx(10.3, abs=0.3)
    assert shown(found, "OC8") == pytest.approx(0.26, abs=0.01)
    gap = machines(**RANGE | HOLDS | {"seal_leak": 1.4})
    assert shown(gap, "OC7.preheat") == pytest.approx(11.0, abs=0.3)
    assert shown(gap, "OC8") == pytest.approx(0.37, abs=0.01)


PLATINUM = {"control_kind": "electronic", "electronic": 1.0, "mechanical": 0.0, "sensor_kind": "p1000", "sensor_0": "1000 ohm",
            "platinum": 1.0, "negative": 0.0, "sensor_spread": 1.0}  # fmt: skip


@pytest.mark.parametrize(("series", "colder"), [(10, 2.7), (20, 5.4), (60, 16)])
def test_resistance_in_the_connector_bakes_cold(series, colder):
    found = machines(**RANGE | HOLDS | PLATINUM | {"sensor_series": float(series)})
    assert 177 - shown(found, "OC7") == pytest.approx(colder, abs=0.5)


def test_a_leak_across_the_sensor_bakes_hot():
    """20 kohm: 177 set gives 218.5 °C, and 1030 instead of 1086 ohm at 22 °C."""
    found = machines(**RANGE | HOLDS | PLATINUM | {"sensor_series": 0.0, "sensor_leak": "20 kohm"})
    assert shown(found, "OC7") == pytest.approx(218.5, abs=1)
    cold = machines(**RANGE | PLATINUM | {"sensor_series": 0.0, "sensor_leak": "20 kohm", "room": "22 °C"})
    assert shown(cold, "OC6.sensor") == pytest.approx(1030, abs=1.5)
    assert shown(machines(**PLATINUM | {"room": "22 °C"}), "OC6.sensor") == pytest.approx(1086, abs=1)


def test_a_leak_in_the_middle_of_an_element_trips_when_it_switches_off():
    """120 - 240 x volts at a share x: none in the middle while both legs are on, 120 V/R with one of them off."""
    found = machines(
        **LEVEL, leak_at=0.5, element_leak_hot="10 kohm", element_leak_up=1.0, guard="gfci", rcd_trip="5 mA", house_leak="0.2 mA",
        hob_leak="100 Mohm", fan_leak="100 Mohm", wiring_leak="100 Mohm",
    )  # fmt: skip
    assert float(found.value("leak_hot_flow")[0]) < 0.2e-3
    assert float(found.value("leak_off_flow")[0]) == pytest.approx(12e-3, rel=0.02)
    assert (answer(found, "C8.cold"), answer(found, "C8.hot"), answer(found, "C8.off")) == ("no", "no", "yes")
    assert shows(found, "TRIP")


def test_a_welded_relay_draws_current_when_off():
    found = machines(**RANGE | HOLDS, welded="yes", runaway_to="300 °C")
    assert shown(found, "C3.off") > 9
    assert shown(found, "OC7") > 250


def test_a_dead_cooling_fan_heats_fascia_and_cut_out():
    cool = machines("EU", cooling_fan="runs", body_trapped=1.0, fascia_trapped=1.0)
    hot = machines("EU", cooling_fan="stopped", body_trapped=2.6, fascia_trapped=2.7)
    assert shown(cool, "OC10.fascia") < 60 < 80 < shown(hot, "OC10.fascia")
    assert (answer(cool, "OC10.hot"), answer(hot, "OC10.hot")) == ("no", "yes")
    assert shows(hot, "OVERHEAT")
    assert not shows(cool, "OVERHEAT")


def test_hob_zone():
    """1800 W at 230 V: 29.4 ohm, 7.8 A."""
    level = {
        "zone_watts": "1800 W",
        "cold_share": 1.0,
        "leg_volts": "230 V",
        "hob_kind": "radiant",
        "zone_plain": 1.0,
        "leg1_ohms": 1e-3,
        "leg2_ohms": 1e-3,
    }
    sound = machines("EU", **level)
    assert shown(sound, "OC4.zone") == pytest.approx(29.4, abs=0.05)
    assert shown(sound, "OC3.zone") == pytest.approx(7.8, abs=0.1)
    dead = machines("EU", **level, zone_contact="open", switch_state="never")
    assert shown(dead, "OC3.zone") == pytest.approx(0, abs=0.01)
    assert shown(dead, "OC4.zone") == pytest.approx(29.4, abs=0.05)
    assert shown(dead, "OC12.volts") == pytest.approx(230, abs=1)
    assert (answer(dead, "OC12"), shows(dead, "ZONE")) == ("never", True)


# Ohms of the zone and of what runs on the other phase, volts and watts of the zone: the trade's worked row, 398 V between the phases.
SERIES = [(29.4, 29.4, 199, 1349), (24, 44.1, 140, 821), (44.1, 24, 258, 1509)]


@pytest.mark.parametrize(("zone", "other", "volts", "watts"), SERIES)
def test_a_hob_on_two_phases_without_its_neutral(zone, other, volts, watts):
    level = {
        "leg_volts": "230 V", "leg1_ohms": 1e-3, "leg2_ohms": 1e-3, "zone_joint_ohms": 1e-3, "link_share": 1.0, "other_runs": "yes",
        "hob_feed": "two", "one_phase": 0.0, "neutral_rise": "0 V",
        "zone_watts": f"{230**2 / zone} W", "other_watts": f"{230**2 / other} W",
    }  # fmt: skip
    whole = machines("EU", **level, hob_neutral="whole")
    assert shown(whole, "C2.zone") == pytest.approx(230, abs=1)
    lost = machines("EU", **level, hob_neutral="lost")
    assert shown(lost, "C2.zone") == pytest.approx(volts, abs=1)
    assert float(lost.value("zone_power")[0]) == pytest.approx(watts, rel=0.01)
    alone = machines("EU", **level | {"other_runs": "no"}, hob_neutral="lost")
    assert float(alone.value("zone_power")[0]) < 1


# Ohms of the zone and of what runs on the second and third phase; the last stands for a phase with next to nothing on.
STARS = [(29.4, 29.4, 29.4), (24, 44.1, 35), (44.1, 24, 24), (24, 30, 1e6)]


@pytest.mark.parametrize(("zone", "second", "third"), STARS)
def test_a_hob_on_three_phases_without_its_neutral(zone, second, third):
    """Millman's theorem: the star point is at sum(V/R) / sum(1/R).

    J. Millman, A useful network theorem, Proc. IRE 28 (1940) 413, from memory.
    """
    level = {
        "leg_volts": "230 V", "leg1_ohms": 1e-3, "leg2_ohms": 1e-3, "zone_joint_ohms": 1e-3, "link_share": 1.0, "other_runs": "yes",
        "third_on": "yes", "hob_feed": "three", "one_phase": 0.0, "three_phases": 1.0, "neutral_rise": "0 V",
        "zone_watts": f"{230**2 / zone} W", "other_watts": f"{230**2 / second} W", "third_watts": f"{230**2 / third} W",
    }  # fmt: skip
    whole = machines("EU", **level, hob_neutral="whole")
    assert shown(whole, "C2.zone") == pytest.approx(230, abs=1)
    lost = machines("EU", **level, hob_neutral="lost")
    legs = 230 * np.exp(1j * np.deg2rad([0, -120, 120]))
    ohms = np.array([zone, second, third])
    star = (legs / ohms).sum() / (1 / ohms).sum()
    assert shown(lost, "C2.zone") == pytest.approx(abs(legs[0] - star), abs=1)
    # Equal zones do not need their neutral; without the third phase the case of two phases comes back.
    if zone == second == third:
        assert shown(lost, "C2.zone") == pytest.approx(230, abs=1)
