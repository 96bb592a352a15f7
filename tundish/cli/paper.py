"""`tundish paper`: the papers of a call as PDF, and the handbook sheet of a family."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from tundish.call.entry import market_named
from tundish.call.errors import MoveError
from tundish.call.handle import handles
from tundish.cli import at_hand
from tundish.cli.show import out
from tundish.cli.view import View, with_view
from tundish.cli.writing import priced, source, today
from tundish.documents.handbook_sheet import HANDBOOK, handbook_sheet
from tundish.documents.paper import SIZES
from tundish.documents.paper_case import case_of
from tundish.documents.paper_kinds import OF_A_CALL, kind_named
from tundish.documents.paper_making import Ordered, make
from tundish.store.errors import StoreError, clear_errors
from tundish.store.folders import data_folder
from tundish.store.kept import put
from tundish.store.library import load

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("paper")
@click.argument("call")
@click.argument("kind")
@click.option("-o", "--out", "file", type=FILE, required=True, help="The PDF to write.")
@click.option("--size", type=click.Choice(list(SIZES)), default=None, help="Of the sheet; the shop's own if left out.")
@click.option("--market", default=None, help="Of a handbook sheet; the family's first if left out.")
@click.option("--number", default="", help="Of an invoice; the next of the year if left out.")
@click.option("--due-by", default="", help="Last day to pay an invoice, such as 2026-12-31; at once if left out.")
@with_view
def paper_(call: str, kind: str, *, file: Path, size: str | None, market: str | None, view: View, **of_invoice: str) -> None:
    """Make a paper of a call: report, invoice, quote, customer or handover.

    Such as: paper smith invoice -o invoice.pdf; paper handbook "front-load washer" -o sheet.pdf
    """
    _need_pdf(file)
    # A call may be named handbook; its kinds of paper tell it apart
    if call == HANDBOOK and kind.casefold() not in OF_A_CALL:
        page, content = _sheet(kind, market, size, view)
        _write(file, content)
    else:
        page = _of_call(call, file, Ordered(kind_named(kind), size or "", **of_invoice), view)
    view.put({**page, "file": str(file)}, show)


def show(page: dict[str, Any]) -> None:
    """What was made, on the terminal."""
    number = f" {page['number']}" if page["number"] else ""
    out().print(f"{page['paper']}{number}, {page['size']}, {page['bytes']} bytes: {page['file']}", markup=False)


def _of_call(call: str, file: Path, ordered: Ordered, view: View) -> dict[str, Any]:
    here = priced(call, view)
    with at_hand.calls() as calls:
        # The short name, which a customer can say on the phone
        handle = handles(calls.calls())[here.asked.state.call]
        case = case_of(here.asked, here.settings, system=here.units, day=today(), handle=handle)
        made = make(calls, data_folder(), case, ordered, source=source())
    _write(file, made.content)
    return made.told()


def _sheet(family: str, market: str | None, size: str | None, view: View) -> tuple[dict[str, Any], bytes]:
    description = load(family)
    chosen = market_named(description, market)
    made = handbook_sheet(description, chosen, at_hand.own(), day=today(), size=size or "", units=view.units or "")
    return made.told, made.content


def _need_pdf(file: Path) -> None:
    # A slip such as the name of the file of calls must not be overwritten
    if file.suffix.lower() != ".pdf":
        raise MoveError(seen=f"file {file.name!r}", allowed="a name that ends in .pdf", do="name it so")
    if not file.absolute().parent.is_dir():
        raise StoreError(
            seen=f"folder {str(file.parent)!r}, which is not there", allowed="a folder that is there", do="make it first"
        )


def _write(file: Path, content: bytes) -> None:
    with clear_errors(file):
        put(file, content)
