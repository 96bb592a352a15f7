"""`tundish stock`: what is on the van and on order. Parts are named as `any: fill hose` or `dishwasher: drain pump`."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import click

from tundish.appliance.refusals import listed
from tundish.cli import at_hand
from tundish.cli.settings import FILE, one_at_a_time
from tundish.cli.show import out, table
from tundish.cli.view import View, with_view
from tundish.store.clock import Source, device_name, system
from tundish.store.errors import StoreError
from tundish.store.events import EventFile
from tundish.store.folders import data_folder
from tundish.store.library import families, load
from tundish.store.stock import record_moves, stock_of
from tundish.store.stock_table import export_stock, import_stock, stock_facts
from tundish.van.part import PartKey, key_of, shared
from tundish.van.stock import Movement


@click.group(invoke_without_command=True)
@click.option("--import", "taken", type=FILE, help="Bring the stock to what a .csv or .json file says.")
@click.option("--export", "given", type=FILE, help="Write the stock to a .csv or .json file.")
@with_view
@click.pass_context
def stock(context: click.Context, taken: Path | None, given: Path | None, view: View) -> None:
    """Show the stock, or write down what came, went, was counted or ordered.

    Such as: stock receive "any: fill hose" 4; stock take "dishwasher: drain pump" --call smith; stock count "any: fill
    hose" 3; stock order "dryer: thermistor" 2; stock arrive "dryer: thermistor" 2.
    """
    if context.invoked_subcommand is not None:
        return
    one_at_a_time({"--import": taken is not None, "--export": given is not None})
    with at_hand.calls() as file:
        if taken is not None:
            import_stock(file, taken, _source())
        if given is not None:
            export_stock(file, given)
        view.put(stock_facts(stock_of(file)), show)


def show(page: dict[str, Any]) -> None:
    """Stock on the terminal."""
    grid = table("part", ">on van", ">on order", ">minimum", "")
    for row in page["stock"]:
        short = f"ledger short by {row['short']}: count it" if row["short"] else ""
        grid.add_row(
            row["part"],
            "?" if row["on_van"] is None else str(row["on_van"]),
            str(row["on_order"]),
            str(row["minimum"]),
            short or ("below minimum" if row["below_minimum"] else ""),
        )
    out().print(grid)
    for kind in page["not_understood"]:
        out().print(f"! lines of kind {kind!r}: kept, not understood", style="bold", markup=False)


def _verb(kind: str, words: str, *, least: int = 1) -> click.Command:
    """A verb that adds one line of a kind to the ledger."""

    @click.argument("part")
    @click.argument("count", type=click.IntRange(least))
    @click.option("--new", is_flag=True, help="The part is in no description and not yet in the stock.")
    @with_view
    def verb(part: str, count: int, *, new: bool, view: View) -> None:
        _record(lambda file: [Movement(kind, _named(file, part, new=new), count)], view)

    return click.command(kind.replace("_", "-"), help=words)(verb)


@click.command()
@click.argument("part")
@click.argument("count", type=click.IntRange(1), required=False, default=1)
@click.option("--call", default="", help="The call it was used on.")
@with_view
def take(part: str, count: int, *, call: str, view: View) -> None:
    """Take a part off the van, for a call if one is named. Refused when the van has none."""

    def moves(file: EventFile) -> list[Movement]:
        return [Movement("take", _named(file, part, new=False), count, file.resolve(call) if call else "")]

    _record(moves, view)


def _record(moves: Callable[[EventFile], Iterable[Movement]], view: View) -> None:
    """Write lines and show the parts they were about."""
    with at_hand.calls() as file:
        lines = record_moves(file, moves(file), _source())
        touched = {line.part for line in lines}
        facts = stock_facts(stock_of(file))
    facts["stock"] = [row for row in facts["stock"] if row["part"] in touched]
    view.put(facts, show)


def _named(file: EventFile, text: str, *, new: bool) -> PartKey:
    """The part meant, letter case aside; a name without family is enough where only one part has it.

    StoreError when no part or several have the name, so that a slip does not open a second heap of the same part.
    """
    wanted, held = text.strip().lower(), set(stock_of(file).levels)
    found = [part for part in held if wanted == str(part).lower()]
    if not found:
        # Reading all descriptions takes a second, so only for a part named for the first time or in short
        known = held | described()
        found = [part for part in known if wanted in (str(part).lower(), part.name.lower())]
    if len(found) == 1:
        return found[0]
    if new and not found:
        return key_of(text)
    words = wanted.rpartition(": ")[2]
    near = sorted(map(str, found or (part for part in known if words in part.name.lower())))
    raise StoreError(
        seen=f"part {text!r}",
        allowed=listed(near) if near else "the parts of `tundish families`, such as 'any: fill hose'",
        do="name one of these, or add --new to keep a part that no description has",
    )


def described() -> set[PartKey]:
    """Every part that the descriptions name."""
    loaded = [load(name) for name in families()]
    return {shared(one.family, fault.part) for one in loaded for fault in one.faults.values()}


def _source() -> Source:
    return system(device_name(data_folder()))


for _command in (
    _verb("receive", "Put parts on the van that were bought."),
    take,
    _verb("count", "State how many are on the van. It puts right what was written wrong.", least=0),
    _verb("order", "Order parts."),
    _verb("arrive", "Put parts on the van that were ordered."),
    _verb("cancel", "Take an order back."),
    _verb("send_back", "Send parts back or throw them away."),
    _verb("minimum", "State the number below which a part is to be ordered.", least=0),
):
    stock.add_command(_command)
