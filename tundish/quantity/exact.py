"""Definitions that the factors of the unit table are built from, and their sources.

All are exact by definition except the atomic weights.
"""

from __future__ import annotations

from math import pi

SI = "exact: SI unit or prefix; BIPM, The International System of Units, 9th ed. 2019, tables 2, 4 and 7"
WITH_SI = "exact: BIPM, The International System of Units, 9th ed. 2019, table 8"
BAR_SOURCE = "exact: 100 kPa; BIPM, The International System of Units, 8th ed. 2006, table 8"
NIST = "exact: from inch, pound, gallon or gravity; NIST Special Publication 811 (2008), appendix B.8"
WATER_COLUMN = (
    "exact: conventional water of 1000 kg/m3 under standard gravity; NIST SP 811 (2008), appendix B.8"
)
COUNT = "exact: a count, or parts of a hundred"
JULIAN_YEAR = "exact: 365.25 days; IAU Style Manual 1989, 5.15"
ATOMIC_WEIGHTS = "mass of CaCO3 by abridged standard atomic weights, CIAAW 2021; degrees from memory"
TRADE = "common practice, no source"

# Standard gravity, 3rd CGPM 1901 [m/s2].
GRAVITY = 9.80665
# International inch, 1959 [m].
INCH = 0.0254
# Foot [m].
FOOT = 12 * INCH
# International avoirdupois pound, 1959 [kg].
POUND = 0.45359237
# Grain [kg].
GRAIN = POUND / 7000
# US liquid gallon [m3].
GALLON = 231 * INCH**3
# Litre [m3].
LITRE = 1e-3
# Minute [s].
MINUTE = 60.0
# Hour [s].
HOUR = 3600.0
# Day [s].
DAY = 86400.0
# International Table British thermal unit [J].
BTU = 1055.05585262
# Pressure of a metre of conventional water [Pa/m].
WATER = 1000.0 * GRAVITY
# Degree of angle [rad].
DEGREE = pi / 180
# Size of a degree Fahrenheit [K].
FAHRENHEIT = 5 / 9

# Abridged standard atomic weights of calcium, carbon, oxygen [g/mol]; 1 g/mol is 1 kg/kmol.
_CA, _C, _O = 40.078, 12.011, 15.999
# Hardness of 1 mol of calcium in 1 m3, as CaCO3 [kg/m3].
CHALK = (_CA + _C + 3 * _O) * 1e-3
# Hardness of 10 g of CaO in 1 m3, as CaCO3 [kg/m3].
GERMAN_DEGREE = 1e-2 * (_CA + _C + 3 * _O) / (_CA + _O)
