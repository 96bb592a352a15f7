"""Other people's numbers for copper, heaters, thermistors and platinum, each with its source.

The marks are those of `test_checkvalues.py`.
"""

from __future__ import annotations

from math import pi

from printed import C0, FOOT, Case, check, each, relative

from tundish.physics.copper import (
    conductor_resistance,
    copper_factor,
    gauge_diameter,
    winding_resistance,
    winding_temperature,
)
from tundish.physics.heating import element_resistance, heating_energy, heating_power, heating_rate
from tundish.physics.platinum import platinum_resistance, platinum_temperature
from tundish.physics.thermistor import (
    beta_from_alpha,
    beta_law,
    steinhart_hart,
    thermistor,
    thermistor_temperature,
)


def per_kft(gauge: int, celsius: float = 75.0) -> float:
    """Resistance of a thousand feet of solid copper, [ohm]."""
    area = pi / 4 * float(gauge_diameter(gauge)) ** 2
    return float(conductor_resistance(1000 * FOOT, area, celsius + C0))


def drop(amps: float, feet: float, gauge: int, *, celsius: float = 75.0) -> float:
    """Voltage lost there and back, [V]."""
    return amps * 2 * feet / 1000 * per_kft(gauge, celsius)


NEC8 = "NEC chapter 9 table 8, solid uncoated copper at 75 degC"
STRANDED = "NEC chapter 9 table 8, stranded, 2011 edition; 2 % over solid"
# The published drops use stranded wire or K = 12.9, which is 2 % over solid copper.
CONDUCTORS = [
    relative("E8 14 AWG", NEC8, lambda: per_kft(14), 3.07, 1e-3),
    relative("E9 12 AWG", NEC8, lambda: per_kft(12), 1.93, 2e-3),
    relative("E10 10 AWG", NEC8, lambda: per_kft(10), 1.21, 5e-3),
    relative("E11 8 AWG", NEC8, lambda: per_kft(8), 0.764, 1e-3),
    relative("E8 14 AWG at 20 degC", "by hand, 17.241 nohm m", lambda: per_kft(14, 20.0), 2.5234, 1e-3),
    relative("E9 12 AWG at 20 degC", "by hand, 17.241 nohm m", lambda: per_kft(12, 20.0), 1.5882, 1e-3),
    relative("E10 10 AWG at 20 degC", "by hand, 17.241 nohm m", lambda: per_kft(10, 20.0), 0.9991, 1e-3),
    relative("E11 8 AWG at 20 degC", "by hand, 17.241 nohm m", lambda: per_kft(8, 20.0), 0.6282, 1e-3),
    relative("E12 14 AWG stranded", STRANDED, lambda: 1.02 * per_kft(14), 3.14, 1e-2),
    relative("E12 12 AWG stranded", STRANDED, lambda: 1.02 * per_kft(12), 1.98, 1e-2),
    relative("E12 10 AWG stranded", STRANDED, lambda: 1.02 * per_kft(10), 1.24, 1e-2),
    relative("E12 8 AWG stranded", STRANDED, lambda: 1.02 * per_kft(8), 0.778, 1e-2),
    relative(
        "E13 20 against 75 degC", "NEC 9-8 note: 0.82", lambda: 1 / copper_factor(75 + C0), 0.8223, 1e-3
    ),
    relative("E15 20 A, 100 ft", "trade school page, K 12.9", lambda: drop(20, 100, 12), 7.9, 3e-2),
    relative("E15 same, 8 AWG", "trade school page, K 12.9", lambda: drop(20, 100, 8), 3.1, 3e-2),
    relative(
        "E16 at 20 degC",
        "voltagedropcalculator.net examples",
        lambda: drop(20, 100, 12, celsius=20),
        6.4,
        1e-2,
    ),
    relative("E17 16 A, 100 ft", "table 8 by hand", lambda: drop(16, 100, 12), 6.176, 1e-2),
    relative("E17 per cent of 120 V", "table 8 by hand", lambda: drop(16, 100, 12) / 1.2, 5.15, 1e-2),
    relative("E18 4 A, 100 ft", "electrician2.com lpage135, stranded", lambda: drop(4, 100, 16), 4.0, 3e-2),
    relative("E19 24 A, 60 ft", "table 8 by hand", lambda: drop(24, 60, 10), 3.48, 1e-2),
]
IEC_COPPER = "IEC 60228 line, 234.5 [M]"
TRADE = "trade figure by hand, 0.00393 per K"
WINDINGS = [
    relative("E20 alpha at 20 degC", IEC_COPPER, lambda: copper_factor(294.15) - 1, 0.003929, 1e-3),
    Case(
        "E21 80 to 100 ohm",
        "physicsforums.com 381286",
        lambda: winding_temperature(80, 100, 293.15) - 293.15,
        63.63,
        0.2,
    ),
    Case(
        "E22 50 to 58 ohm",
        f"{IEC_COPPER} by hand",
        lambda: winding_temperature(50, 58, 293.15) - C0,
        60.7,
        0.05,
    ),
    relative(
        "E23 1.5 ohm 25 to 85",
        f"{IEC_COPPER} by hand",
        lambda: 1.5 / copper_factor(298.15) * copper_factor(358.15),
        1.8468,
        1e-3,
    ),
    relative(
        "E23 0.15 ohm 25 to 110",
        f"{IEC_COPPER} by hand",
        lambda: 0.15 / copper_factor(298.15) * copper_factor(383.15),
        0.1991,
        1e-3,
    ),
    Case("T coil at 5 degC", TRADE, lambda: winding_resistance(1.0, 5 + C0), 0.94, 0.005),
    Case("T coil at 40 degC", TRADE, lambda: winding_resistance(1.0, 40 + C0), 1.08, 0.005),
    Case("T coil at 60 degC", TRADE, lambda: winding_resistance(1.0, 60 + C0), 1.16, 0.005),
    Case("T coil at 80 degC", TRADE, lambda: winding_resistance(1.0, 80 + C0), 1.24, 0.005),
]


