"""What can be named in a binding: every parameter and quantity, with its unit or its names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tundish.appliance.fields import is_number
from tundish.appliance.lines import Fields, Node, Text
from tundish.appliance.measures import dimension, known, starts_like_number, unit_of
from tundish.appliance.refusals import one


@dataclass(frozen=True)
class Owner:
    """A parameter or quantity as others see it.

    unit : of its numbers; "" for a choice and where the file gives none that is known.
    names : of a choice parameter, in their stored order.
    parameter : False for a quantity.
    """

    name: str
    unit: str
    names: tuple[str, ...] = ()
    parameter: bool = True

    @property
    def dimension(self) -> str | None:
        """Dimension of the unit, None where there is none."""
        return dimension(self.unit)

    @property
    def shown(self) -> str:
        """The name and what it stands for, for a message."""
        what = (
            f"a choice of {', '.join(self.names)}"
            if self.names
            else f"{one(str(self.dimension))} in {self.unit}"
        )
        return f'"{self.name}", {what}'


Owners = Mapping[str, Owner]


def owners(root: Fields) -> dict[str, Owner]:
    """Every parameter and quantity of the file. What is wrong inside them is said by their own readers."""
    found = {name: _parameter(name, node) for name, node in section(root, "parameters").items()}
    for name, node in section(root, "quantities").items():
        # One name must not stand for two things in a binding.
        if name in found:
            node.refuse("a name that no parameter has", "rename one of the two", seen=f'"{name}" again')
        else:
            found[name] = Owner(name, _unit(node), parameter=False)
    return found


def section(root: Fields, name: str) -> Mapping[str, Node]:
    """The entries of a section; nothing when it is not a mapping."""
    node = root.entries.get(name)
    return node.entries if isinstance(node, Fields) else {}


def refuse_name(name: str, node: Node) -> None:
    """Refuse a name that would be taken for a number where it is used."""
    if starts_like_number(name):
        node.refuse("a name that starts with a letter", "rename it", seen=f'"{name}"')


def numeric(every: Owners) -> list[str]:
    """Names that stand for a number."""
    return [name for name, owner in every.items() if not owner.names]


def choices(every: Owners) -> dict[str, tuple[str, ...]]:
    """Choice parameters and their names."""
    return {name: owner.names for name, owner in every.items() if owner.names}


def _parameter(name: str, node: Node) -> Owner:
    if isinstance(node, Text):
        return Owner(name, "-" if is_number(node) else unit_of(node.text))
    entries = node.entries if isinstance(node, Fields) else {}
    # Only what a binding needs is looked at; the rest is read later, with its refusals.
    choice = entries.get("choice")
    # Beside `by`, `choice` can only be the name of a case.
    if isinstance(choice, Fields) and "by" not in entries:
        return Owner(name, "", tuple(choice.entries))
    return Owner(name, _unit(node))


def _unit(node: Node) -> str:
    entry = node.entries.get("unit") if isinstance(node, Fields) else None
    return entry.text if isinstance(entry, Text) and known(entry.text) else ""
