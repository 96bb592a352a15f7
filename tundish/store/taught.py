"""The file of what was learned, and descriptions with it in place of what shipped.

A file that cannot be used never stops a diagnosis: what shipped is used, and the page says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from tundish.appliance.records import Description
from tundish.history.errors import HistoryError
from tundish.history.learned import Learned, applied, read_back, written
from tundish.store.errors import StoreError, clear_errors
from tundish.store.folders import LEARNED_FILE, data_folder
from tundish.store.library import load
from tundish.store.shelved import replace_file


@dataclass(frozen=True)
class Whose:
    """Whose shares are used. name : of what was learned, by its content; "" for what shipped. says : in words."""

    name: str
    says: str


# Said on every page of odds until a shop has learned
AS_SHIPPED = Whose("", "shares as shipped")


def learned_path() -> Path:
    """The usual file of what was learned."""
    return data_folder() / LEARNED_FILE


def read_learned(path: Path) -> Learned | None:
    """What was learned; None when there is no file. HistoryError for a file that is no such record."""
    with clear_errors(path):
        return read_back(path.read_bytes()) if path.exists() else None


def write_learned(path: Path, learned: Learned) -> None:
    """Put what was learned in place of what was learned before."""
    replace_file(path, written(learned))


def forget(path: Path) -> None:
    """Go back to what shipped. StoreError when nothing was learned."""
    with clear_errors(path):
        if not path.exists():
            raise StoreError(seen=f"no file {path}", allowed="a file of what was learned", do="nothing: what shipped is in use")
        path.unlink()


def described(family: str, path: Path | None = None) -> tuple[Description, Whose]:
    """A family's description with what was learned of it, and whose shares it holds. path : the usual file if left out."""
    shipped = load(family)
    try:
        learned = read_learned(path or learned_path())
        # A shop learns one family at a time; the others stay as shipped
        if learned is None or shipped.family not in learned.families:
            return shipped, AS_SHIPPED
        return applied(shipped, learned), Whose(learned.name, _words(learned, shipped.family))
    # A technician at a machine needs odds more than a lesson in files
    except (HistoryError, StoreError) as error:
        return shipped, Whose("", f"shares as shipped; what was learned could not be used: {error}")


def _words(learned: Learned, family: str) -> str:
    known = learned.provenance
    calls = sum(learned.families[family].calls.values())
    shops = f" and the counts of {known.shops - 1} more" if known.shops > 1 else ""
    return f"own shares ({learned.name[:8]}): {calls:.0f} calls of this family up to {known.last[:10]}{shops}, on top of those shipped"
