"""Numbers the closed forms stand on, each with its unit, uncertainty and source.

`uncertainty` is one standard uncertainty in the same unit; 0 means exact by definition, None means nobody
stated one.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Constant:
    """A number of the handbook."""

    symbol: str
    value: float
    unit: str
    uncertainty: float | None
    source: str


# Reference points and exact changes of unit.
ICE_POINT = Constant(
    "T0", 273.15, "K", 0.0, "exact: BIPM, The International System of Units, 9th ed. 2019, 2.3.1"
)
ROOM_20 = Constant("T20", 293.15, "K", 0.0, "exact: reference temperature 20 degC, ISO 1:2022")
ROOM_25 = Constant(
    "T25", 298.15, "K", 0.0, "exact: reference temperature 25 degC of thermistor data, IEC 60539-1"
)
STANDARD_GRAVITY = Constant("g", 9.80665, "m/s2", 0.0, "exact: 3rd CGPM, 1901; on site within 0.3 %")
ATMOSPHERE = Constant("p_atm", 101325.0, "Pa", 0.0, "exact: 10th CGPM, 1954")
BAR = Constant("bar", 1e5, "Pa", 0.0, "exact: BIPM, SI Brochure 8th ed. 2006, table 8")
HOUR = Constant("h", 3600.0, "s", 0.0, "exact: BIPM, SI Brochure 9th ed., table 8")
GALLON = Constant("gal", 3.785411784e-3, "m3", 0.0, "exact: US gallon = 231 in3, NIST SP 811 B.8")
PSI = Constant("psi", 0.45359237 * 9.80665 / 0.0254**2, "Pa", 0.0, "exact: lb g / in2, NIST SP 811 B.8")
MINUTE = Constant("min", 60.0, "s", 0.0, "exact: BIPM, SI Brochure 9th ed., table 8")

# Water where a form has no temperature of its own; `water.py` has the whole curve.
WATER_DENSITY_15 = Constant(
    "rho15",
    999.103,
    "kg/m3",
    0.01,
    "Wagner and Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387, at 101.325 kPa",
)
WATER_DENSITY_20 = Constant(
    "rho20",
    998.207,
    "kg/m3",
    0.01,
    "Wagner and Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387, at 101.325 kPa",
)
WATER_HEAT_20 = Constant("c20", 4184.1, "J/(kg K)", 4.0, "Wagner and Pruss 2002 as above; uncertainty 0.1 %")

# Copper: the standard of resistance, its straight line in temperature, and American wire gauge.
COPPER_RESISTIVITY_20 = Constant(
    "rho_Cu", 1 / 58 * 1e-6, "ohm m", 0.0, "IEC 60028:1925, annealed copper standard"
)
COPPER_INTERCEPT = Constant(
    "T_Cu",
    273.15 - 234.5,
    "K",
    0.5,
    "IEC 60228 temperature line reaches zero at -234.5 degC, from memory; IEC 60034-1 rounds to -235",
)
AWG_36 = Constant("d36", 0.127e-3, "m", 0.0, "exact: ASTM B258, gauge 36 is 0.005 in")
AWG_RATIO = Constant(
    "k_awg", 92 ** (1 / 39), "-", 0.0, "exact: ASTM B258, gauge 0000 to 36 is 92 : 1 in 39 steps"
)

# Temperature sensors: coefficients and the ends of their curves.
PLATINUM_A = Constant("A", 3.9083e-3, "1/K", None, "IEC 60751:2008, clause 4")
PLATINUM_B = Constant("B", -5.775e-7, "1/K2", None, "IEC 60751:2008, clause 4")
PLATINUM_C = Constant("C", -4.183e-12, "1/K4", None, "IEC 60751:2008, clause 4, below 0 degC only")
PLATINUM_LOW = Constant("T_lo", 73.15, "K", 0.0, "IEC 60751:2008, curve starts at -200 degC")
PLATINUM_HIGH = Constant("T_hi", 1123.15, "K", 0.0, "IEC 60751:2008, curve ends at 850 degC")

THERMISTOR_LOW = Constant("T_lo", 173.15, "K", None, "common practice, no source: bead data end at -100 degC")
THERMISTOR_HIGH = Constant(
    "T_hi", 573.15, "K", None, "common practice, no source: glass bead data end at 300 degC"
)

JET_DISCHARGE = Constant(
    "Cd", 0.61, "-", 0.02, "sharp-edged round hole, free jet; Kirchhoff 1869 gives pi/(pi+2)"
)

# Stiffness of pipe walls; plastic creeps, so its modulus holds for a pressure wave only.
YOUNG_COPPER = Constant("E_Cu", 117e9, "Pa", 10e9, "from memory")
YOUNG_STEEL = Constant("E_Fe", 200e9, "Pa", 10e9, "from memory")
YOUNG_PEX = Constant("E_PEX", 0.6e9, "Pa", 0.2e9, "from memory; fast loading at room temperature")

# Gathered by hand so that a new constant without a record in the list fails a test.
CONSTANTS: tuple[Constant, ...] = (
    ICE_POINT,
    ROOM_20,
    ROOM_25,
    STANDARD_GRAVITY,
    ATMOSPHERE,
    BAR,
    HOUR,
    MINUTE,
    GALLON,
    PSI,
    WATER_DENSITY_15,
    WATER_DENSITY_20,
    WATER_HEAT_20,
    COPPER_RESISTIVITY_20,
    COPPER_INTERCEPT,
    AWG_36,
    AWG_RATIO,
    PLATINUM_A,
    PLATINUM_B,
    PLATINUM_C,
    PLATINUM_LOW,
    PLATINUM_HIGH,
    THERMISTOR_LOW,
    THERMISTOR_HIGH,
    JET_DISCHARGE,
    YOUNG_COPPER,
    YOUNG_STEEL,
    YOUNG_PEX,
)
