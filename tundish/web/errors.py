"""What a page is told when something cannot be done: a status and three sentences."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import msgspec

from tundish.call.errors import CallError, HandleError, MoveError
from tundish.store.errors import StoreError, Trouble
from tundish.web.words import on_page

# Refusals of the core that are plain ValueErrors are worded in the same three parts.
WORDS = re.compile(r"(?P<head>.*?)saw (?P<seen>.*); (?:allowed: )?(?P<allowed>.*?); (?P<do>.*)", re.DOTALL)
LONGEST = 2000


class WebError(Exception):
    """A refusal in three parts. status : of HTTP. headers : beside it, such as when to try again."""

    def __init__(
        self, status: int, seen: str, allowed: str, do: str, headers: Mapping[str, str] | None = None
    ) -> None:
        super().__init__(f"saw {seen}; allowed: {allowed}; {do}")
        self.status = status
        self.seen = seen
        self.allowed = allowed
        self.do = do
        self.headers = dict(headers or {})


def told(error: WebError) -> dict[str, Any]:
    """A refusal as the page reads it.

    >>> told(WebError(404, "no call", "a call", "open one"))
    {'error': {'seen': 'no call', 'allowed': 'a call', 'do': 'open one'}}
    """
    return {"error": {name: text[:LONGEST] for name, text in worded(error).items()}}


def worded(error: CallError | WebError) -> dict[str, str]:
    """The three parts of a refusal, a cure at the terminal told as the page where it is done."""
    # What was seen is repeated as it was: it may be somebody's own words
    return {"seen": error.seen, "allowed": on_page(error.allowed), "do": on_page(error.do)}


def refusal(error: Exception) -> WebError | None:
    """The refusal that an error of the core stands for; None for what nobody foresaw.

    >>> refusal(ValueError("age: saw -1; allowed: 0 or more; correct it")).allowed
    '0 or more'
    """
    if isinstance(error, WebError):
        return error
    if isinstance(error, msgspec.MsgspecError):
        return WebError(400, str(error), "the fields of docs/web.md", "correct the request")
    parts = _parts(error)
    return None if parts is None else WebError(_status(error), *parts)


def _status(error: Exception) -> int:
    if isinstance(error, HandleError):
        return 404
    if isinstance(error, MoveError):
        return 409
    # The disk, a server or another program stands behind it: the same request may go through later
    if isinstance(error, Trouble):
        return 503
    return 400


def _parts(error: Exception) -> tuple[str, str, str] | None:
    if isinstance(error, CallError | StoreError):
        return error.seen, error.allowed, error.do
    if not isinstance(error, ValueError):
        return None
    if all(hasattr(error, part) for part in ("seen", "allowed", "do")):
        return str(error.seen), str(error.allowed), str(error.do)  # type: ignore[attr-defined]
    found = WORDS.fullmatch(str(error))
    # Any other ValueError is a fault of ours and must not be shown as the user's
    return None if found is None else (found["head"] + found["seen"], found["allowed"], found["do"])
