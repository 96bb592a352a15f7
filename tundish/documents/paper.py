"""The papers of a call as PDF: report, invoice, quote, customer's page, handbook sheet, hand-over sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from tundish.appliance.refusals import listed, near
from tundish.documents.paper_errors import PaperError
from tundish.documents.paper_fields import sheet
from tundish.documents.paper_handbook import grouped
from tundish.documents.paper_press import NONE, Files, pdf, png
from tundish.documents.paper_show import printed
from tundish.documents.paper_sound import moment, sound
from tundish.documents.paper_words import labels

# Our name of a size -> typst's.
SIZES: Mapping[str, str] = {"A4": "a4", "Letter": "us-letter"}


def paper(
    kind: str, facts: Mapping[str, Any], *, size: str = "A4", language: str = "en", photos: Files = NONE
) -> bytes:
    """A paper as PDF/A-2b. The same arguments give the same bytes, as long as typst's own fonts do.

    Parameters
    ----------
    kind : a name of `paper_shapes.KINDS`
    facts : its fields, as in `paper_shapes` and docs/papers.md
    size : a name of `SIZES`
    language : of the labels; the facts are printed as given
    photos : content of the photos that the facts name, JPEG or PNG, by name

    Raises
    ------
    PaperError : unknown kind, size or language; a field missing, unknown or of the wrong kind; sums that do not add up.

    Examples
    --------
    >>> check = {"check": "C05", "title": "flowing pressure", "state": "FILL", "healthy": {"says": "300 kPa"}}
    >>> facts = {"date": "2026-03-14", "family": "front-load washer", "market": "EU", "checks": [check]}
    >>> paper("handbook", facts)[:5]
    b'%PDF-'
    """
    return pdf(kind, _given(kind, facts, size, language, photos), photos)[0]


def pictures(
    kind: str,
    facts: Mapping[str, Any],
    *,
    size: str = "A4",
    language: str = "en",
    photos: Files = NONE,
    ppi: float = 96.0,
) -> list[bytes]:
    """The pages of the same paper as PNG, to look at on a screen. Arguments and errors as `paper`. ppi : dots an inch."""
    return png(kind, _given(kind, facts, size, language, photos), ppi, photos)


def _given(kind: str, facts: Mapping[str, Any], size: str, language: str, photos: Files) -> dict[str, Any]:
    """What the template reads: facts as printed, labels, size of the paper, its date as numbers."""
    if size not in SIZES:
        raise PaperError(
            seen=f'"{size}" as a size', allowed=listed(SIZES), do=near(size, SIZES) or "name one of these"
        )
    words = labels(language)
    record = sheet(kind, facts)
    plain = asdict(record)
    sound(kind, record, plain)
    _need_photos(plain, photos)
    day = moment(record.date, "date")
    shown = printed(plain, words)
    return {
        "facts": shown | ({"groups": grouped(shown["checks"], words)} if kind == "handbook" else {}),
        "labels": words,
        "language": language,
        "size": SIZES[size],
        "day": [day.year, day.month, day.day],
    }


def _need_photos(plain: Mapping[str, Any], photos: Files) -> None:
    for photo in plain.get("photos", ()):
        if photo["name"] not in photos:
            raise PaperError(
                seen=f'the photo "{photo["name"][:40]}" without its content',
                allowed=listed(photos) if photos else "no photo, since none was given",
                do="give the content of each photo by its name",
            )
