"""Sets a paper with typst. All words go in as data; no text is ever read as markup."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

import typst

from tundish.documents.paper_clean import BOX, every_text, without
from tundish.documents.paper_errors import PaperError
from tundish.documents.paper_words import TEMPLATES

# Long-term keeping of what everybody can read: ISO 19005-2, level B.
STANDARD = "a-2b"
_UNSET = re.compile(r'the text `"((?:[^"\\]|\\.)*)"` could not be displayed')
_ESCAPE = re.compile(r"\\u\{([0-9a-f]+)\}")


def pdf(template: str, given: Mapping[str, Any]) -> tuple[bytes, Mapping[str, Any]]:
    """A PDF/A-2b and the data it was made from: as given, but for signs that no font at hand has.

    The fonts inside typst do for Latin, Greek, Cyrillic, Hebrew, Arabic, Devanagari. For other letters the machine's own
    are used. What even those lack is printed as a box, and `given["boxed"]` tells the template to say so.
    """
    missing: frozenset[str] = frozenset()
    # Each pass knows more of the signs that no font has; those of a whole paper show up at once.
    for own_fonts in (True, False, False):
        try:
            return _set(template, given, own_fonts=own_fonts, format="pdf", pdf_standards=STANDARD), given
        except typst.TypstError as error:
            missing = _missing(error)
            if not missing:
                raise PaperError(
                    seen=f"a {template} that cannot be set: {error.message}",
                    allowed="facts as in docs/papers.md",
                    do="mend the facts; if they are as shown there, the template is at fault",
                ) from error
        if not own_fonts:
            given = _boxed(given, missing)
    raise PaperError(
        seen=f"the signs {' '.join(sorted(missing))}",
        allowed="signs that a font has",
        do="write them otherwise",
    )


def png(template: str, given: Mapping[str, Any], ppi: float) -> list[bytes]:
    """The pages as pictures. ppi : dots an inch."""
    _, settled = pdf(template, given)
    pages = _set(template, settled, own_fonts="boxed" not in settled, format="png", ppi=ppi)
    return pages if isinstance(pages, list) else [pages]


def _boxed(given: Mapping[str, Any], missing: frozenset[str]) -> dict[str, Any]:
    changed: dict[str, Any] = every_text(dict(given), lambda text: without(text, missing))
    return {**changed, "boxed": BOX}


def _set(template: str, given: Mapping[str, Any], *, own_fonts: bool, **how: Any) -> Any:
    return typst.compile(
        str(TEMPLATES / f"{template}.typ"),
        root=str(TEMPLATES),
        ignore_system_fonts=own_fonts,
        sys_inputs={"given": json.dumps(given, ensure_ascii=False, allow_nan=False)},
        **how,
    )


def _missing(error: typst.TypstError) -> frozenset[str]:
    """The signs that could not be set. ASCII among them has a font; it only stood beside another."""
    told = " ".join(_UNSET.findall(f"{error.message}\n{error.diagnostic}"))
    signs = _ESCAPE.sub(lambda code: chr(int(code[1], 16)), told)
    return frozenset(sign for sign in signs if not sign.isascii())
