"""The shop's settings on disk: one JSON file of what the shop set itself; the rest is usual for its currency.

The file is there whole or not at all. What only a newer version knows is kept. A broken file is never written
over without a copy of it beside.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from tundish.appliance.records import Market
from tundish.plan.shop import Shop, shop_for
from tundish.prices.errors import PriceError
from tundish.prices.settings import Settings
from tundish.prices.settings_plain import changed, plain
from tundish.prices.settings_rules import MONEY, RULES
from tundish.prices.settings_usual import OWN, USUAL, source_of, usual
from tundish.store import given
from tundish.store.clock import zone_named
from tundish.store.errors import StoreError, clear_errors
from tundish.store.whole import alone, written_whole

FORMAT = 1
PARTS = ("format", "settings", "sources")
# Sums of money: they mean nothing without the currency they were set in.
SUMS = (*(name for name, rule in RULES.items() if rule is MONEY), "replacement")
CURRENCY = "EUR"


class BrokenSettings(StoreError):
    """A settings file that cannot be used as it is."""


@dataclass(frozen=True)
class Own:
    """What a shop set itself.

    values : plain values by setting, as `settings_plain` has them. sources : where a value is from, if said.
    kept : settings and other parts of the file that only a newer version knows, by part.
    """

    values: Mapping[str, Any] = field(default_factory=dict)
    sources: Mapping[str, str] = field(default_factory=dict)
    kept: Mapping[str, Any] = field(default_factory=dict)

    @property
    def currency(self) -> str | None:
        """The shop's currency; None while it has chosen none."""
        return self.values.get("currency")

    @property
    def unknown(self) -> Mapping[str, Any]:
        """Settings that this version does not know."""
        found: Mapping[str, Any] = self.kept.get("settings", {})
        return found

    def source(self, name: str, settings: Settings) -> str:
        """Where the value of a setting is from."""
        if name in self.values:
            return self.sources.get(name, OWN)
        return source_of(settings, name)


NOTHING = Own()


def settings_of(own: Own, currency: str = CURRENCY) -> Settings:
    """All settings: the shop's own, the rest usual. currency : taken while the shop has chosen none.

    PriceError naming the setting that cannot be; for a currency without usual figures every sum must be its own.
    """
    chosen = own.currency or currency
    missing = [name for name in SUMS if name not in own.values]
    if chosen in USUAL:
        base = usual(chosen)
    elif missing:
        raise PriceError(
            seen=f"currency {chosen!r} without {', '.join(missing)}",
            allowed=f"{', '.join(USUAL)}, or another one with every sum of the shop's own",
            do="import a table that sets the currency and all of these sums at once",
        )
    else:
        base = usual(CURRENCY)
    return changed(base, own.values)


def shop_of(own: Own, market: Market, family: str = "any") -> Shop:
    """The figures the planner reckons with: the shop's own, or the usual ones of the market while it set none.

    PriceError where the shop's currency is not the market's.
    """
    if not own.values:
        return shop_for(market)
    return settings_of(own, market.currency).shop(market, family)


def read_own(path: Path) -> Own:
    """What the file holds; nothing, when there is no file. BrokenSettings when it cannot be used."""
    if not path.exists():
        return NOTHING
    try:
        own = from_json(given.read_text(path), str(path))
    except given.Unusable as error:
        raise _broken(path, error) from error
    try:
        return checked(own)
    except (PriceError, StoreError) as error:
        raise _broken(path, error) from error


def change(path: Path, step: Callable[[Own], Own], *, over_broken: bool = False) -> Own:
    """Read, change and write the file while no other program can; returns what was written.

    step : from the old to the new; its errors pass through, and the file stays as it was.
    over_broken : start from nothing when the file is broken, with a copy of it kept beside; else it is refused.
    """
    with alone(path):
        broken = False
        try:
            own = read_own(path)
        except BrokenSettings:
            if not over_broken:
                raise
            own, broken = Own(), True
        new = checked(step(own))
        # Asked when it is set, not when it is read: a computer without the database must not lose its settings
        zone_named(settings_of(new).zone)
        if broken:
            keep_copy(path)
        # Nothing to write is no reason to touch the disk
        if new != own or broken:
            with written_whole(path) as out:
                out.write(to_json(new.values, new))
    return new


