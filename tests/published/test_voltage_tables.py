"""Tables of voltages, currents and resistances that a technician reads on heat appliances, solved here as networks.

Source: computed tables of the project's trade file on hot and cold appliances (worked out there by a nodal solver from
common practice constants; sections on voltage between two points and on resistance with parallel paths). They are
another program's numbers, not measurements. Every figure must agree to half of its last printed digit, which is
closer than the 1 V or 1 % that the trade needs.

Stated there: element 10.67 ohm, motor 22 ohm as a plain resistance, wires 0.05 ohm, contacts 0.01 ohm and 1 Gohm,
meters 10 Mohm and 3 kohm. Not stated, and found from one figure of a row before the row's others were compared: five
contacts in the string, cut-out on the L1 side and centrifugal contact on the L2 side of the element, sound insulation
1 Gohm; in the grounded row a leak of 0.2 ohm and an earth path of 0.3 ohm (5.2 V at 17.2 A); the European element
of 26.45 ohm (2 kW at 230 V).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from house_circuits import HIGH, LOW, OPEN, Circuit, dryer, simple

from tundish.physics import meters
from tundish.physics.legs import legs

OFF, BROKEN = {"closed": 0.0}, {"resistance": OPEN}
METERS = {"": HIGH, "low": LOW, "body": 1000.0}
SINGLE, SPLIT, THREE = legs("single", 230.0), legs("split phase", 120.0), legs("three phase", 230.0)

# A dryer, and what is printed of it: volts between nodes (high impedance unless "low"), amps of a link, watts of a link.
ROWS: dict[str, tuple[Circuit, str]] = {
    "healthy, heating": (
        dryer(),
        "T1-T2 237.5, T1-TN 118.4, T2-TN 119.2, top-foot 236.4, a-b 0.2, A wire_L1 27.5, A wire_L2 22.2, A wire_N 5.4",
    ),
    "one-shot cut-out open": (
        dryer(**{"cut-out": OFF}),
        (
            "T1-T2 239.7, T1-TN 119.5, T2-TN 120.3, top-foot 0, top-TN 120.3, foot-TN 120.3, a-b 239.7, "
            "a-b:low 238.9, A wire_L1 5.4, A wire_L2 0"
        ),
    ),
    "element open": (
        dryer(upper=BROKEN),
        "T1-T2 239.7, T1-TN 119.5, T2-TN 120.3, top-foot 239.7, a-b 0, A wire_L2 0",
    ),
    "centrifugal contact open": (
        dryer(centrifugal=OFF),
        "T1-T2 239.7, T1-TN 119.5, T2-TN 120.3, top-foot 0, top-TN 119.5, foot-TN 119.5, foot-T2 239.7, A wire_L2 0",
    ),
    "L2 lost upstream, heat path closed": (
        dryer(wire_L2=BROKEN),
        "T1-T2 0, T1-TN 119.5, T2-TN 119.5, T2-TN:low 119.0, top-foot 0, a-b 0, A wire_L2 0",
    ),
    "L2 lost, motor stopped, heat path open": (
        dryer(wire_L2=BROKEN, start=OFF, heat=OFF, centrifugal=OFF),
        "T1-T2 2.8, T1-T2:low 0, T1-TN 120, T2-TN 0.8, T2-TN:low 0, top-foot 0, A wire_L2 0",
    ),
    "L1 lost, idle, heat contact closed": (
        dryer(wire_L1=BROKEN, centrifugal=OFF),
        "T1-T2 120, T1-T2:low 119.1, T1-TN 0, T2-TN 120, top-foot 0, foot-T2 120",
    ),
    "L1 lost, centrifugal contact welded": (
        dryer(wire_L1=BROKEN),
        "T1-T2 39, T1-TN 80.5, T2-TN 119.6, top-foot 39",
    ),
    "neutral lost, 4-wire": (
        dryer(wire_N=BROKEN, centrifugal=OFF),
        "T1-T2 240, T1-TN 0, T2-TN 240, T2-TN:low 238, top-foot 0, foot-T2 240, A motor 0, TN-T1 0",
    ),
    "neutral lost, 3-wire with strap": (
        dryer(wire_N=BROKEN, centrifugal=OFF, bond=BROKEN, strap={"closed": 1.0}),
        "T1-T2 240, T1-TN 0, T2-TN 240, top-foot 0, FR-E 120, FR-E:low 119, FR-E:body 117",
    ),
    "bad L1 joint 0.5 ohm": (
        dryer(joint_L1={"resistance": 0.5}),
        "T1-T2 224.8, T1-TN 105.6, T2-TN 119.2, top-foot 223.7, J1-T1 12.9, W joint_L1 332",
    ),
    "element grounded at 40 %, heat contact open": (
        dryer(share=0.4, heat=OFF, leak={"resistance": 0.2}, bond={"resistance": 0.3}),
        "T1-T2 238.9, T1-TN 119.5, T2-TN 119.4, top-x 0, x-foot 110, FR-E 5.2, A wire_L1 5.4, A wire_L2 17.2, kW lower 1.9",
    ),
    "208 V building": (dryer("two legs of a wye"), "T1-T2 205.7, T1-TN 118.6, T2-TN 119.3, top-foot 204.7"),
}


def half_digit(printed: str) -> float:
    """Half of the last printed digit, and a last bit of the float."""
    return 0.5 * 10.0 ** -len(printed.partition(".")[2]) * (1 + 1e-9)


def shown(circuit: Circuit, what: str) -> float:
    """One reading, as spelled in ROWS."""
    kind, _, link = what.partition(" ")
    if kind == "A":
        return circuit.amps(link)
    if kind in ("W", "kW"):
        return circuit.watts(link) * (1e-3 if kind == "kW" else 1.0)
    nodes, _, meter = what.partition(":")
    a, b = nodes.split("-")
    return circuit.volts(a, b, METERS[meter])


@pytest.mark.parametrize("row", ROWS)
def test_voltage_table_of_a_dryer(row: str) -> None:
    circuit, readings = ROWS[row]
    for reading in readings.split(", "):
        what, _, printed = reading.rpartition(" ")
        # The 208 V building's legs are printed as 118-119 only.
        within = 0.5 if row.startswith("208") and what.endswith("TN") else half_digit(printed)
        assert shown(circuit, what) == pytest.approx(float(printed), abs=within), (row, what)


def test_the_table_has_thirteen_rows() -> None:
    assert len(ROWS) == 13


def test_heat_of_the_208_volt_building() -> None:
    found = ROWS["208 V building"][0]
    assert (found.watts("upper") + found.watts("lower")) / 1e3 == pytest.approx(3.93, abs=0.005)


def half_voltage(load: float, bake: float = 1.0) -> Circuit:
    """A range whose L2 is lost: the bake element feeds the dead leg, which feeds a load to the neutral."""
    return simple(
        SPLIT,
        feed=("contact", "L2", "bus", 0.0),
        relay=("contact", "L1", "pin", bake),
        bake=("conductor", "pin", "bus", 19.2),
        load=("conductor", "bus", "N", load),
    )


@pytest.mark.parametrize(("load", "volts", "watts"), [(360, 113.9, 2), (60, 90.9, 44), (14.4, 51.4, 244.9)])
def test_half_voltage_on_the_lost_leg(load: float, volts: float, watts: float) -> None:
    """For 14.4 ohm the file prints 244 W; (120/33.6)^2 x 19.2 is 244.9, so it was cut off, not rounded."""
    circuit = half_voltage(load)
    assert circuit.volts("bus", "N") == pytest.approx(volts, abs=0.06)
    assert circuit.watts("bake") == pytest.approx(watts, abs=0.5)


def test_the_lamp_lights_only_while_bake_is_selected() -> None:
    assert half_voltage(360.0, bake=0.0).volts("bus", "N") < 0.01


def test_a_quarter_of_the_power_on_half_the_voltage() -> None:
    element = {"element": ("conductor", "L1", "N", 240**2 / 5400)}
    assert simple(SPLIT, **element).watts("element") == pytest.approx(1350)


@pytest.mark.parametrize(
    ("one", "two", "volts", "watts"),
    [(29.4, 29.4, (199, 199), (1349, 1349)), (24.0, 44.1, (140, 258), (821, 1509))],
)
def test_hob_on_two_legs_whose_neutral_is_lost(
    one: float, two: float, volts: tuple[float, float], watts: tuple[float, float]
) -> None:
    """Printed from 398 V where 230 V legs give 398.4 V, so watts agree to 0.3 %."""
    hob = simple(
        THREE,
        one=("conductor", "L1", "M", one),
        two=("conductor", "M", "L2", two),
        neutral=("contact", "M", "N", 0.0),
    )
    assert (hob.volts("L1", "M"), hob.volts("M", "L2")) == pytest.approx(volts, abs=0.6)
    assert (hob.watts("one"), hob.watts("two")) == pytest.approx(watts, rel=3e-3)


def test_single_phase_element_whose_neutral_is_lost() -> None:
    heater = simple(
        SINGLE | {"E": 0j},
        50.0,
        element=("conductor", "L1", "end", 26.45),
        neutral=("contact", "end", "N", 0.0),
        sound=("conductor", "end", "E", OPEN),
    )
    assert heater.volts("L1", "end") == pytest.approx(0, abs=0.5)
    assert heater.volts("end", "E") == pytest.approx(230, abs=0.5)
    assert heater.volts("end", "E", LOW) == pytest.approx(228, abs=0.5)


def ghost(volts: float, hertz: float, picofarads: float) -> Circuit:
    """An open conductor beside a live wire and beside earth."""
    live = {"L1": complex(volts), "E": 0j}
    stray = picofarads * 1e-12
    return simple(
        live, hertz, above=("capacitor", "L1", "open", stray), below=("capacitor", "open", "E", stray)
    )


@pytest.mark.parametrize(("metres", "volts"), [(1, 21), (2, 36), (5, 53), (15, 59)])
def test_ghost_voltage_by_length_of_cable(metres: float, volts: float) -> None:
    cable = ghost(120.0, 60.0, 50.0 * metres)
    assert cable.volts("open", "E") == pytest.approx(volts, abs=0.5)
    assert cable.volts("open", "E", LOW) < 0.11


def test_ghost_voltage_in_europe() -> None:
    cable = ghost(230.0, 50.0, 300.0)
    assert cable.volts("open", "E") == pytest.approx(102, abs=0.5)
    assert cable.volts("open", "E", LOW) == pytest.approx(0.07, abs=0.006)


def test_the_low_impedance_meter_tells_a_ghost_from_a_backfeed() -> None:
    """V_low / V_high: below 0.1 a ghost, above 0.9 a source or a backfeed."""
    lost = ROWS["L2 lost upstream, heat path closed"][0]
    assert lost.volts("T2", "TN", LOW) / lost.volts("T2", "TN") > 0.9
    cable = ghost(120.0, 60.0, 750.0)
    assert cable.volts("open", "E", LOW) / cable.volts("open", "E") < 0.1


@pytest.mark.parametrize(("ohms", "volts", "watts"), [(0.010, 0.22, 5), (0.050, 1.1, 25), (0.200, 4.5, 101)])
def test_a_warm_joint_at_22_5_amperes(ohms: float, volts: float, watts: float) -> None:
    """The load is chosen so that 22.5 A flow."""
    circuit = simple(
        SPLIT,
        joint=("conductor", "L1", "T1", ohms),
        load=("conductor", "T1", "L2", 240 / 22.5 - ohms),
    )
    assert circuit.volts("L1", "T1") == pytest.approx(volts, abs=0.05)
    assert circuit.watts("joint") == pytest.approx(watts, abs=0.5)


@pytest.mark.parametrize(
    ("volts", "kilohms", "milliamperes", "within"),
    [(120, 24, 5.0, 0.05), (120, 10, 12, 0.5), (230, 10, 23, 0.5), (230, 7.7, 30, 0.5)],
)
def test_a_leak_to_the_frame(volts: float, kilohms: float, milliamperes: float, within: float) -> None:
    held = {"L1": complex(volts), "N": 0j, "E": 0j}
    leaky = simple(held, load=("conductor", "L1", "N", 30.0), leak=("conductor", "L1", "E", kilohms * 1e3))
    assert 1e3 * leaky.amps("leak") == pytest.approx(milliamperes, abs=within)


def leaking_at(share: float, second: float) -> float:
    """Leak [A] through 24 kohm at a share of an element of 10.67 ohm, the second pole closed or not."""
    upper, lower = 10.67 * max(share, 1e-6), 10.67 * max(1 - share, 1e-6)
    found = simple(
        SPLIT | {"E": 0j},
        upper=("conductor", "L1", "x", upper),
        lower=("conductor", "x", "foot", lower),
        second=("contact", "foot", "L2", second),
        leak=("conductor", "x", "E", 24e3),
    )
    return found.amps("leak")


def test_a_leak_in_the_middle_flows_only_when_one_pole_is_off() -> None:
    # The contact's own 0.01 ohm moves the balance by a thousandth of the largest leak.
    for share in (0.0, 0.25, 0.5, 0.9):
        assert leaking_at(share, 1.0) == pytest.approx(abs(120 - 240 * share) / 24e3, rel=3e-3, abs=6e-6)
    assert leaking_at(0.5, 0.0) == pytest.approx(120 / 24e3, rel=2e-3)


WOUND = ("winding", "M", "TN")


def isolated(**change: dict[str, float]) -> Circuit:
    """The dryer unplugged, its motor a winding of 2.4 ohm copper whose impedance is 22 ohm."""
    made = dryer(**change)
    copper = {"resistance": 2.4, "reactance": math.sqrt(22**2 - 2.4**2)}
    return Circuit({**made.links, "motor": WOUND}, {**made.inputs, "motor": copper}, made.held)


def test_resistances_of_a_dryer_in_place() -> None:
    standing = isolated(centrifugal=OFF)
    assert standing.ohms("T1", "T2") > 100e6
    assert isolated().ohms("T1", "T2") == pytest.approx(10.7, abs=0.05)
    assert standing.ohms("T1", "TN") == pytest.approx(2.4, abs=0.05)
    assert standing.ohms("top", "foot") == pytest.approx(10.67, abs=0.005)


# Links between L and N, and what is printed between the pins.
PARALLEL = {
    "bake and broil relays stuck": ((19.2, 16.9), "9.0"),
    "bake beside a surface element that is on": ((19.2, 38.4), "12.8"),
    "bake beside a transformer": ((19.2, 300.0), "18.0"),
    "plug of a refrigerator": ((6.0, 350.0, 300.0), "5.8"),
    "defrost beside the timer motor": ((36.0, 7000.0), "35.8"),
    "timer motor alone": ((7000.0,), "7000"),
}


@pytest.mark.parametrize("name", PARALLEL)
def test_resistance_with_parallel_paths(name: str) -> None:
    paths, printed = PARALLEL[name]
    ways = {f"way {i}": ("conductor", "L", "N", ohms) for i, ohms in enumerate(paths)}
    found = simple({}, **ways).ohms("L", "N")
    assert found == pytest.approx(float(printed), abs=half_digit(printed))


def test_an_insulation_test_joins_the_live_conductors() -> None:
    """By hand: 2 Mohm from L1 and 3 Mohm from L2 to the frame are 1.2 Mohm together, apart as long as no contact joins them."""
    machine = simple(
        {},
        one=("conductor", "L1", "FR", 2e6),
        two=("conductor", "L2", "FR", 3e6),
        relay=("contact", "L1", "L2", 0.0),
        filter=("capacitor", "L1", "FR", 4.7e-9),
    )
    assert machine.ohms("L1", "L2", "FR") == pytest.approx(1.2e6, rel=1e-9)
    assert machine.ohms("L1", "FR") == pytest.approx(2e6, rel=3e-3)


def test_a_clamp_around_all_conductors_shows_the_leak_only() -> None:
    grounded = ROWS["element grounded at 40 %, heat contact open"][0]
    together = grounded.amps("wire_L1", "wire_L2", "wire_N")
    assert together == pytest.approx(grounded.amps("bond"), rel=1e-9)
    assert together == pytest.approx(17.2, abs=0.05)


def test_many_machines_at_once_agree_with_each_alone() -> None:
    circuit, sizes = dryer(), np.geomspace(1e-3, 1e9, 20_001)
    inputs = {**circuit.inputs, "joint_L1": {"resistance": sizes}}
    volts = meters.voltage(circuit.network, inputs, circuit.held, across=("T1", "TN"), machines=sizes.size)
    for i in (0, 4_000, 7_999, 8_000, 20_000):
        alone = dryer(joint_L1={"resistance": float(sizes[i])})
        assert volts[i] == pytest.approx(alone.volts("T1", "TN"), rel=1e-12)
