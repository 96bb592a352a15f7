"""What an event says.

Bodies are frozen and checked when built; a wrong one is corrected by another event, never edited.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from tundish.call.errors import EventError
from tundish.call.identity import check_event_id

BOUNDS = ("exact", "above", "below")
NAME_LENGTH = 60


class Body:
    """What an event says.

    KIND : its name in the file. SCHEMA : version of its fields.
    OVER : number fields that may be infinite, written as "over".
    """

    KIND: ClassVar[str] = ""
    SCHEMA: ClassVar[int] = 1
    OVER: ClassVar[tuple[str, ...]] = ()

    @property
    def kind(self) -> str:
        """Name of the kind."""
        return self.KIND

    @property
    def schema(self) -> int:
        """Version of the fields."""
        return self.SCHEMA


@dataclass(frozen=True)
class CallOpened(Body):
    """A customer asked for help.

    family, market, complaint : names from the family's description.
    age : of the machine, [year]; None when nobody knows.
    circumstances : names from the description. facts : free text. name : a short name for the call, or "".
    """

    KIND = "call opened"
    family: str
    market: str
    complaint: str
    age: float | None = None
    circumstances: tuple[str, ...] = ()
    facts: str = ""
    name: str = ""

    def __post_init__(self) -> None:
        for field in ("family", "market", "complaint"):
            need_text(self.KIND, field, getattr(self, field))
        _need_names(self.KIND, self.circumstances)
        object.__setattr__(self, "circumstances", tuple(self.circumstances))
        object.__setattr__(self, "age", _number(self.age))
        if self.age is not None and not 0 <= self.age < math.inf:
            raise EventError(
                seen=f"age {self.age}",
                allowed="0 years or more, or none",
                do="give the machine's age in years",
            )
        if self.name != self.name.strip() or len(self.name) > NAME_LENGTH or not (self.name.isprintable()):
            raise EventError(
                seen=f"call name {self.name!r}",
                allowed=f"up to {NAME_LENGTH} plain characters, no blank at either end",
                do="choose a shorter, plain name or none",
            )


@dataclass(frozen=True)
class ReadingTaken(Body):
    """What a check showed.

    check : id from the description.
    value : SI, for an instrument; infinite when it was over its range; None for a look.
    answer : the answer named, for a look. bound : exact, above (at least this much) or below.
    typed : as the technician typed it. note : free text.
    """

    KIND = "reading taken"
    OVER = ("value",)
    check: str
    value: float | None = None
    answer: str | None = None
    bound: str = "exact"
    typed: str = ""
    note: str = ""

    def __post_init__(self) -> None:
        need_text(self.KIND, "check", self.check)
        object.__setattr__(self, "value", _number(self.value))
        if (self.value is None) == (self.answer is None):
            raise EventError(
                seen=f"value {self.value} and answer {self.answer!r} for {self.check!r}",
                allowed="one of the two",
                do="give a value for an instrument or an answer for a look",
            )
        _check_bound(self)


@dataclass(frozen=True)
class Corrected(Body):
    """An earlier event was wrong.

    target : id of that event; may itself be a correction, which is then changed or undone.
    by : what should have stood there (same kind); None withdraws the target. why : free text.
    """

    KIND = "corrected"
    target: str
    by: Body | None = None
    why: str = ""

    def __post_init__(self) -> None:
        check_event_id(self.target)
        # A replaced target would move a correction to another event, which nobody could follow.
        if isinstance(self.by, Corrected):
            raise EventError(
                seen=f"a correction put in the place of event {self.target}",
                allowed="a body of the kind that was wrong, or none",
                do="name the wrong event itself and what it should have said",
            )


@dataclass(frozen=True)
class CircumstanceAdded(Body):
    """The customer told one more circumstance. name : from the description."""

    KIND = "circumstance added"
    name: str

    def __post_init__(self) -> None:
        need_text(self.KIND, "name", self.name)


@dataclass(frozen=True)
class RepairDone(Body):
    """A repair was made. fault : id from the description."""

    KIND = "repair done"
    fault: str
    note: str = ""

    def __post_init__(self) -> None:
        need_text(self.KIND, "fault", self.fault)


@dataclass(frozen=True)
class NoteAdded(Body):
    """Words worth keeping."""

    KIND = "note added"
    text: str

    def __post_init__(self) -> None:
        need_text(self.KIND, "text", self.text)


@dataclass(frozen=True)
class Unknown(Body):
    """A body of a newer version, kept as it came.

    name, version : its kind and schema. content : its JSON text without blanks.
    """

    name: str
    version: int
    content: str

    @property
    def kind(self) -> str:
        """Name of the kind."""
        return self.name

    @property
    def schema(self) -> int:
        """Version of the fields."""
        return self.version


def _number(value: float | None) -> float | None:
    # Whole numbers become floats, so that equal bodies are written alike.
    return None if value is None else float(value)


def need_text(kind: str, field: str, text: str) -> None:
    """Refuse a field without words."""
    if not text.strip():
        raise EventError(
            seen=f"{field} {text!r} in a {kind!r} event", allowed="some text", do=f"give the {field}"
        )


def _need_names(kind: str, names: tuple[str, ...]) -> None:
    # Text is a sequence too and would pass as a list of letters.
    if isinstance(names, str):
        raise EventError(
            seen=f"circumstances {names!r}", allowed="several names", do="give a list, even for one name"
        )
    for name in names:
        need_text(kind, "circumstance", name)


def _check_bound(reading: ReadingTaken) -> None:
    if reading.bound not in BOUNDS:
        raise EventError(seen=f"bound {reading.bound!r}", allowed=", ".join(BOUNDS), do="choose one of these")
    # A look names one answer; more or less than an answer means nothing.
    if reading.answer is not None and reading.bound != "exact":
        raise EventError(
            seen=f"bound {reading.bound!r} with answer {reading.answer!r}",
            allowed="exact",
            do="leave the bound out",
        )
    if reading.value is None or math.isfinite(reading.value):
        return
    # What is left is NaN, minus infinity (no instrument shows them) and over range.
    if reading.value != math.inf or reading.bound == "below":
        raise EventError(
            seen=f"value {reading.value}, bound {reading.bound}, for {reading.check!r}",
            allowed="a finite number, or over range",
            do="type what the instrument showed",
        )
