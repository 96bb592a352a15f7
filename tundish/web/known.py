"""The families that come with the tool, each read once: their files do not change while the server runs."""

from __future__ import annotations

from functools import lru_cache

from tundish.appliance.records import Description
from tundish.documents.facts import Facts, family_facts
from tundish.store import library


# A family may be written in several ways; more than these are not worth keeping
@lru_cache(maxsize=32)
def load(family: str) -> Description:
    """The description of a family, frozen, shared by all requests. StoreError for an unknown one."""
    return library.load(family)


def family_list() -> list[Facts]:
    """Families with their markets, complaints and circumstances."""
    return [family_facts(load(name)) for name in library.families()]
