"""Sets a paper with typst. All words go in as data; no text is ever read as markup."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from pathlib import Path
from shutil import copytree
from tempfile import TemporaryDirectory
from types import MappingProxyType
from typing import Any

import typst

from tundish.documents.paper_clean import BOX, every_text, without
from tundish.documents.paper_errors import PaperError
from tundish.documents.paper_words import TEMPLATES

# Long-term keeping of what everybody can read: ISO 19005-2, level B.
STANDARD = "a-2b"
Files = Mapping[str, bytes]
NONE: Files = MappingProxyType({})
# The folder of photos, as the templates know it
PHOTOS = "photos"
_NAME = re.compile(r"[0-9]+\.(jpg|png)")
_UNSET = re.compile(r'the text `"((?:[^"\\]|\\.)*)"` could not be displayed')
_ESCAPE = re.compile(r"\\u\{([0-9a-f]+)\}")


def pdf(template: str, given: Mapping[str, Any], photos: Files = NONE) -> tuple[bytes, Mapping[str, Any]]:
    """A PDF/A-2b and the data it was made from: as given, but for signs that no font at hand has.

    The fonts inside typst do for Latin, Greek, Cyrillic, Hebrew, Arabic, Devanagari. For other letters the machine's own
    are used. What even those lack is printed as a box, and `given["boxed"]` tells the template to say so.
    photos : content by name, as the template asks for them.
    """
    missing: frozenset[str] = frozenset()
    # Each pass knows more of the signs that no font has; those of a whole paper show up at once.
    for own_fonts in (True, False, False):
        try:
            return _set(template, given, photos, own_fonts=own_fonts, format="pdf", pdf_standards=STANDARD), given
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


def png(template: str, given: Mapping[str, Any], ppi: float, photos: Files = NONE) -> list[bytes]:
    """The pages as pictures. ppi : dots an inch."""
    _, settled = pdf(template, given, photos)
    pages = _set(template, settled, photos, own_fonts="boxed" not in settled, format="png", ppi=ppi)
    return pages if isinstance(pages, list) else [pages]


def _boxed(given: Mapping[str, Any], missing: frozenset[str]) -> dict[str, Any]:
    changed: dict[str, Any] = every_text(dict(given), lambda text: without(text, missing))
    return {**changed, "boxed": BOX}


def printable(content: bytes, end: str) -> int | None:
    """How much a picture adds to a paper, [byte]; None when it cannot be set. end : of its name, such as jpg."""
    with TemporaryDirectory() as folder:
        _written(Path(folder), {f"1.{end}": content})
        (Path(folder) / "alone.typ").write_text(f'#image("{PHOTOS}/1.{end}", width: 10mm, alt: "photo")', encoding="utf-8")
        try:
            return len(_compiled(Path(folder), "alone", {}, own_fonts=True, format="pdf", pdf_standards=STANDARD))
        except typst.TypstError:
            return None


def _set(template: str, given: Mapping[str, Any], photos: Files, *, own_fonts: bool, **how: Any) -> Any:
    if not photos:
        return _compiled(TEMPLATES, template, given, own_fonts=own_fonts, **how)
    # Typst reads pictures from below the folder of the template only. The folder is closed to other users
    with TemporaryDirectory() as folder:
        copytree(TEMPLATES, folder, dirs_exist_ok=True)
        _written(Path(folder), photos)
        return _compiled(Path(folder), template, given, own_fonts=own_fonts, **how)


def _written(folder: Path, photos: Files) -> None:
    (folder / PHOTOS).mkdir()
    for name, content in photos.items():
        if not _NAME.fullmatch(name):
            raise PaperError(seen=f'"{name[:40]}" as a photo', allowed="a name such as 1.jpg", do="name it so")
        (folder / PHOTOS / name).write_bytes(content)


def _compiled(root: Path, template: str, given: Mapping[str, Any], *, own_fonts: bool, **how: Any) -> Any:
    return typst.compile(
        str(root / f"{template}.typ"),
        root=str(root),
        ignore_system_fonts=own_fonts,
        sys_inputs={"given": json.dumps(given, ensure_ascii=False, allow_nan=False)},
        **how,
    )


def _missing(error: typst.TypstError) -> frozenset[str]:
    """The signs that could not be set. ASCII among them has a font; it only stood beside another."""
    told = " ".join(_UNSET.findall(f"{error.message}\n{error.diagnostic}"))
    signs = _ESCAPE.sub(lambda code: chr(int(code[1], 16)), told)
    return frozenset(sign for sign in signs if not sign.isascii())
