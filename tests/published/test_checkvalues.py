"""Other people's numbers for the closed forms, each with the source it was printed in.

W and E number published or outside figures, T the trade's. `by hand` means that the source gives the
formula and the figure was worked out from it outside this project; the marks `[M]` (from memory) and
`CP` (common practice, no source) are kept.
"""

from __future__ import annotations

import pytest
from printed import C0, FOOT, GPM, LPM, PSI, Case, check, each, relative

from tundish.physics import water
from tundish.physics.bore import bore_area, pipe_volume
from tundish.physics.drawdown import cushion_drawdown, tank_drawdown
from tundish.physics.filling import bucket_flow, fill_time
from tundish.physics.level import head_pressure, pressure_head, water_head
from tundish.physics.metering import metered_flow, pulse_rate
from tundish.physics.mixing import hot_share, mixed_temperature
from tundish.physics.orifice import jet_velocity, orifice_jet
from tundish.physics.pumping import affinity
from tundish.physics.surge import critical_closing_time, slow_closing_surge, surge, wave_speed_in_pipe
from tundish.physics.valve import kv_from_cv, valve_coefficient, valve_flow


def per_metre_surge(bore: float, wall: float, elasticity: float) -> float:
    """Surge for 1 m/s in a pipe filled with water of 20 degC, [Pa]."""
    return float(surge(float(bore_area(bore)), bore, wave_speed(bore, wall, elasticity)))


def wave_speed(bore: float, wall: float, elasticity: float) -> float:
    """Wave speed with water of 20 degC, [m/s]."""
    stiffness, density = water.bulk_modulus(293.15), water.density(293.15)
    return float(wave_speed_in_pipe(bore, wall, elasticity, bulk_modulus=stiffness, density=density))


def celsius_mix(hot_kg: float, cold_kg: float, cold: float, hot: float) -> float:
    """Mix of two amounts, [degC]."""
    mix = mixed_temperature(hot_kg * 1e-3, hot + C0, cold_kg * 1e-3, cold=cold + C0, dead=cold + C0)
    return float(mix) - C0


# ---- water ----

IAPWS = "IAPWS-95 (Wagner and Pruss 2002) by an outside property library, 101.325 kPa"
# id, degC, then in [kg/m3], [mPa s], [Pa], [m/s], [J/(kg K)]
WATER = (
    ("W29", 0.01, 999.844, 1.7911, 611.7, 1402.4, 4219.4),
    ("W30", 4.0, 999.975, 1.5673, 813.5, 1421.6, 4207.5),
    ("W31", 10.0, 999.702, 1.3059, 1228.2, 1447.3, 4195.2),
    ("W32", 15.0, 999.103, 1.1376, 1705.8, 1465.9, 4188.5),
    ("W33", 20.0, 998.207, 1.0016, 2339.3, 1482.3, 4184.1),
    ("W34", 25.0, 997.048, 0.8900, 3169.9, 1496.7, 4181.3),
    ("W35", 40.0, 992.216, 0.6527, 7384.9, 1528.9, 4179.4),
    ("W36", 50.0, 988.035, 0.5465, 12351.9, 1542.6, 4181.3),
    ("W37", 60.0, 983.196, 0.4660, 19946.4, 1551.0, 4185.0),
    ("W38", 80.0, 971.790, 0.3541, 47414.5, 1554.4, 4196.8),
)


@pytest.mark.parametrize("row", WATER, ids=[row[0] for row in WATER])
def test_water_table(row: tuple[str, float, float, float, float, float, float]) -> None:
    key, celsius, density, viscosity, vapour, sound, heat = row
    t = celsius + C0
    check(relative(f"{key} density", IAPWS, lambda: water.density(t), density, 2e-5))
    check(relative(f"{key} viscosity", IAPWS, lambda: water.viscosity(t), viscosity * 1e-3, 1e-3))
    check(relative(f"{key} vapour pressure", IAPWS, lambda: water.vapour_pressure(t), vapour, 1e-3))
    check(relative(f"{key} sound speed", IAPWS, lambda: water.sound_speed(t), sound, 1e-3))
    check(relative(f"{key} heat capacity", IAPWS, lambda: water.heat_capacity(t), heat, 1e-3))