@each(CONDUCTORS, WINDINGS)
def test_copper(case: Case) -> None:
    check(case)


RATING = "R = V2 / P by hand"
# id, watts, volts, printed ohm, printed ampere
ELEMENTS = (
    ("E25 dryer", 5400, 240, 10.67, 22.50),
    ("E26 small dryer", 4800, 240, 12.00, 20.00),
    ("E27 bake", 2600, 240, 22.15, 10.83),
    ("E28 surface", 2500, 240, 23.04, 10.42),
    ("E29 dishwasher", 1200, 120, 12.00, 10.00),
    ("E30 small dishwasher", 800, 120, 18.00, 6.67),
    ("E31 washer", 1000, 120, 14.40, 8.33),
    ("E32 large defrost", 600, 120, 24.00, 5.00),
    ("E33 defrost", 400, 115, 33.06, 3.48),
    ("E34 washer EU", 2000, 230, 26.45, 8.70),
    ("E35 dishwasher EU", 1800, 230, 29.39, 7.83),
    ("E36 kettle class", 3000, 230, 17.63, 13.04),
    ("E37 heater of 20 A", 4800, 240, 12.00, 20.00),
)


def element_cases(key: str, watts: float, volts: float, *, ohms: float, amps: float) -> list[Case]:
    """Resistance, current and power of a rated element."""
    return [
        relative(f"{key}, ohm", RATING, lambda: element_resistance(watts, volts), ohms, 1e-3),
        relative(f"{key}, A", RATING, lambda: volts / element_resistance(watts, volts), amps, 1e-3),
        relative(f"{key}, W", RATING, lambda: heating_power(volts, ohms), watts, 1e-3),
    ]


