"""A call's repair brought to the shop's prices: the quote, the chance that it alone cures, and keep or replace."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from tundish.appliance.records import Description, Fault
from tundish.diagnosis.explain import chance_of
from tundish.plan.remedies import Remedy, remedies
from tundish.plan.samples import faults_of
from tundish.prices.life import USUAL_LIVES
from tundish.prices.money import Money
from tundish.prices.quote import Quote, free_quote, quote, title_of
from tundish.prices.settings import Settings
from tundish.prices.worth import Case, Curve, keep_or_replace
from tundish.store.counsel import Counsel
from tundish.store.errors import StoreError
from tundish.store.settings import Own, settings_of
from tundish.store.spent import spent, worked

# Prices along the curve, and how far beyond the dearer of quote and break-even it reaches. Our choice.
POINTS, BEYOND = 41, 1.3
# What a new machine does not cure: the house, and how it is used.
STAYS = ("house", "user")
NO_REPAIR = "a visit alone repairs nothing that could be kept"


@dataclass(frozen=True)
class Wanted:
    """What a quote is asked for. visit : no repair, the visit only. bought : what the shop pays for the part. free : why at 0."""

    faults: tuple[str, ...] = ()
    visit: bool = False
    bought: Money | None = None
    free: str = ""


@dataclass(frozen=True, eq=False)
class Offer:
    """A quote with what it stands on.

    faults : causes it covers, those worked on already first. remedies : acts that cure the others. curve : keep or
    replace, None without an age. why_not : then why.
    at_stake : what the customer decides about, the repair without the visit that is owed anyway.
    """

    faults: tuple[str, ...]
    remedies: tuple[Remedy, ...]
    quote: Quote
    settings: Settings
    at_stake: Money
    curve: Curve | None
    why_not: str


def settings_for(own: Own, description: Description, market: str) -> Settings:
    """The shop's settings in the currency of a market. StoreError where the shop's money is another."""
    currency = description.markets[market].currency
    settings = settings_of(own, currency)
    if settings.currency != currency:
        raise StoreError(
            seen=f"settings in {settings.currency} for the market {market}",
            allowed=f"settings in {currency}",
            do="open the call in the other market, or set the shop's money in its currency",
        )
    return settings


def offer(asked: Counsel, settings: Settings, wanted: Wanted, *, today: date) -> Offer:
    """The quote for what is wanted; for the likeliest cause when nothing is named. StoreError where nothing can be priced."""
    description, faults = asked.found.description, _faults(asked, wanted)
    charged, done = spent(asked, settings), worked(asked.state)
    # What is charged already is not charged again, though it be done anew
    chosen = tuple(
        replace(remedy, order=remedy.order and not asked.standing.parts & {*remedy.faults})
        for remedy in remedies(description, asked.shop, [f for f in faults if not (charged and f in done)])
    )
    sets = fault_sets(asked)
    cures = cured_by(description, sets, faults)
    if wanted.free:
        what = "; ".join(map(title_of, chosen)) or "visit"
        made = free_quote(what, wanted.free, settings, today=today, chance_cures=cures)
    else:
        made = quote(
            chosen,
            settings,
            today=today,
            chance_cures=cures,
            chance_new_cures=cured_by_new(description, sets),
            family=description.family,
            bought=wanted.bought,
            spent=charged,
        )
        made = _noted(made, where_parts_are(asked, chosen))
    at_stake = made.gross - made.owed
    curve, why_not = _curve(asked, settings, made, at_stake) if faults else (None, NO_REPAIR)
    covered = tuple(dict.fromkeys((*done, *faults)))
    return Offer(covered, chosen, made, settings, at_stake, curve, why_not)


def fault_sets(asked: Counsel) -> Mapping[frozenset[str], float]:
    """Faults that are there together -> chance, as the machine is now; what is not described is left out."""
    population, cloud = asked.cloud.population, asked.cloud
    top = max(float(cloud.log_weight.max(initial=-np.inf)), cloud.log_unknown)
    weight, unknown = np.exp(cloud.log_weight - top), float(np.exp(cloud.log_unknown - top))
    # Machines that carry nothing are many, and each costs a look
    rows = np.flatnonzero(weight > 1e-9)
    total = float(weight.sum()) + unknown
    found: dict[frozenset[str], float] = {}
    for faults, share in zip(faults_of(asked.found.place, population, rows), weight[rows], strict=True):
        found[faults] = found.get(faults, 0.0) + float(share) / total
    return found


def cured_by(
    description: Description, sets: Mapping[frozenset[str], float], faults: Sequence[str]
) -> float:
    """Chance that repairing some faults, and nothing else, ends the complaint, [-]."""
    there = {f for f in faults if description.faults[f].kind != "normal"}
    # All that is there has to be mended, and each repair has to hold
    return min(
        sum(
            share * float(np.prod([description.faults[f].cure for f in held]))
            for held, share in sets.items()
            if held and held <= there
        ),
        1.0,
    )


def cured_by_new(description: Description, sets: Mapping[frozenset[str], float]) -> float:
    """Chance that another machine ends the complaint: nothing of the house or of its use is at fault, [-]."""
    return min(
        sum(
            share
            for held, share in sets.items()
            if held and all(description.faults[f].kind not in STAYS for f in held)
        ),
        1.0,
    )


def where_parts_are(asked: Counsel, chosen: Sequence[Remedy]) -> str:
    """Where the parts of a repair done on this visit are; "" where none is fitted or one has to be ordered."""
    fitted = [remedy for remedy in chosen if remedy.price]
    if not fitted or any(remedy.order for remedy in fitted):
        return ""
    taken, counted = asked.standing.parts, asked.shop.held
    if all(taken & {*remedy.faults} for remedy in fitted):
        return "the part is in hand"
    # A part that nobody counts may be missing today
    if all(taken & {*remedy.faults} or any(counted.get(f) for f in remedy.faults) for remedy in fitted):
        return "the part is on the van"
    return "with a part that is usually carried: it is not counted, look whether it is there"


def _noted(made: Quote, note: str) -> Quote:
    first, *others = made.options
    return replace(made, options=(replace(first, note=note), *others)) if note else made


def _faults(asked: Counsel, wanted: Wanted) -> tuple[str, ...]:
    if wanted.visit:
        return ()
    known = asked.found.description.faults
    named = wanted.faults or _likeliest(asked, known.values())
    mended = [f for f in named if f in known and known[f].kind != "normal"]
    if len(mended) < max(len(named), 1):
        raise StoreError(
            seen=f"a repair of {', '.join(f for f in named if f not in mended)}, which nobody can mend",
            allowed="a cause, or the visit alone",
            do="name the cause, or quote the visit with --visit",
        )
    return tuple(mended)


def _likeliest(asked: Counsel, faults: Iterable[Fault]) -> tuple[str, ...]:
    held: dict[str, float] = {}
    # After a repair the odds are those of the machine as it is now
    for there, share in fault_sets(asked).items():
        for fault in there:
            held[fault] = held.get(fault, 0.0) + share
    first = {f.id: held.get(f.id, 0.0) or 1e-12 * chance_of(asked.found.now.odds, f.id) for f in faults}
    return (max(first, key=lambda f: first[f]),)


def _curve(asked: Counsel, settings: Settings, made: Quote, at_stake: Money) -> tuple[Curve | None, str]:
    family, age = asked.found.description.family, asked.found.matter.age
    if age is None:
        return None, "the machine's age is not known: tundish machine CALL --age YEARS"
    if family not in USUAL_LIVES:
        return None, f"no usual life of a {family} is known"
    case = Case(
        new_price=settings.new_machine(family).estimate(),
        life=USUAL_LIVES[family],
        age=age,
        rate=float(settings.discount_rate),
        chance_cures=made.chance_cures,
    )
    price = at_stake.estimate()
    most = BEYOND * max(keep_or_replace(case, [price]).break_even, price, 1.0)
    return keep_or_replace(case, np.linspace(0.0, most, POINTS).tolist()), ""
