"""`tundish settings`: what the shop charges, promises and prints, each figure with where it is from."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from tundish.cli.at_hand import tell
from tundish.cli.show import out, table
from tundish.cli.view import View, with_view
from tundish.store.errors import StoreError
from tundish.store.folders import settings_path
from tundish.store.settings import Own, change, read_own
from tundish.store.settings_change import put, put_back
from tundish.store.settings_table import export_settings, import_settings, settings_facts
from tundish.store.settings_text import check_key

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command()
@click.argument("name", required=False)
@click.argument("value", nargs=-1)
@click.option("--source", default="", help="Where the value is from.")
@click.option("--usual", "back", is_flag=True, help="Put the setting back to its usual value.")
@click.option(
    "--import", "taken", type=FILE, help="Set what a .csv or .json file says; what it does not name stays."
)
@click.option("--export", "given", type=FILE, help="Write all settings to a .csv or .json file.")
@with_view
def settings(
    name: str | None,
    value: tuple[str, ...],
    *,
    source: str,
    back: bool,
    taken: Path | None,
    given: Path | None,
    view: View,
) -> None:
    """Show the shop's settings, or set one.

    Such as: settings currency EUR; settings labour 92.50; settings over_run "15 %"; settings qualified yes; settings
    taxes "21 % VAT on labour, part, call-out, other"; settings letterhead "Line one" "Line two"; settings
    replacement.dishwasher 480; settings labour --usual.
    """
    # Two wishes at once have no order that everybody would expect, so they are refused
    path = settings_path()
    one_at_a_time({"NAME": bool(name), "--import": taken is not None, "--export": given is not None})
    one_at_a_time({"VALUE": bool(value), "--usual": back})
    if (back or source) and not name:
        word = "--usual" if back else "--source"
        raise StoreError(seen=f"{word} without NAME", allowed=f"NAME and {word}", do="name the setting")
    # Exported before anything changes, so that --export keeps what stood
    if given is not None:
        export_settings(path, given)
    own = _changed(path, name, value, source=source, back=back, taken=taken)
    facts = settings_facts(own, str(path))
    # A name that is no setting is an error, not an empty table
    if name:
        check_key(name)
        facts["settings"] = [row for row in facts["settings"] if row["key"] == name]
    view.put(facts, show)


def one_at_a_time(asked: dict[str, bool]) -> None:
    """StoreError when more than one thing is asked for. asked : by its word."""
    words = [word for word, given in asked.items() if given]
    if len(words) > 1:
        raise StoreError(
            seen=" with ".join(words), allowed=f"one of {', '.join(asked)}", do="ask for one at a time"
        )


def show(page: dict[str, Any]) -> None:
    """Settings on the terminal."""
    grid = table("setting", "value", "unit", "source")
    for row in page["settings"]:
        grid.add_row(row["key"], row["shows"], row["unit"], row["source"])
    out().print(grid)
    for name in page["not_understood"]:
        # Said, not dropped: a newer version on another device may have written it
        out().print(
            f"! {name}: kept, not understood; a newer version may know it", style="bold", markup=False
        )


def _changed(
    path: Path, name: str | None, value: tuple[str, ...], *, source: str, back: bool, taken: Path | None
) -> Own:
    """What the shop has set, after the change asked for, if any."""
    if taken is not None:
        # A broken file is kept as a copy; what copies are new tells whether that happened
        before = _copies(path)
        own = import_settings(path, taken)
        for copy in sorted(_copies(path) - before):
            tell(f"the file that was there could not be used; it is kept as {copy}")
        return own
    if name and back:
        return change(path, lambda own: put_back(own, name))
    if name and value:
        return change(
            path,
            # Only a letterhead has lines of its own; every other value may be typed with blanks
            lambda own: put(own, name, "\n".join(value) if name == "letterhead" else " ".join(value), source),
        )
    return read_own(path)


def _copies(path: Path) -> set[Path]:
    return set(path.parent.glob(f"{path.stem}.broken-*"))
