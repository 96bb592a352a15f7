"""A quote as plain facts: its lines, its chance, what else may be chosen, keep or replace, and how it stands with consent."""

from __future__ import annotations

from typing import Any

from tundish.call import agreed
from tundish.call.amounts import spoken
from tundish.call.deals import ConsentRefused
from tundish.call.fold import CallState
from tundish.call.quotes import facts_of
from tundish.documents.facts import DEFERENCE
from tundish.prices.worth import Curve
from tundish.store.clock import day_of
from tundish.store.counsel import Counsel
from tundish.store.pricing import Offer

Facts = dict[str, Any]


def quote_facts(asked: Counsel, made: Offer, *, given: str = "") -> Facts:
    """The quote for a call. given : its id when it was put before the customer, else ""."""
    faults = asked.found.description.faults
    return {
        "call": asked.state.call,
        "given": given,
        "faults": [{"id": f, "title": faults[f].title, "mistaken_for": list(faults[f].mistaken_for)} for f in made.faults],
        **made.quote.facts(),
        "at_stake": made.at_stake.minor,
        "over_run": str(made.settings.over_run),
        "warranty_days": {
            "labour": made.settings.warranty_labour_days,
            "part": made.settings.warranty_part_days,
        },
        "worth": None if made.curve is None else worth_facts(made.curve, made.at_stake.estimate()),
        "worth_unknown": made.why_not,
        "agreed": agreed_facts(asked.state, made.settings.zone),
        "deference": DEFERENCE,
    }  # fmt: skip


def quoted_body(facts: Facts, id: str) -> Facts:
    """The fields of a `quoted` event out of the facts of a quote."""
    fields = (
        "currency", "lines", "net", "tax", "gross", "taxes", "chance_cures", "options", "owed_if_refused", "valid_until",
    )  # fmt: skip
    return {
        **{name: facts[name] for name in fields},
        "id": id,
        "faults": [fault["id"] for fault in facts["faults"]],
    }


def worth_facts(curve: Curve, price: float) -> Facts:
    """Keep or replace over the price of the repair, in units of the currency; never a bare yes or no."""
    return {
        "price": price,
        "break_even": curve.break_even,
        "remaining_years": curve.remaining,
        "new_a_year": curve.replace,
        "curve": [
            {"price": r, "keep_a_year": k if k != float("inf") else None}
            for r, k in zip(curve.repair, curve.keep, strict=True)
        ],
        "rules_of_thumb": [{"name": n, "price": p} for n, p in curve.rules_of_thumb.items()],
        "says": _says(curve, price),
    }


def _says(curve: Curve, price: float) -> str:
    apart = curve.break_even - price
    if apart >= 0:
        return f"The repair pays as long as it costs at most {curve.break_even:.0f}; it costs {price:.0f}."
    return (
        f"The repair would pay up to {curve.break_even:.0f}; it costs {price:.0f}, "
        f"{-apart:.0f} more than the machine gives back in the {curve.remaining:.1f} years it has left on average."
    )


def agreed_facts(state: CallState, zone: str = "UTC") -> Facts:
    """What the customer said to the price, what is owed, and what was paid; sums in minor units. zone : of the days."""
    job = state.job
    word, quote, standing = job.word, agreed.newest(job), agreed.consent(job)
    refused = word is not None and isinstance(word.body, ConsentRefused)
    return {
        "call": state.call,
        "quote": None if quote is None else {"id": quote.body.id, "event": quote.event, **facts_of(quote.body)},
        "covers": list(quote.body.faults) if quote else [],
        "consent": None
        if standing is None or word is None
        else {"name": standing.name, "minor": standing.minor, "how": standing.how, "at": word.at,
              "day": day_of(word.at, zone).isoformat(),
              "up_to": agreed.ceiling(standing)},
        "refused": refused,
        "asks_again": bool(standing) and not agreed.within(job),
        "currency": agreed.currency(job) or (quote.body.currency if quote else ""),
        "owed": agreed.owed(job),
        "paid": [{"date": day_of(p.at, zone).isoformat(), "minor": p.body.minor, "currency": p.body.currency, "means": p.body.means}
                 for p in job.payments],
        "due": agreed.due(job),
        "says": _standing_words(state),
    }  # fmt: skip


def _standing_words(state: CallState) -> str:
    job = state.job
    odd, quote, standing = agreed.odd_consent(job), agreed.newest(job), agreed.consent(job)
    money = agreed.currency(job)
    if odd is not None:
        return f"{odd.seen}: {odd.do}"
    if quote is None:
        return "nothing is quoted yet: tundish quote CALL --give"
    if standing is None:
        if job.word is not None:
            return f"refused; {spoken(agreed.owed(job), money)} is owed"
        return "the customer has not answered yet: tundish agree CALL --name NAME"
    if not agreed.within(job):
        return f"the newest quote is above {spoken(agreed.ceiling(standing), money)}, what was agreed: ask again"
    return f"{standing.name} agreed to {spoken(standing.minor, money)}; {spoken(agreed.due(job), money)} is due"