R797 = "IAPWS R7-97"
WATER_POINTS = [
    relative(
        "W40 saturation at 300 K",
        f"{R797} table 35 [M]",
        lambda: water.vapour_pressure(300.0),
        3536.58941,
        1e-3,
    ),
    relative(
        "W41 saturation at 0.1 MPa",
        f"{R797} table 36 [M]",
        lambda: water.vapour_pressure(372.755919),
        1e5,
        1e-3,
    ),
    relative("W42 viscosity", "IAPWS R12-08 table 4 [M]", lambda: water.viscosity(298.15), 889.7351e-6, 1e-2),
    relative("W43 expansion, %", IAPWS, lambda: 100 * water.expansion(288.706, 322.039), 1.06, 5e-3),
    relative(
        "W87 bulk modulus",
        "rho c2 by an outside property library",
        lambda: water.bulk_modulus(293.15),
        2.195e9,
        1e-3,
    ),
]


@each(WATER_POINTS)
def test_water_points(case: Case) -> None:
    check(case)


# ---- orifices, valves, head ----

BERNOULLI = "Bernoulli by hand, Cd 0.61, 20 degC"
SIZING = "IEC 60534-2-1 annex example 1 [M]"
ORIFICES = [
    relative(
        "W75 Cv at 35 psi",
        "Q = Cv sqrt(dp) by hand",
        lambda: valve_flow(kv_from_cv(0.423), 35 * PSI, 999.103) / GPM,
        2.5,
        3e-3,
    ),
    relative(
        "W75 Cv at 10 psi",
        "Q = Cv sqrt(dp) by hand",
        lambda: valve_flow(kv_from_cv(0.791), 10 * PSI, 999.103) / GPM,
        2.5,
        3e-3,
    ),
    relative(
        "W75 Cv at 80 psi",
        "Q = Cv sqrt(dp) by hand",
        lambda: valve_flow(kv_from_cv(0.280), 80 * PSI, 999.103) / GPM,
        2.5,
        3e-3,
    ),
    relative(
        "W11 Cv of a 2.2 gpm tap",
        "IRC Table P2903.2",
        lambda: valve_flow(kv_from_cv(0.284), 60 * PSI, 999.103) / GPM,
        2.2,
        3e-3,
    ),
    relative("W73 Cv of Kv 1", "IEC 60534-1 [M]", lambda: 1 / kv_from_cv(1.0), 1.156, 5e-4),
    relative("W74 Kv 165", SIZING, lambda: valve_coefficient(0.1, 460e3, 965.4), 164.995, 5e-4),
    relative("W78 2 mm jet", BERNOULLI, lambda: orifice_jet(241.3e3, 2e-3, 0.61) / LPM, 2.53, 5e-3),
    relative("W79 3 mm jet", BERNOULLI, lambda: orifice_jet(241.3e3, 3e-3, 0.61) / LPM, 5.69, 5e-3),
    relative("W80 4 mm jet", BERNOULLI, lambda: orifice_jet(241.3e3, 4e-3, 0.61) / LPM, 10.11, 5e-3),
    relative("W80 in gpm", BERNOULLI, lambda: orifice_jet(35 * PSI, 4e-3, 0.61) / GPM, 2.67, 5e-3),
    relative(
        "square-root law",
        "half pressure, by hand",
        lambda: orifice_jet(1e5, 3e-3) / orifice_jet(2e5, 3e-3),
        0.7071,
        1e-3,
    ),
    relative(
        "W16 half pressure",
        "EU 2021/2139 Annex E: 1.5 against 3 bar",
        lambda: valve_flow(1.0, 1.5e5) / valve_flow(1.0, 3e5),
        0.707,
        1e-3,
    ),
    relative("W81 Torricelli", "sqrt(2 g h) by hand", lambda: jet_velocity(1.0), 4.4287, 1e-4),
    relative(
        "W113 feet per psi",
        "by hand, 15 degC",
        lambda: pressure_head(PSI, water.density(288.15)) / FOOT,
        2.309,
        1e-3,
    ),
    relative(
        "W113 storey of 3 m",
        "by hand, 15 degC",
        lambda: head_pressure(3.0, water.density(288.15)),
        29.4e3,
        2e-3,
    ),
    relative(
        "W106 standpipe 18 in", "IPC 802.4, head by hand", lambda: water_head(18 * 0.0254), 4.48e3, 3e-3
    ),
    relative(
        "W106 standpipe 42 in", "IPC 802.4, head by hand", lambda: water_head(42 * 0.0254), 10.46e3, 3e-3
    ),
    relative("T level 100 mm", "trade figure by hand", lambda: water_head(0.1), 0.98e3, 5e-3),
    relative("T level 100 mm in psi", "trade figure by hand", lambda: water_head(0.1) / PSI, 0.142, 5e-3),
    relative("T 1 m of water at 20 degC", "trade figure by hand", lambda: water_head(1.0), 9.79e3, 1e-3),
]


