"""The steps of a repair with the caution at the step it belongs to, and the photos to take.

All of it is common practice, no source. What the maker's manual and local codes say comes first.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from tundish.appliance.records import Fault
from tundish.documents.words import plain
from tundish.plan.demands import PANELS


@dataclass(frozen=True)
class FixStep:
    """A step. caution : to be heeded before it, "" for none. photo : what to photograph then, "" for nothing.

    before_moving : it comes before the machine is moved or opened, hence before the steps that make it safe behind.
    """

    step: str
    caution: str = ""
    photo: str = ""
    before_moving: bool = False


@dataclass(frozen=True)
class Way:
    """How a kind of part is changed. words : one of them must begin a word of the part's name. before, after : of the new part."""

    words: tuple[str, ...]
    before: tuple[FixStep, ...] = ()
    after: tuple[FixStep, ...] = ()


OLD_BESIDE_NEW = FixStep(
    "hold the new part beside the old one: connector, size, volts, colour",
    "A part that only looks alike is not fitted.",
)
AS_FOUND = FixStep(
    "photograph wires, hoses and clamps before anything comes off", photo="wires, hoses and clamps as found"
)
EARTH = FixStep(
    "put every wire back as on the photo, the earth first",
    "No earth wire left off; wires clear of drum, belt and hot parts.",
)
BEFORE_CLOSING = FixStep(
    "photograph the work before it is closed up", photo="the new part in place, before the panel goes on"
)
HAND_TIGHT = FixStep(
    "join the hose with new sealing washers",
    "Plastic threads by hand, then a fraction of a turn; no sealant and no grease on them.",
)
FLUSH = FixStep("flush the line into a bucket before it is joined, about 5 L", "Bucket and towel first.")
DRY = FixStep("open the tap slowly and look at every joint with dry paper")

# The first that fits counts, so the special ones stand before the general.
WAYS = (
    Way(
        ("inlet valve", "mixing valve", "flow meter", "flow washer", "fill hose", "stop valve", "inlet screen", "line or hose"),
        (FixStep("let the pressure off into a towel", "Tap shut first."),),
        (FLUSH, HAND_TIGHT, DRY),
    ),
    Way(
        ("capacitor", "board", "inverter", "triac", "relay"),
        (
            FixStep(
                "prove the capacitors empty: under 50 V d.c. between their ends",
                "Wait 3 to 5 min after the plug is out; discharge through a resistor, never with a screwdriver.",
            ),
            FixStep("find what destroyed the old one: coil, motor or wire shorted", "A board put onto a short goes the same way."),
        ),
    ),
    Way(
        ("cut-out", "fuse", "one-shot", "high-limit", "limiter", "overload"),
        (FixStep("find why it opened, and put that right first", "Never bridge it, not for one run."),),
    ),
    # In an oven still air is enough, and its own heat is what it is made for
    Way(
        ("bake", "broil", "ring element", "hob coil"),
        (FixStep("let it cool; at most 40 °C to the hand's back", "Metal may be hot long after the plug is out."),),
        (FixStep("read ohms and insulation of the new one as fitted, before power"),),
    ),
    Way(
        ("heater", "heating element", "element"),
        (FixStep("let it cool; at most 40 °C to the hand's back", "Water and metal may be hot after the plug is out."),),
        (FixStep("read ohms and insulation of the new one as fitted, before power"),
         FixStep("give it power only with water or air over it", "Dry it burns out in seconds.")),
    ),
    Way(
        ("terminal block", "harness", "wiring", "connector", "cord", "receptacle"),
        (FixStep("cut back to bright copper and crimp new terminals", "Block and wire together: burnt copper burns again."),),
        (FixStep("pull each wire once, by hand"),),
    ),
    Way(
        ("pump filter", "sump filter"),
        (FixStep("tray and towels, let the water out slowly", "Water may be hot: under 40 °C first. Glass splinters: gloves."),),
        (FixStep("turn the impeller once all round, then shut the filter"),),
    ),
    Way(
        ("drain pump", "circulation pump", "condensate pump"),
        (FixStep("take the water out first, wet vacuum or towels", "No water over the connectors."),),
        (FixStep("set the hose clamps as found; pour 2 L in: dry paper below"),),
    ),
    Way(
        ("bearing", "spider", "drum and tub", "gearcase", "absorbers", "springs", "suspension"),
        (FixStep("take weight off before the last bolt", "Two persons over 70 kg; the drum may turn and drop."),),
        (FixStep("turn the drum by hand: free all round, no touch"),),
    ),
    Way(
        ("gasket", "seal", "hoses", "hose", "dome"),
        (),
        (FixStep("seat it all round, clamp on its bead", "Pinched or off its bead it leaks on the tenth run, not the first."),),
    ),
    Way(
        ("belt", "coupler", "idler", "motor", "brushes", "blower", "fan"),
        (),
        (FixStep("turn it by hand once all round", "Fingers out of belt and pulley."),),
    ),
    Way(
        ("lock", "latch", "lid switch", "door switch"),
        (),
        (FixStep("five locks and unlocks in a row", "Never leave a lock or switch bridged."),),
    ),
    Way(
        ("thermistor", "sensor"),
        (),
        (FixStep("read its ohms at room temperature before it is closed up"),),
    ),
)  # fmt: skip


def fix_steps(fault: Fault, *, part: bool) -> tuple[FixStep, ...]:
    """The steps of the repair of a fault, in order. part : whether a new part is fitted."""
    return tuple(dict.fromkeys(_steps(fault, part)))


def way_of(fault: Fault) -> Way:
    """How its kind of part is changed; an empty way for a part without its own."""
    name = fault.part.casefold()
    # At the beginning of a word: a clock has no lock
    return next((way for way in WAYS if any(re.search(rf"\b{re.escape(word)}", name) for word in way.words)), Way(()))


def _steps(fault: Fault, part: bool) -> Iterator[FixStep]:
    # What users and installers did is put right where it is; only a new part is fitted as any other
    opened = bool(set(fault.access) & {*PANELS})
    way = way_of(fault) if part or fault.kind == "wear" else Way(())
    if "OUT" in fault.access:
        yield FixStep(
            "photograph hose route and taps before the machine is moved",
            "Two persons over 70 kg; protect the floor.",
            "hose route and taps before the machine is moved",
            before_moving=True,
        )
    if opened or part:
        yield AS_FOUND
    yield from way.before
    if part:
        yield OLD_BESIDE_NEW
    yield FixStep(f"put right: {fault.title}" if not part else f"fit the new part: {fault.part}")
    yield from way.after
    if opened:
        yield EARTH
        yield BEFORE_CLOSING
    for line in fault.after:
        yield _told(line)


def _told(line: str) -> FixStep:
    """A line of the description that goes with the repair; one that forbids is a caution, to be heeded before the last step."""
    line = plain(line)
    first = line.split(maxsplit=1)[0].casefold()
    if first in ("never", "refuse", "do"):
        return FixStep("read before it goes back into use", line)
    return FixStep(line)