RATED = [
    case for key, w, v, ohms, amps in ELEMENTS for case in element_cases(key, w, v, ohms=ohms, amps=amps)
]
# Cotton 5 kg at 1.34 kJ/(kg K) and drum 9 kg at 0.48; dishes 9 kg at 0.80 and tub 8 kg at 0.48 (all CP).
COTTON_AND_DRUM = 5 * 1340 + 9 * 480
DISHES_AND_TUB = 9 * 800 + 8 * 480
RISE = "trade figure by hand, loads CP, K/min"
HEATING = [
    relative(
        "E38 on 208 V", "fixed resistance by hand", lambda: heating_power(208, 240**2 / 5400), 4056, 1e-3
    ),
    relative(
        "E38 208/240",
        "fixed resistance by hand",
        lambda: heating_power(208, 1) / heating_power(240, 1),
        0.751,
        1e-3,
    ),
    relative(
        "E38 207/230",
        "fixed resistance by hand",
        lambda: heating_power(207, 1) / heating_power(230, 1),
        0.81,
        1e-6,
    ),
    relative(
        "E38 114/120",
        "fixed resistance by hand",
        lambda: heating_power(114, 1) / heating_power(120, 1),
        0.9025,
        1e-6,
    ),
    relative(
        "E38 126/120",
        "fixed resistance by hand",
        lambda: heating_power(126, 1) / heating_power(120, 1),
        1.1025,
        1e-6,
    ),
    relative(
        "E39 10 L by 45 K, kWh",
        "enthalpies of an outside library",
        lambda: heating_energy(10e-3, 45) / 3.6e6,
        0.5227,
        3e-3,
    ),
    relative("E39 time at 2 kW, min", "by hand", lambda: 45 / heating_rate(2000, 10e-3) / 60, 15.7, 5e-3),
    relative(
        "T front loader 2 kW", RISE, lambda: 60 * heating_rate(2000, 12e-3, COTTON_AND_DRUM), 1.96, 1e-2
    ),
    relative(
        "T front loader 1 kW", RISE, lambda: 60 * heating_rate(1000, 14e-3, COTTON_AND_DRUM), 0.86, 1e-2
    ),
    relative("T dishwasher 1.9 kW", RISE, lambda: 60 * heating_rate(1900, 4e-3, DISHES_AND_TUB), 4.1, 1e-2),
    relative("T dishwasher 0.8 kW", RISE, lambda: 60 * heating_rate(800, 4e-3, DISHES_AND_TUB), 1.73, 1e-2),
    relative("T dishwasher 0.6 kW", RISE, lambda: 60 * heating_rate(600, 5e-3, DISHES_AND_TUB), 1.13, 1e-2),
]


@each(RATED, HEATING)
def test_heating(case: Case) -> None:
    check(case)


PROBE = "temperature probe manual, appendix C, 10 k curve"
CONSTANTS_10K = (1.12924e-3, 2.34108e-4, 0.87755e-7)  # studylib.net 10315155
COPIED = (1.009249522e-3, 2.378405444e-4, 2.019202697e-7)  # often copied set, a hobby forum, 683955


def three_constant(ohms: float, constants: tuple[float, float, float] = CONSTANTS_10K) -> float:
    """Temperature by the three-constant law, [degC]."""
    return float(steinhart_hart(ohms, constants[0], constants[1], cubic=constants[2])) - C0


def curve_1006(celsius: float) -> float:
    """The standard curve from its 5 degC point and the fall of 4.4 % per kelvin there, [ohm]."""
    beta = beta_from_alpha(0.044, 5 + C0)
    return float(beta_law(4700 * 2.2739, beta, celsius + C0, reference=5 + C0))


STEINHART = [
    Case("E62 at -40", PROBE, lambda: three_constant(336103.2), -40, 0.05),
    Case("E63 at -30", PROBE, lambda: three_constant(176804.8), -30, 0.05),
    Case("E64 at -20", PROBE, lambda: three_constant(97006.9), -20, 0.05),
    Case("E65 at -10", PROBE, lambda: three_constant(55303.9), -10, 0.05),
    Case("E66 at -4", PROBE, lambda: three_constant(40151.6), -4, 0.05),
    Case("E67 at 0", PROBE, lambda: three_constant(32650.9), 0, 0.05),
    Case("E68 10 k", "studylib.net 10315155", lambda: three_constant(10e3), 25, 0.005),
    Case(
        "E69 copied constants are 0.32 K off",
        "hobby forum 683955",
        lambda: three_constant(10e3, COPIED),
        24.681,
        0.001,
    ),
]
BETA = "beta law by hand"
BETA_CELSIUS = (-20, 0, 10, 25, 40, 50, 60, 80, 100)
BETA_ROWS = (
    ("E70", 3380, (75022, 28224, 18231, 10000, 5810, 4160, 3039, 1711, 1024)),
    ("E71", 3435, (77523, 28704, 18410, 10000, 5759, 4101, 2981, 1662, 987)),
    ("E72", 3950, (105385, 33621, 20175, 10000, 5301, 3588, 2486, 1270, 698)),
    ("E73", 3977, (107095, 33900, 20272, 10000, 5279, 3563, 2463, 1253, 685)),
)


def beta_case(key: str, beta: float, celsius: float, *, ohms: float) -> Case:
    """One point of a table printed to the ohm."""
    return Case(
        f"{key} B {beta} at {celsius}", BETA, lambda: thermistor(10e3, beta, celsius + C0), ohms, 0.51
    )


