"""The papers of a call by their kind, and the facts that each is made of."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from tundish.appliance.refusals import listed, near
from tundish.documents.customer_paper_facts import customer_paper_facts
from tundish.documents.handover_paper_facts import handover_paper_facts
from tundish.documents.invoice_paper_facts import invoice_paper_facts
from tundish.documents.paper_case import Case
from tundish.documents.paper_errors import PaperError
from tundish.documents.quote_paper_facts import quote_paper_facts
from tundish.documents.report_paper_facts import report_paper_facts

Facts = dict[str, Any]
REPORT = "report"

# The handbook sheet is of a family, so it does not stand here
OF_A_CALL: Mapping[str, Callable[[Case], Facts]] = {
    REPORT: report_paper_facts,
    "invoice": invoice_paper_facts,
    "quote": quote_paper_facts,
    "customer": customer_paper_facts,
    "handover": handover_paper_facts,
}


def call_paper_facts(kind: str, case: Case) -> Facts:
    """The facts of a paper of a call. PaperError for an unknown kind, MoveError when the call is not so far."""
    return OF_A_CALL[kind_named(kind)](case)


def kind_named(kind: str) -> str:
    """The kind meant, letter case aside. PaperError with the nearest one.

    >>> kind_named("Invoice")
    'invoice'
    """
    found = kind.strip().casefold()
    if found not in OF_A_CALL:
        raise PaperError(
            seen=f'"{kind[:60]}" as a paper of a call',
            allowed=listed(OF_A_CALL),
            do=near(found, OF_A_CALL) or "name one of these; a handbook sheet is made with: tundish paper handbook FAMILY",
        )
    return found
