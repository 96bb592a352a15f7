"""The laws a description may name: LAWS, name -> Law. A new family of laws is a file and a line here."""

from __future__ import annotations

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
)

LAWS: dict[str, Law] = {law.name: law for law in _ALL}