BETAS = [
    beta_case(key, beta, celsius, ohms=ohms)
    for key, beta, row in BETA_ROWS
    for celsius, ohms in zip(BETA_CELSIUS, row, strict=True)
]
MAKER = "component maker's application note on standardized R/T characteristics"
FAMILY = "trade family 10 k, B 3950, by hand"
SMALL = "trade family 4.8 k at 25 degC (B 3950 assumed), by hand"
FAMILIES = [
    Case(
        "E74 beta against table at 0 degC, %",
        PROBE,
        lambda: 100 * (thermistor(10e3, 3950, C0) / 32650.9 - 1),
        3.0,
        0.05,
    ),
    relative("E75 curve at 5 degC", MAKER, lambda: curve_1006(5), 10687.3, 1e-3),
    relative("E75 curve at 7 degC", MAKER, lambda: curve_1006(7), 9793.2, 1e-3),
    Case("T 10 k at 10 degC", FAMILY, lambda: thermistor(10, 3950, 10 + C0), 20.2, 0.05),
    Case("T 10 k at 20 degC", FAMILY, lambda: thermistor(10, 3950, 20 + C0), 12.5, 0.05),
    Case("T 10 k at 30 degC", FAMILY, lambda: thermistor(10, 3950, 30 + C0), 8.0, 0.05),
    Case("T 10 k at 40 degC", FAMILY, lambda: thermistor(10, 3950, 40 + C0), 5.3, 0.05),
    Case("T 10 k at 60 degC", FAMILY, lambda: thermistor(10, 3950, 60 + C0), 2.5, 0.05),
    Case("T 10 k at 90 degC", FAMILY, lambda: thermistor(10, 3950, 90 + C0), 0.93, 0.005),
    Case("T 4.8 k at 20 degC", SMALL, lambda: thermistor(4.8, 3950, 20 + C0), 6.0, 0.05),
    Case("T 4.8 k at 40 degC", SMALL, lambda: thermistor(4.8, 3950, 40 + C0), 2.5, 0.05),
    Case("T 4.8 k at 60 degC", SMALL, lambda: thermistor(4.8, 3950, 60 + C0), 1.2, 0.05),
    Case(
        "T 5 % is 1.2 K", FAMILY, lambda: 313.15 - thermistor_temperature(1.05 * 5.301, 10, 3950), 1.2, 0.05
    ),
    Case("T 16.6 k at 14 degC", FAMILY, lambda: thermistor(10, 3950, 14 + C0), 16.6, 0.05),
]


@each(STEINHART, BETAS, FAMILIES)
def test_thermistors(case: Case) -> None:
    check(case)


IEC_PT = "IEC 60751 table, printed to 0.01 ohm"
PLATINUM_ROWS = (
    ("E76", -200, 18.52),
    ("E77", -100, 60.26),
    ("E78", -20, 92.16),
    ("E79", 0, 100.00),
    ("E80", 20, 107.79),
    ("E81", 50, 119.40),
    ("E82", 100, 138.51),
    ("E83", 200, 175.86),
    ("E84", 400, 247.09),
    ("E85", 600, 313.71),
    ("E86", 850, 390.48),
)


def platinum_cases(key: str, celsius: float, ohms: float) -> list[Case]:
    """The table forward to its last digit, and backward within 0.05 K where the printed digit allows it."""
    return [
        Case(f"{key} at {celsius}", IEC_PT, lambda: platinum_resistance(celsius + C0), ohms, 0.0051),
        Case(f"{key} back", IEC_PT, lambda: platinum_temperature(ohms) - C0, celsius, 0.05),
    ]


PLATINUM = [case for row in PLATINUM_ROWS for case in platinum_cases(*row)]


@each(PLATINUM)
def test_platinum(case: Case) -> None:
    check(case)


def test_older_platinum_tables_are_lower() -> None:
    # E87: an older curve prints 138.50 and 175.84 ohm at 100 and 200 degC, and one page misprints 35.34 at
    # -160 degC.
    assert abs(float(platinum_resistance(100 + C0)) - 138.50) > 0.004
    assert abs(float(platinum_resistance(200 + C0)) - 175.84) > 0.01
    assert round(float(platinum_resistance(-160 + C0)), 2) == 35.54
