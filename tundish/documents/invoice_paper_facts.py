"""The invoice of a call as a paper's facts: the lines that were agreed to, or the visit where the repair was refused."""

from __future__ import annotations

from typing import Any

from tundish.call import agreed
from tundish.call.amounts import spoken
from tundish.call.deals import ConsentRefused
from tundish.call.errors import MoveError
from tundish.call.fact import Fact
from tundish.call.quotes import Quoted, facts_of
from tundish.documents.close_facts import warranty_facts
from tundish.documents.paper_case import Case, letter_facts, told_lines
from tundish.prices.money import Money
from tundish.prices.papers import SUMS, priced
from tundish.prices.settings import Settings
from tundish.prices.tax import Item, taxed
from tundish.store.clock import day_of

Facts = dict[str, Any]
# The kind of line that is for coming, as `quote.call_out` writes it.
CALL_OUT = "call-out"
PRICED = ("currency", "lines", *SUMS, "taxes")


def invoice_paper_facts(case: Case) -> Facts:
    """Lines, taxes, payments and what is due. MoveError while nothing is owed, or what is charged for is not done."""
    money = _priced(case)
    paid = [p for p in case.job.payments if p.body.currency == money["currency"]]
    due = money["gross"] - sum(p.body.minor for p in paid)
    if due < 0:
        raise MoveError(
            seen=f"{spoken(-due, money['currency'])} paid more than is owed",
            allowed="payments up to what is owed",
            do="withdraw what was recorded twice, or pay it back",
        )
    return {
        **letter_facts(case),
        **money,
        "lines": told_lines(money["lines"]),
        "paid": [{"date": day_of(p.at, case.settings.zone).isoformat(), "minor": p.body.minor, "means": p.body.means}
                 for p in paid],
        "due": due,
        "due_by": case.due_by,
        "terms": [f"This invoice takes the place of invoice {case.replaces}."] if case.replaces else [],
        "warranty": warranty_facts(case.state, case.settings, case.day),
    }


def _priced(case: Case) -> Facts:
    word = case.job.word
    if word is not None and isinstance(word.body, ConsentRefused):
        return _refused(case, word.body)
    quote = _agreed(case)
    _need_done(case, quote.body)
    return {name: facts_of(quote.body)[name] for name in PRICED}


def _agreed(case: Case) -> Fact[Quoted]:
    """The quote whose price is owed: the newest, as far as the consent reaches, else the one agreed to."""
    standing, newest = agreed.consent(case.job), agreed.newest(case.job)
    if standing is None or newest is None:
        raise MoveError(
            seen=f"nothing owed in call {case.handle}",
            allowed="an invoice for what the customer agreed to, or owes after a refusal",
            do=f"quote it and ask first: tundish quote {case.handle} --give, then tundish agree {case.handle}",
        )
    if agreed.within(case.job):
        return newest
    more = spoken(agreed.ceiling(standing), standing.currency)
    raise MoveError(
        seen=f"a quote of {spoken(newest.body.gross, newest.body.currency)}",
        allowed=f"up to {more}, as was agreed",
        do=f"ask the customer again: tundish agree {case.handle}, or quote it lower",
    )


def _need_done(case: Case, quote: Quoted) -> None:
    # Part of a quote is not billed: its price was agreed as a whole
    mended = {one.body.fault for one in case.state.repairs}
    missing = [fault for fault in quote.faults if fault not in mended]
    if missing:
        raise MoveError(
            seen=f"an invoice for {', '.join(missing)}, not recorded as repaired",
            allowed="work that was done",
            do="record the repair; or quote what was done, the visit alone with --visit, and ask again",
        )


def _refused(case: Case, word: ConsentRefused) -> Facts:
    """The visit alone: its own lines where they come to what is owed, else one line of that sum."""
    if word.owed == 0:
        raise MoveError(
            seen=f"a refusal by which {spoken(word.owed, word.currency)} is owed",
            allowed="an invoice over something",
            do="make no invoice; the customer owes nothing",
        )
    quote = agreed.quote_of(case.job, word.quote)
    # A discount given at the door is a price all in, so its tax is taken out of it
    each = Money(word.owed, word.currency)
    one = _visit(each, case.settings)
    # Refused before anything was quoted
    if quote is None:
        return one
    lines = [line for line in facts_of(quote.body)["lines"] if line["kind"] == CALL_OUT]
    return _summed(lines, word.currency) if sum(line["gross"] for line in lines) == word.owed else one


def _visit(each: Money, settings: Settings) -> Facts:
    item = Item(kind=CALL_OUT, what="call-out and diagnosis", each=each, unit="visit")
    return priced(taxed([item], settings.taxes, rounding=settings.rounding, prices="gross"), each.currency)


def _summed(lines: list[Facts], currency: str) -> Facts:
    taxes: dict[tuple[str, str], Facts] = {}
    for line in lines:
        if line["tax_name"]:
            row = {"name": line["tax_name"], "rate": line["tax_rate"], "net": 0, "tax": 0}
            row = taxes.setdefault((line["tax_name"], line["tax_rate"]), row)
            row["net"], row["tax"] = row["net"] + line["net"], row["tax"] + line["tax"]
    sums = {name: sum(line[name] for line in lines) for name in SUMS}
    return {"currency": currency, "lines": lines, **sums, "taxes": list(taxes.values())}
