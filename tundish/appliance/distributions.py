"""How a value is drawn: a number, a named form, a choice of names, or one form for each name of a choice."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from tundish.appliance.bindings import choice_name
from tundish.appliance.fields import ANY, NOT_NEGATIVE, POSITIVE, Range, keys, table, two, word
from tundish.appliance.lines import Fields, Node, Text
from tundish.appliance.measures import PLAIN, Scale, in_unit
from tundish.appliance.owners import Owners
from tundish.appliance.records import Distribution
from tundish.appliance.refusals import listed

_FACTOR = Range("a factor above 1", 1.0, above=True)


@dataclass(frozen=True)
class Target:
    """What is drawn: numbers on a scale, or the names of a choice."""

    scale: Scale = PLAIN
    names: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Form:
    """A form of two numbers.

    first, second : which numbers are allowed.
    rising : whether the first must be below the second.
    shape : which of the two are plain numbers whatever the unit: none, second or both.
    """

    meaning: str
    first: Range = ANY
    second: Range = ANY
    rising: bool = False
    shape: str = "none"


_FORMS = {
    "normal": _Form("[mean, standard deviation]", second=POSITIVE),
    "lognormal": _Form("[median, factor of one standard deviation]", POSITIVE, _FACTOR, shape="second"),
    "uniform": _Form("[low, high]", rising=True),
    "loguniform": _Form("[low, high]", POSITIVE, POSITIVE, rising=True),
    "beta": _Form("[a, b]", POSITIVE, POSITIVE, shape="both"),
}
_CLIP = _Form("[low, high]", rising=True)
# What a mapping may hold; `by` holds one of these for each name of a choice.
FORMS = ("value", *_FORMS, "choice", "by")
# Stands in for a distribution that was refused; NaN, so that its reach is not judged too.
NOTHING = Distribution("constant", (math.nan,))


def distribution(node: Node | None, target: Target, known: Owners) -> Distribution:
    """The distribution of a target; names of a choice come out in the target's order."""
    if isinstance(node, Fields):
        return _mapped(node, target, known)
    if node is None:
        return NOTHING
    if target.names:
        return _certain(node, target)
    if isinstance(node, Text):
        return Distribution("constant", (in_unit(node, target.scale),))
    node.refuse("a number or a mapping", f"write a number, or one of {listed(FORMS)}")
    return NOTHING


def named(node: Node, target: Target) -> Distribution:
    """A choice set to one of its names."""
    return Distribution("name", names=(word(node, target.names, "name of the choice", target.names[0]),))


def choice(node: Node, names: tuple[str, ...]) -> Distribution:
    """Weights by name; names left out weigh nothing."""
    weights = table(node, names, "name of the choice", within=NOT_NEGATIVE)
    if isinstance(node, Fields) and sum(weights.values()) <= 0:
        node.refuse("weights that sum above 0", "give a name a weight above 0", seen="weights that sum to 0")
    return Distribution("choice", tuple(weights.get(name, 0.0) for name in names), names)


def _mapped(node: Fields, target: Target, known: Owners) -> Distribution:
    clip, rest = node.split("clip")
    # Beside `by` every other key is the name of a case, even `normal` or `beta`.
    made = _by(rest, target, known) if "by" in rest.entries else _one(rest, target)
    if "clip" not in clip:
        return made
    if target.names:
        clip["clip"].refuse("no clip on a choice", "take the clip out")
        return made
    return replace(made, clip=_two(clip["clip"], _CLIP, target.scale))


def _one(node: Fields, target: Target) -> Distribution:
    """The one form of a mapping."""
    forms = keys(node, (), FORMS)
    if len(forms) != 1:
        # Where the only key is unknown that was said already.
        if forms or not node.entries:
            allowed = f"exactly one of {listed(FORMS)}"
            node.refuse(allowed, "say in one way how it is drawn", seen=listed(forms) or "none")
        return NOTHING
    (form, entry), *_ = forms.items()
    # Names are drawn for a choice and numbers for a number, never one for the other.
    if bool(target.names) != (form == "choice"):
        allowed = f"a choice of {listed(target.names)}" if target.names else "a form for numbers"
        node.refuse(allowed, "use a form that fits the parameter", seen=f'the form "{form}"')
        return NOTHING
    if form == "choice":
        return choice(entry, target.names)
    if form == "value":
        return Distribution("constant", (in_unit(entry, target.scale),))
    return Distribution(form, _two(entry, _FORMS[form], target.scale))


def _certain(node: Node, target: Target) -> Distribution:
    """A name of a choice as weights: that name for certain."""
    name = named(node, target).names[0]
    return Distribution("choice", tuple(float(each == name) for each in target.names), target.names)


def _two(node: Node, form: _Form, scale: Scale) -> tuple[float, float]:
    both = two(node, form.meaning)
    if both is None:
        return math.nan, math.nan
    first = PLAIN if form.shape == "both" else scale
    # A standard deviation in degrees has no offset.
    spread = scale if form.rising else replace(scale, difference=True)
    second = spread if form.shape == "none" else PLAIN
    low, high = in_unit(both[0], first, form.first), in_unit(both[1], second, form.second)
    if form.rising and low >= high:
        advice = "swap the two, or write one number if it never differs"
        node.refuse("low below high", advice)
    return low, high


def _by(node: Fields, target: Target, known: Owners) -> Distribution:
    """One distribution for each name of a choice parameter."""
    key, cases = node.split("by")
    of = choice_name(key["by"], known)
    if not of:
        return NOTHING
    names = known[of].names
    # Every name needs its case: a machine with that name must be drawn too.
    given = keys(cases, names)
    return Distribution(
        "by", key=of, cases=tuple(distribution(given.get(name), target, known) for name in names)
    )
