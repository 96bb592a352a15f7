"""The examples of the page of papers, and a PDF read back."""

from __future__ import annotations

import copy
import io
import json
import re
from pathlib import Path
from typing import Any

from pypdf import PdfReader

PAGE = Path(__file__).parents[2] / "docs" / "papers.md"
_BLOCK = re.compile(r"^## (\w+)\n(?:(?!^## |^```).)*?^```json\n(.*?)^```", re.DOTALL | re.MULTILINE)
_HELD = {kind: json.loads(block) for kind, block in _BLOCK.findall(PAGE.read_text(encoding="utf-8"))}
KINDS = tuple(_HELD)


def example(kind: str, **changes: Any) -> dict[str, Any]:
    """The facts of the page's example, with top fields changed."""
    return {**copy.deepcopy(_HELD[kind]), **changes}


def opened(data: bytes) -> PdfReader:
    """A PDF to read."""
    return PdfReader(io.BytesIO(data), strict=True)


def pages(data: bytes) -> list[str]:
    """The text of each page, any white space as one space."""
    return [" ".join(page.extract_text().replace("\u200b", "").split()) for page in opened(data).pages]


def text(data: bytes) -> str:
    """The text of all pages."""
    return " ".join(pages(data))
