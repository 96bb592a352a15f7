"""The laws a description may name: LAWS, name -> Law. A new family of laws is a file and a line here."""

from __future__ import annotations

from tundish.physics.air import AIR_WAY, BLOWER, DUCT, OPENING
from tundish.physics.alternating import CAPACITOR, WINDING
from tundish.physics.conduction import CONDUCTOR, CONTACT, LINEAR
from tundish.physics.friction import HOSE, PIPE, SIPHON
from tundish.physics.law import Law
from tundish.physics.restriction import KINK, MINOR_LOSS, ONE_WAY, ORIFICE, SCREEN, STOP_VALVE, VALVE_BODY
from tundish.physics.supply import HOUSE_LINE, PUMP, REGULATOR

_ALL = (
    PIPE,
    HOSE,
    MINOR_LOSS,
    ORIFICE,
    KINK,
    SCREEN,
    STOP_VALVE,
    HOUSE_LINE,
    VALVE_BODY,
    REGULATOR,
    PUMP,
    ONE_WAY,
    SIPHON,
    CONDUCTOR,
    CONTACT,
    LINEAR,
    CAPACITOR,
    WINDING,
    DUCT,
    OPENING,
    BLOWER,
    AIR_WAY,
)

LAWS: dict[str, Law] = {law.name: law for law in _ALL}

ALTERNATING = frozenset((CAPACITOR.name, WINDING.name))
"""Laws that mean something only where the potentials alternate."""
