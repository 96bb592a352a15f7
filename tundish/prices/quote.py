"""What a repair is offered for: its lines, what else may be chosen, and what is owed if it is refused."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, isfinite
from typing import Any

from tundish.plan.remedies import HAND_OVER, Remedy
from tundish.prices.errors import PriceError
from tundish.prices.money import Money
from tundish.prices.papers import priced
from tundish.prices.settings import Settings
from tundish.prices.settings_rules import ANY
from tundish.prices.tax import Item, Line, taxed, totals

REPAIR_NOW, ORDER, REPLACE, NOTHING = "repair now", "order and return", "replace", "do nothing"


@dataclass(frozen=True)
class Option:
    """What may be chosen: all it costs with tax, and the chance that it alone cures, [-]."""

    name: str
    gross: Money
    chance_cures: float
    note: str


@dataclass(frozen=True)
class Quote:
    """Lines with tax; the other choices; what is owed if all is refused; the last day it can be accepted."""

    lines: tuple[Line, ...]
    options: tuple[Option, ...]
    chance_cures: float
    owed: Money
    valid_until: date

    @property
    def gross(self) -> Money:
        """All in."""
        return totals(self.lines, self.owed.currency).gross

    def facts(self) -> dict[str, Any]:
        """Plain values: the priced lines with the chance, the options, what is owed and the last day."""
        return priced(self.lines, self.owed.currency) | {
            "chance_cures": self.chance_cures,
            "options": [
                {"name": o.name, "gross": o.gross.minor, "chance_cures": o.chance_cures, "note": o.note}
                for o in self.options
            ],
            "owed_if_refused": self.owed.minor,
            "valid_until": self.valid_until.isoformat(),
        }


def quote(
    wanted: Remedy | Sequence[Remedy],
    settings: Settings,
    *,
    today: date,
    chance_cures: float,
    chance_new_cures: float = 1.0,
    family: str = ANY,
    bought: Money | None = None,
    spent: Sequence[Item] = (),
) -> Quote:
    """The quote for a remedy, or for several done on one visit; for none it covers the visit only.

    chance_cures : that it alone cures, from the odds and the description, [-]. chance_new_cures : that another machine would,
    less than 1 where the house may be the cause. bought : what the shop pays for the part, else the planner's estimate.
    spent : what is charged already, whatever is chosen. Raises PriceError.
    """
    _chance("this alone cures", chance_cures)
    _chance("a new machine cures", chance_new_cures)
    chosen = (wanted,) if isinstance(wanted, Remedy) else tuple(wanted)
    # Owed whatever is chosen
    visit = [*call_out(settings), *spent]
    work = [item for remedy in chosen for item in repair_items(remedy, settings, bought)]
    # A paper needs a line, also where coming is free and another trade does the work
    lines = _taxed([*visit, *work] or [free_visit(settings)], settings)
    owed = totals(_taxed(visit, settings), settings.currency).gross
    gross = totals(lines, settings.currency).gross
    # Another machine is bought elsewhere, its tax inside; this visit is owed all the same
    new = Option(
        REPLACE,
        owed + settings.new_machine(family),
        chance_new_cures,
        "a comparable machine and the removal of this one, estimated, with this visit",
    )
    nothing = Option(NOTHING, owed, 0.0, "this visit only; the machine stays as it was found")
    first = [Option(_name(chosen), gross, chance_cures, _note(chosen))] if chosen else []
    return Quote(
        lines, (*first, new, nothing), chance_cures, owed, today + timedelta(days=settings.consent_days)
    )


def free_quote(what: str, why: str, settings: Settings, *, today: date, chance_cures: float) -> Quote:
    """Work at no charge, under warranty or out of goodwill: one line of 0 that says what is done and why. Raises PriceError."""
    _chance("this alone cures", chance_cures)
    nothing = Money(0, settings.currency)
    lines = _taxed([Item(kind="other", what=f"{what}: {why}", each=nothing)], settings)
    option = Option(REPAIR_NOW, nothing, chance_cures, why)
    return Quote(lines, (option,), chance_cures, nothing, today + timedelta(days=settings.consent_days))


def free_visit(settings: Settings) -> Item:
    """The line of a visit that costs nothing."""
    return Item(
        kind="call-out", what="call-out and diagnosis", each=Money(0, settings.currency), unit="visit"
    )


def call_out(settings: Settings) -> tuple[Item, ...]:
    """The line for coming and finding the cause; none where the shop charges nothing."""
    each = settings.money("call_out")
    return (
        (Item(kind="call-out", what="call-out and diagnosis", each=each, unit="visit"),) if each.minor else ()
    )


def repair_items(remedy: Remedy, settings: Settings, bought: Money | None = None) -> tuple[Item, ...]:
    """Part and labour of a remedy, before tax. What another trade does is its own to price."""
    if remedy.kind == HAND_OVER:
        return ()
    cost = Money.about(remedy.price, settings.currency) if bought is None else bought
    # A remedy of several faults is called after its part (new pump), one of a single fault after part and mode
    title = title_of(remedy)
    part = Item(kind="part", what=title.removeprefix("new ").split(":")[0], each=marked_up(cost, settings))
    # Nothing is fitted where the price is zero, such as a hose laid straight
    return (*((part,) if cost.minor else ()), labour(title, remedy.minutes, settings))


def labour(what: str, minutes: float, settings: Settings) -> Item:
    """Work billed by begun steps; the price of a step is rounded half up once, so that any number of them is exact.

    >>> from tundish.prices.settings_usual import usual
    >>> item = labour("pump", 31, usual("EUR"))
    >>> item.quantity, item.unit, str(item.each)
    (2, '30 min', '42.50 EUR')
    """
    if not (isfinite(minutes) and minutes > 0):
        raise PriceError(
            seen=f"{minutes} minutes of work", allowed="above 0", do="give the minutes the work takes"
        )
    step = settings.labour_step
    # A hair over, such as 30.000000001 from a sum of floats, is not a begun step
    steps = max(1, ceil(round(minutes / step, 6)))
    # Minor units an hour times minutes of a step: exact until the one division
    each = Money(settings.labour * step, settings.currency).times("1/60")
    return Item(kind="labour", what=what, each=each, quantity=steps, unit=f"{step} min")


def marked_up(cost: Money, settings: Settings) -> Money:
    """Price of a part: times the cheap or the dear factor, and a dear part never below the dearest cheap one.

    >>> from tundish.prices.settings_usual import usual
    >>> [marked_up(Money.of(c, "EUR"), usual("EUR")).minor for c in ("10.00", "100.00", "110.00", "200.00")]
    [1600, 16000, 16000, 25000]
    """
    if cost < (bound := settings.money("mark_up_from")):
        return cost.times(settings.mark_up_cheap)
    return max(cost.times(settings.mark_up_dear), bound.times(settings.mark_up_cheap))


def title_of(remedy: Remedy) -> str:
    """What a remedy does, without its kind and fault ids."""
    return remedy.name.removeprefix(f"{remedy.kind} {'/'.join(remedy.faults)} ")


def _taxed(items: Sequence[Item], settings: Settings) -> tuple[Line, ...]:
    return taxed(items, settings.taxes, rounding=settings.rounding, prices=settings.prices)


def _name(chosen: Sequence[Remedy]) -> str:
    if all(remedy.kind == HAND_OVER for remedy in chosen):
        return HAND_OVER
    return ORDER if any(remedy.order for remedy in chosen) else REPAIR_NOW


def _note(chosen: Sequence[Remedy]) -> str:
    notes = {
        HAND_OVER: "the other trade names its own price",
        ORDER: "the part is ordered; the second visit is in the price",
        # Whether it is on the van today stands in the stock, not in the price
        REPAIR_NOW: "with a part that is carried" if any(r.price for r in chosen) else "no part is needed",
    }
    return notes[_name(chosen)]


def _chance(what: str, value: float) -> None:
    if not 0 <= value <= 1:
        raise PriceError(
            seen=f"{value} as the chance that {what}",
            allowed="0 to 1",
            do="give it as a share, not in percent",
        )
