"""One setting set, or put back to usual, by its key as a person writes it."""

from __future__ import annotations

from tundish.store.errors import StoreError
from tundish.store.settings import Own, settings_of, with_values, without
from tundish.store.settings_text import FAMILY, check_key, merged, read_value


def put(own: Own, key: str, text: str, source: str = "") -> Own:
    """The settings with one set from its text, as in a table. StoreError or PriceError when it cannot be."""
    settings = settings_of(own)
    values = merged({key: read_value(key, text, "", settings)}, settings)
    return with_values(own, values, {name: source for name in values if source})


def put_back(own: Own, key: str) -> Own:
    """The settings with one as usual again; one family's price of a new machine falls back to the price of any.

    StoreError when the shop did not set it.
    """
    check_key(key)
    if not key.startswith(FAMILY):
        return without(own, key)
    family, prices = key[len(FAMILY) :], dict(own.values.get("replacement", {}))
    if family not in prices:
        raise StoreError(
            seen=f"setting {key!r}",
            allowed=", ".join(FAMILY + one for one in prices) or "none: all are usual",
            do="name one that was set",
        )
    bare = without(own, "replacement")
    usual = settings_of(bare).replacement
    del prices[family]
    prices = {**usual, **prices}
    # Nothing of the shop's own is left
    if prices == usual:
        return bare
    return with_values(
        own, {"replacement": prices}, {k: s for k, s in own.sources.items() if k == "replacement"}
    )
