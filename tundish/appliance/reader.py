"""Reads a description: text in, frozen records out, every fault with its line."""

from __future__ import annotations

from tundish.appliance.fields import Range, keys, mapping, number, text
from tundish.appliance.lines import Fields, Node, digest, tree
from tundish.appliance.owners import owners
from tundish.appliance.reaches import refuse_reaches
from tundish.appliance.records import Description
from tundish.appliance.references import refuse_cycles
from tundish.appliance.refusals import DescriptionError, Ledger, Refusal
from tundish.appliance.sections_checks import checks
from tundish.appliance.sections_complaints import circumstances, complaints
from tundish.appliance.sections_faults import faults
from tundish.appliance.sections_instruments import instruments
from tundish.appliance.sections_networks import networks, setups
from tundish.appliance.sections_notices import notices
from tundish.appliance.sections_parameters import markets, parameters
from tundish.appliance.sections_phone import phone, stop_words
from tundish.appliance.sections_quantities import quantities
from tundish.appliance.sections_questions import Askable, questions

__all__ = ["DescriptionError", "Refusal", "read"]

FORMAT = 1
_REQUIRED = ("format", "family", "markets", "parameters", "faults", "complaints", "checks")
_OPTIONAL = (
    "sources", "networks", "setups", "quantities", "circumstances", "instruments", "notices", "questions", "phone", "stop_words",
)  # fmt: skip
SECTIONS = (*_REQUIRED, *_OPTIONAL)


def read(text: str, file: str) -> Description:
    """The description in a text; `file` is the name that refusals show.

    Raises DescriptionError with every fault found.

    >>> read("format: 2", "toy.yaml")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    tundish.appliance.refusals.DescriptionError: toy.yaml:1: ...
    """
    ledger = Ledger(file)
    root = tree(text, ledger)
    if root is None:
        raise DescriptionError(ledger.refusals)
    made = _description(root, digest(text))
    # Cross checks last, on what could be read.
    refuse_cycles(root, made)
    refuse_reaches(root, made)
    ledger.finish()
    return made


def _description(root: Fields, fingerprint: str) -> Description:
    given = keys(root, _REQUIRED, _OPTIONAL)
    # An empty section is likelier a slip than a wish.
    for name, node in given.items():
        if isinstance(node, Fields) and not node.entries:
            node.refuse("a section with at least one entry", f"fill {name}, or take it out")
    number(given.get("format"), Range(f"{FORMAT}", FORMAT, FORMAT))
    # Names first: any section may bind any of them.
    known = owners(root)
    # Then each section after those it names.
    drawn = parameters(given.get("parameters"), known)
    places = markets(given.get("markets"), known, drawn)
    flows = networks(given.get("networks"), known)
    states = setups(given.get("setups"), known, flows)
    wrong = faults(
        given.get("faults"), known, drawn, currencies=[place.currency for place in places.values()]
    )
    tools = instruments(given.get("instruments"))
    looked = checks(given.get("checks"), known, tools)
    classes = complaints(given.get("complaints"), known, wrong)
    told = circumstances(given.get("circumstances"), wrong)
    halts = stop_words(given.get("stop_words"))
    return Description(
        family=text(given.get("family")),
        format=FORMAT,
        sources=_sources(given.get("sources")),
        markets=places,
        parameters=drawn,
        networks=flows,
        setups=states,
        quantities=quantities(given.get("quantities"), known, states, described=flows),
        faults=wrong,
        complaints=classes,
        circumstances=told,
        instruments=tools,
        checks=looked,
        digest=fingerprint,
        notices=notices(given.get("notices"), looked),
        questions=questions(given.get("questions"), Askable(told, looked, tuple(classes), tuple(halts))),
        phone=phone(given.get("phone"), wrong),
        stop_words=halts,
    )


def _sources(node: Node | None) -> dict[str, str]:
    return {name: text(entry) for name, entry in mapping(node).items()}
