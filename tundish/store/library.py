"""The families that come with the tool, as description files beside `tundish.appliance`."""

from __future__ import annotations

from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from tundish.appliance.reader import read
from tundish.appliance.records import Description
from tundish.appliance.refusals import listed, near
from tundish.store.errors import StoreError

_SUFFIX = ".yaml"


def families() -> dict[str, Traversable]:
    """Description files by family name: the file's name with spaces for underscores, sorted."""
    folder = files("tundish.appliance") / "families"
    found = (item for item in folder.iterdir() if item.name.endswith(_SUFFIX)) if folder.is_dir() else ()
    return {
        item.name.removesuffix(_SUFFIX).replace("_", " "): item
        for item in sorted(found, key=lambda item: item.name)
    }


def load(family: str) -> Description:
    """The description of a family; its name may be written with spaces, underscores or hyphens.

    Raises StoreError for an unknown family, DescriptionError for a broken file.
    """
    known = families()
    wanted = _key(family)
    for name, file in known.items():
        if _key(name) == wanted:
            return _read(_text(file), file.name)
    raise StoreError(
        seen=f'"{family}" as a family',
        allowed=listed(known) or "no family is installed",
        do=near(wanted, map(_key, known)) or "name one of these",
    )


# Known by its whole text, so a file that was changed is read anew; a description is never written to. Some variants of each family.
@lru_cache(maxsize=32)
def _read(content: str, name: str) -> Description:
    return read(content, name)


def _key(name: str) -> str:
    return " ".join(name.lower().replace("_", " ").replace("-", " ").split())


def _text(file: Traversable) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise StoreError(
            seen=f"{file.name} with bytes that are not UTF-8", allowed="text in UTF-8", do="save it as UTF-8"
        ) from error