@each(ORIFICES)
def test_orifices_and_head(case: Case) -> None:
    check(case)


# ---- surge ----

KORTEWEG = "Joukowsky and Korteweg by hand, moduli [M]"
ARTICLE = "trade article on water hammer, part one: no pipe elasticity"
HALF_INCH = 13.84e-3  # type L copper, bore 0.545 in, wall 0.040 in
HAND = "Joukowsky by hand, wave speeds CP"


def free_surge(feet_per_second: float) -> float:
    """Surge with the speed of sound in free water, [psi]."""
    flow = feet_per_second * FOOT * float(bore_area(0.02))
    return float(surge(flow, 0.02, water.sound_speed(293.15))) / PSI


SURGES = [
    relative("W86 5 ft/s", ARTICLE, lambda: free_surge(5), 328, 1e-2),
    relative("W86 10 ft/s", ARTICLE, lambda: free_surge(10), 657, 1e-2),
    relative("W88 half-inch copper, a", KORTEWEG, lambda: wave_speed(HALF_INCH, 1.016e-3, 117e9), 1324, 1e-2),
    relative(
        "W88 half-inch copper, dp",
        KORTEWEG,
        lambda: per_metre_surge(HALF_INCH, 1.016e-3, 117e9),
        1322e3,
        1e-2,
    ),
    relative("W89 copper 15x1, a", KORTEWEG, lambda: wave_speed(13e-3, 1e-3, 117e9), 1330, 1e-2),
    relative("W89 copper 15x1, dp", KORTEWEG, lambda: per_metre_surge(13e-3, 1e-3, 117e9), 1327e3, 1e-2),
    relative("W90 steel DN15, a", KORTEWEG, lambda: wave_speed(16.1e-3, 2.6e-3, 200e9), 1435, 1e-2),
    relative("W90 steel DN15, dp", KORTEWEG, lambda: per_metre_surge(16.1e-3, 2.6e-3, 200e9), 1433e3, 1e-2),
    relative("W91 PEX 16x2, a", KORTEWEG, lambda: wave_speed(12e-3, 2e-3, 0.6e9), 310, 1e-2),
    relative("W91 PEX 16x2, dp", KORTEWEG, lambda: per_metre_surge(12e-3, 2e-3, 0.6e9), 309e3, 1e-2),
    relative(
        "W93 rigid column",
        "by hand: 5 ft/s, 50 ft, 0.1 s",
        lambda: slow_closing_surge(5 * FOOT, 50 * FOOT, 0.1) / PSI,
        33.7,
        5e-3,
    ),
    relative(
        "W94 critical time", "2 L / a by hand", lambda: critical_closing_time(10.0, 1325.0), 15.1e-3, 5e-3
    ),
    relative("T copper 8 L/min", HAND, lambda: surge(8 * LPM, HALF_INCH, 1300.0), 1150e3, 1e-2),
    relative("T copper 8 L/min in psi", HAND, lambda: surge(8 * LPM, HALF_INCH, 1300.0) / PSI, 167, 1e-2),
    relative("T copper 14 L/min", HAND, lambda: surge(14 * LPM, HALF_INCH, 1300.0), 2010e3, 1e-2),
    relative("T PEX 8 L/min", HAND, lambda: surge(8 * LPM, 12.5e-3, 550.0), 600e3, 1e-2),
    relative("T PEX 14 L/min", HAND, lambda: surge(14 * LPM, 12.5e-3, 550.0), 1040e3, 1e-2),
    relative("T critical time copper", HAND, lambda: critical_closing_time(10.0, 1300.0), 15e-3, 3e-2),
    relative("T critical time PEX", HAND, lambda: critical_closing_time(10.0, 550.0), 36e-3, 3e-2),
]


@each(SURGES)
def test_surges(case: Case) -> None:
    check(case)


# ---- mixing, meters, tanks, pumps ----

ENTHALPY = "constant heat capacity by hand; an outside library's enthalpies agree within 0.02 K"
DEAD_LEG = "trade figure by hand: hot 52, cold 12, dead leg 20 degC"
MANUAL = "flow meter manual, pulses per gallon"
BOYLE = "isothermal gas by hand, tank sizes CP"


def tub(litres: float, dead: float) -> float:
    """Tub filled half hot and half cold with a dead leg of so many litres, [degC]."""
    half = litres / 2e3
    mix = mixed_temperature(half, 52 + C0, half, cold=12 + C0, dead_volume=dead / 1e3, dead=20 + C0)
    return float(mix) - C0