def with_values(own: Own, values: Mapping[str, Any], sources: Mapping[str, str] | None = None) -> Own:
    """The settings with some set anew. sources : where the values are from; the shop's own where nothing is said.

    StoreError when the currency changes and sums of the old one would stay.
    """
    stale = [name for name in SUMS if name in own.values and name not in values]
    currency = values.get("currency", own.currency)
    if currency != own.currency and own.currency and stale:
        raise StoreError(
            seen=f"currency {currency!r} while {', '.join(stale)} were set in {own.currency}",
            allowed="one currency for all sums",
            do="import a table with all sums in the new currency, or put these back to usual first",
        )
    bare = {name: source for name, source in own.sources.items() if name not in values}
    return replace(own, values={**own.values, **values}, sources={**bare, **(sources or {})})


def without(own: Own, name: str) -> Own:
    """The settings with one put back to usual. StoreError when the shop did not set it."""
    if name not in own.values:
        raise StoreError(
            seen=f"setting {name!r}",
            allowed=", ".join(own.values) or "none: all are usual",
            do="name one that was set",
        )
    sources = {key: source for key, source in own.sources.items() if key != name}
    return replace(own, values={k: v for k, v in own.values.items() if k != name}, sources=sources)


def checked(own: Own) -> Own:
    """The same, when all settings can be used together. PriceError or StoreError naming the one that cannot."""
    if not own.currency and any(name in own.values for name in SUMS):
        set_ = [name for name in SUMS if name in own.values]
        raise StoreError(
            seen=f"{', '.join(set_)} set while no currency is chosen",
            allowed=f"a currency first: {', '.join(USUAL)}",
            do="set the currency, then the sums",
        )
    settings = settings_of(own)
    names = {"tax name": [tax.name for tax in settings.taxes], "family": list(settings.replacement)}
    for what, texts in names.items():
        for text in texts:
            # A table holds one in a line of a cell, so it must be one line without blanks around it
            if text != text.strip() or not text.isprintable():
                raise StoreError(
                    seen=f"{what} {text!r}", allowed="one line, no blanks around it", do="correct the name"
                )
    return own


def to_json(values: Mapping[str, Any], own: Own) -> str:
    """The text of a settings file with these values, and what else the shop's file holds."""
    body = {
        **own.kept,
        "format": FORMAT,
        "settings": {**values, **own.unknown},
        "sources": dict(own.sources),
    }
    return json.dumps(body, indent=1, ensure_ascii=False) + "\n"


def full_json(own: Own) -> str:
    """The text of a settings file that names every setting, for an export."""
    # A value that happens to be the usual one is still the shop's own when it is taken in again
    sources = {**dict.fromkeys(own.values, OWN), **own.sources}
    return to_json(plain(settings_of(own)), replace(own, sources=sources))


def from_json(text: str, name: str) -> Own:
    """What the text of a settings file says. Unusable when it is none, another StoreError when it is of a newer form."""
    found = given.read_json(text, name)
    form, values, sources = found.get("format"), found.get("settings"), found.get("sources", {})
    if type(form) is int and form > FORMAT:
        raise StoreError(
            seen=f"{name} in form {form}",
            allowed=f"form {FORMAT}",
            do="update this program: a newer one wrote the file; nothing was changed",
        )
    if type(form) is not int or form != FORMAT or not isinstance(values, dict) or not _texts(sources):
        raise given.Unusable(
            seen=f"{name}: format {form!r}, settings {type(values).__name__}, sources {sources!r}",
            allowed=f'"format": {FORMAT}, "settings": an object, "sources": an object of texts',
            do="correct these fields",
        )
    kept = {part: thing for part, thing in found.items() if part not in PARTS}
    unknown = {key: value for key, value in values.items() if key not in RULES}
    known = {key: value for key, value in values.items() if key in RULES}
    return Own(known, sources, {**kept, **({"settings": unknown} if unknown else {})})


def keep_copy(path: Path) -> Path:
    """A copy of a broken file beside it, under a new name. StoreError when the disk refuses; then none is left."""
    number = 1
    while (kept := path.with_name(f"{path.stem}.broken-{number}{path.suffix}")).exists():
        number += 1
    with clear_errors(kept):
        try:
            shutil.copyfile(path, kept)
        except OSError:
            kept.unlink(missing_ok=True)
            raise
    return kept


def _broken(path: Path, error: PriceError | StoreError) -> BrokenSettings:
    seen = error.seen if str(path) in error.seen else f"{path}: {error.seen}"
    return BrokenSettings(
        seen=seen,
        allowed=error.allowed,
        do=f"{error.do}; or import a copy: tundish settings --import FILE keeps the broken file beside the new one",
    )


def _texts(thing: object) -> bool:
    return isinstance(thing, dict) and all(isinstance(text, str) for text in thing.values())
