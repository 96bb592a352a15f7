"""What is said where our work ends: who takes over, and what to do until they come. No instructions for the work itself."""

from __future__ import annotations

from collections.abc import Mapping

from tundish.plan.lawful_checks import OTHERS

# Duties of common practice, no source; 29 CFR 1910.333 and local law outrank them.
UNTIL_THEN: Mapping[str, str] = {
    "gas train": (
        "Stop. With a smell of gas: touch no switch, open windows, shut the gas tap if it can be "
        "reached safely, bring people out and call the gas emergency service from outside."
    ),
    "sealed circuit": (
        "Stop before the sealed circuit is opened. With a flammable refrigerant: no flame, no heat, no sparking tool, ventilate."
    ),
    "microwave high voltage": (
        "Stop. Leave the cover on: the capacitor can kill with the plug out. Put it out of use with a tag on the plug."
    ),
    "house wiring": (
        "Stop. No machine on this outlet until it is made safe: plug out, circuit off if the outlet is burnt or wet, told in writing."
    ),
}
PLAIN = "Say in writing what was read and what has to be done. Your work is done when they have it."


def handover_words(domain: str) -> str:
    """What to say and do until somebody else takes over. domain : one of `OTHERS`, or "" for a plain matter of the house."""
    if domain not in OTHERS:
        return PLAIN
    return f"{UNTIL_THEN[domain]} {OTHERS[domain][0].upper()}{OTHERS[domain][1:]} takes over."