def gpm_per_hertz(pulses_per_gallon: float) -> float:
    """Gallons a minute for one pulse a second."""
    return float(metered_flow(1.0, pulses_per_gallon / 3.785411784e-3)) / GPM


def drawdown(tank: float, charge: float, start: float, stop: float) -> float:
    """Drawdown with pressures in psi and volumes in litres."""
    return float(tank_drawdown(tank / 1e3, charge * PSI, start * PSI, cut_out=stop * PSI)) * 1e3


MIXES = [
    Case("W95 1 + 1 kg", ENTHALPY, lambda: celsius_mix(1, 1, 15, 60), 37.5, within=0.02),
    Case("W96 2 + 3 kg", ENTHALPY, lambda: celsius_mix(2, 3, 15, 60), 33.0, within=0.02),
    Case("W97 4 + 6 kg", ENTHALPY, lambda: celsius_mix(4, 6, 10, 60), 30.0, within=0.02),
    relative("W98 hot share", "by hand", lambda: hot_share(303.15, 328.15, 288.15), 0.375, 1e-9),
    relative(
        "W98 hot share, degF",
        "by hand: 55 and 125 to 90 degF",
        lambda: hot_share(90.0, 125.0, 55.0),
        0.5,
        1e-9,
    ),
    Case("T 4 + 4 L, no dead leg", DEAD_LEG, lambda: tub(8, 0), 32, within=0.5),
    Case("T 4 + 4 L, 1.5 L", DEAD_LEG, lambda: tub(8, 1.5), 26, within=0.5),
    Case("T 4 + 4 L, 2.3 L", DEAD_LEG, lambda: tub(8, 2.3), 23, within=0.5),
    Case("T 4 + 4 L, 4.7 L", DEAD_LEG, lambda: tub(8, 4.7), 16, within=0.5),
    Case("T 30 + 30 L, no dead leg", DEAD_LEG, lambda: tub(60, 0), 32, within=0.5),
    Case("T 30 + 30 L, 1.5 L", DEAD_LEG, lambda: tub(60, 1.5), 31, within=0.5),
    Case("T 30 + 30 L, 2.3 L", DEAD_LEG, lambda: tub(60, 2.3), 31, within=0.5),
    Case("T 30 + 30 L, 4.7 L", DEAD_LEG, lambda: tub(60, 4.7), 29.5, within=0.05),
    Case(
        "T litres a metre, 1/2 in copper",
        "geometry by hand",
        lambda: 1e3 * pipe_volume(1.0, HALF_INCH),
        0.15,
        within=0.005,
    ),
    Case(
        "T litres a metre, 1/2 in PEX",
        "geometry by hand",
        lambda: 1e3 * pipe_volume(1.0, 12.5e-3),
        0.12,
        within=0.005,
    ),
    Case(
        "T litres a metre, 3/4 in copper",
        "geometry by hand",
        lambda: 1e3 * pipe_volume(1.0, 19.94e-3),
        0.31,
        within=0.005,
    ),
    Case(
        "T water left in a drain hose",
        "geometry by hand: 2 m of 18 mm",
        lambda: 1e3 * pipe_volume(2.0, 18e-3),
        0.5,
        within=0.05,
    ),
]
METERS = [
    relative(
        "W99 Hall meter",
        "component data page: 270 pulses a litre",
        lambda: pulse_rate(1 * LPM, 270e3),
        4.5,
        1e-9,
    ),
    relative("W99 common meter", "450 pulses a litre [M]", lambda: pulse_rate(1 * LPM, 450e3), 7.5, 1e-9),
    relative("W100 L/s", "vendor note: Q = f / 600", lambda: metered_flow(60.0, 600e3), 0.1e-3, 1e-9),
    relative("W100 L/min", "vendor note: Q = f / 10", lambda: metered_flow(60.0, 600e3) / LPM, 6.0, 1e-9),
    relative("W101 187.9 per gal", MANUAL, lambda: gpm_per_hertz(187.9), 0.319, 2e-3),
    relative(
        "W101 117 per gal",
        f"{MANUAL}: the manual's 0.510 is 0.5 % off 60/117",
        lambda: gpm_per_hertz(117),
        0.510,
        6e-3,
    ),
    relative("W101 48.71 per gal", MANUAL, lambda: gpm_per_hertz(48.71), 1.232, 1e-3),
    relative("W101 17.993 per gal", MANUAL, lambda: gpm_per_hertz(17.993), 3.335, 1e-3),
    relative("W101 5.747 per gal", MANUAL, lambda: gpm_per_hertz(5.747), 10.437, 1e-3),
    relative("W101 3.152 per gal", MANUAL, lambda: gpm_per_hertz(3.152), 19.036, 1e-3),
    relative("W103 1 gal in 30 s", "by hand", lambda: bucket_flow(3.785411784e-3, 30.0) / GPM, 2.0, 1e-9),
    relative("W103 in L/min", "by hand", lambda: bucket_flow(3.785411784e-3, 30.0) / LPM, 7.57, 1e-3),
    relative(
        "W103 half a second",
        "by hand",
        lambda: bucket_flow(1.0, 29.5) / bucket_flow(1.0, 30.0) - 1,
        0.017,
        2e-2,
    ),
    relative("W103 10 L in 60 s", "by hand", lambda: bucket_flow(10e-3, 60.0) / LPM, 10.0, 1e-9),
    relative(
        "bucket 0.5 gal in 14 s",
        "by hand",
        lambda: bucket_flow(0.5 * 3.785411784e-3, 14.0) / GPM,
        2.143,
        1e-3,
    ),
    relative(
        "T pulses at 3.2 L/min",
        "trade figure by hand: 208 a litre",
        lambda: pulse_rate(3.2 * LPM, 208e3),
        11.1,
        5e-3,
    ),
    relative(
        "T pulses at 8 L/min",
        "trade figure by hand: 27-29 Hz at 208 a litre",
        lambda: pulse_rate(8 * LPM, 208e3),
        28,
        4e-2,
    ),
]
TIMES = [
    relative("T 14 L at 8.4 L/min", "trade figure by hand", lambda: fill_time(14e-3, 8.4 * LPM), 100, 5e-3),
    relative("T 4 L at 3.2 L/min", "trade figure by hand", lambda: fill_time(4e-3, 3.2 * LPM), 75, 5e-3),
    relative("T 60 L at 14.4 L/min", "trade figure by hand", lambda: fill_time(60e-3, 14.4 * LPM), 249, 5e-3),
    relative("T drain 14 L at 20", "trade figure by hand", lambda: fill_time(14e-3, 20 * LPM), 42, 5e-3),
    relative("T drain 14 L at 12", "trade figure by hand", lambda: fill_time(14e-3, 12 * LPM), 70, 5e-3),
    relative("T drain 60 L at 30", "trade figure by hand", lambda: fill_time(60e-3, 30 * LPM), 120, 5e-3),
    relative("T drain 60 L at 12", "trade figure by hand", lambda: fill_time(60e-3, 12 * LPM), 300, 5e-3),
]
TANKS = [
    Case("T tank 28 psi, 30/50", BOYLE, lambda: drawdown(76, 28, 30, 50), 22, within=0.5),
    Case("T tank 38 psi, 40/60", BOYLE, lambda: drawdown(76, 38, 40, 60), 20, within=0.5),
    Case("T tank fallen to 5 psi", BOYLE, lambda: drawdown(76, 5, 30, 50), 10, within=0.5),
    Case(
        "T 3 L of air left", BOYLE, lambda: 1e3 * cushion_drawdown(3e-3, 30 * PSI, 50 * PSI), 0.9, within=0.05
    ),
]
HANDBOOK = "affinity laws in a handbook"
PUMPS = [
    relative("W104 flow", HANDBOOK, lambda: 100 * affinity(3500 / 1750)[0], 200, 1e-12),
    relative("W104 head", HANDBOOK, lambda: 100 * affinity(3500 / 1750)[1], 400, 1e-12),
    relative("W104 power", HANDBOOK, lambda: 5 * affinity(3500 / 1750)[2], 40, 1e-12),
    relative("W104 +10 % head", HANDBOOK, lambda: affinity(1.1)[1], 1.21, 1e-9),
    relative("W104 +10 % power", HANDBOOK, lambda: affinity(1.1)[2], 1.33, 2e-3),
    relative("W105 50 Hz flow", "by hand", lambda: affinity(50 / 60)[0], 0.833, 1e-3),
    relative("W105 50 Hz head", "by hand", lambda: affinity(50 / 60)[1], 0.694, 1e-3),
    relative("W105 50 Hz power", "by hand", lambda: affinity(50 / 60)[2], 0.579, 1e-3),
]


@each(MIXES, METERS, TIMES, TANKS, PUMPS)
def test_mixing_meters_tanks_pumps(case: Case) -> None:
    check(case)
