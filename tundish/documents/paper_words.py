"""The printed labels, one file a language beside the templates."""

from __future__ import annotations

import json
from pathlib import Path

from tundish.appliance.refusals import listed
from tundish.documents.paper_errors import PaperError

TEMPLATES = Path(__file__).parent / "templates"
_PREFIX = "words_"


def languages() -> list[str]:
    """Languages that a paper can be labelled in.

    >>> languages()
    ['en']
    """
    return sorted(path.stem.removeprefix(_PREFIX) for path in TEMPLATES.glob(f"{_PREFIX}*.json"))


def labels(language: str) -> dict[str, str | list[str]]:
    """Labels by name. Raises PaperError for a language without a file."""
    known = languages()
    if language not in known:
        raise PaperError(
            seen=f'"{language}" as a language', allowed=listed(known), do="name one of these for the labels"
        )
    held: dict[str, str | list[str]] = json.loads(
        (TEMPLATES / f"{_PREFIX}{language}.json").read_text(encoding="utf-8")
    )
    return held
