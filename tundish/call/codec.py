"""Events to rows and lines of JSON, and back. What a newer version wrote is kept word for word."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

import msgspec

from tundish.call.bodies import Body, Unknown
from tundish.call.errors import EventError
from tundish.call.events import Event
from tundish.call.kinds import KINDS, Kind

OVER = "over"
NESTED = {"kind", "schema", "body"}


@dataclass(frozen=True)
class Written:
    """An event as it lies in the file: seven plain columns, the body as JSON text."""

    id: str
    call: str
    at: str
    device: str
    kind: str
    schema: int
    body: str


class _Line(msgspec.Struct, forbid_unknown_fields=True):
    """The fields of a line, in the order of the columns."""

    id: str
    call: str
    at: str
    device: str
    kind: str
    schema: int
    body: msgspec.Raw


def write(event: Event) -> Written:
    """An event as a row."""
    body = event.body
    text = body.content if isinstance(body, Unknown) else msgspec.json.encode(_contents(body)).decode()
    return Written(event.id, event.call, event.at, event.device, body.kind, body.schema, text)


def read(row: Written, kinds: Mapping[str, Kind] = KINDS) -> Event:
    """A row as an event; an unknown kind or a newer schema becomes an `Unknown` body.

    EventError when the row is not an event.
    """
    body = _read_body(row.kind, row.schema, _decoded(row.body), kinds)
    # From the text itself: numbers that went through a float could lose digits.
    if isinstance(body, Unknown):
        body = Unknown(row.kind, row.schema, _compact(row.body))
    return Event(id=row.id, device=row.device, at=row.at, call=row.call, body=body)


def body_from(kind: str, content: Mapping[str, Any]) -> Body:
    """The body of a known kind from plain values, as a form or another part of the program gives them.

    EventError for an unknown kind, a field that is missing, strange or wrong.

    >>> body_from("paid", {"minor": 1250, "currency": "EUR", "means": "card"})
    Paid(minor=1250, currency='EUR', means='card')
    """
    if kind not in KINDS:
        raise EventError(seen=f"kind {kind!r}", allowed=", ".join(KINDS), do="name one of these")
    return _build(KINDS[kind].body, dict(content), KINDS)


def to_line(row: Written) -> str:
    """A row as one line of JSON. A body that is no JSON is put down as text, so that nothing is lost."""
    try:
        body = msgspec.Raw(_compact(row.body).encode())
    except EventError:
        body = msgspec.Raw(msgspec.json.encode(row.body))
    line = _Line(row.id, row.call, row.at, row.device, row.kind, row.schema, body)
    return msgspec.json.encode(line).decode()


def from_line(text: str) -> Written:
    """One line of JSON as a row. The row is not yet known to be a sound event: `read` tells."""
    try:
        # Only this module tells a field that stands there twice; the other one silently takes the last.
        json.loads(text, object_pairs_hook=_no_twins)
        line = msgspec.json.decode(text, type=_Line)
    except (msgspec.MsgspecError, ValueError, RecursionError) as error:
        raise EventError(
            seen=f"{_clipped(text)}: {_trouble(error)}",
            allowed=f"one JSON object with the fields {', '.join(_Line.__struct_fields__)}",
            do="correct the line, or update this program if a newer one wrote it",
        ) from error
    return Written(
        line.id, line.call, line.at, line.device, line.kind, line.schema, _compact(bytes(line.body).decode())
    )


def _contents(body: Body) -> dict[str, Any]:
    return {field.name: _plain(getattr(body, field.name)) for field in fields(body)}  # type: ignore[arg-type]


def _plain(value: object) -> object:
    if isinstance(value, Unknown):
        return {"kind": value.kind, "schema": value.schema, "body": msgspec.Raw(value.content.encode())}
    if isinstance(value, Body):
        return {"kind": value.kind, "schema": value.schema, "body": _contents(value)}
    # JSON has no infinity: an instrument over its range is written as a word.
    return OVER if value == math.inf else value


def _read_body(kind: str, schema: int, content: object, kinds: Mapping[str, Kind]) -> Body:
    if not kind.strip() or schema < 1:
        raise EventError(
            seen=f"kind {kind!r}, schema {schema}", allowed="a name, and 1 or more", do="correct the event"
        )
    known = kinds.get(kind)
    if known is None or schema > known.body.SCHEMA:
        return Unknown(kind, schema, msgspec.json.encode(content).decode())
    if not isinstance(content, dict):
        raise EventError(
            seen=f"body {_clipped(content)} of {kind!r}", allowed="a JSON object", do="correct the event"
        )
    # Old fields step by step to the present ones; the row in the file stays as it is.
    for upgrade in known.upgrades[schema - 1 :]:
        content = upgrade(content)
    return _build(known.body, content, kinds)


def _build(body: type[Body], content: dict[str, Any], kinds: Mapping[str, Kind]) -> Body:
    names = [field.name for field in fields(body)]  # type: ignore[arg-type]
    # A misspelt field would otherwise be lost without a word.
    strange = sorted(set(content) - set(names))
    if strange:
        raise EventError(
            seen=f"field {strange[0]!r} in a {body.KIND!r} body",
            allowed=", ".join(names),
            do="correct the field's name",
        )
    content = {
        name: math.inf if name in body.OVER and value == OVER else value for name, value in content.items()
    }
    try:
        return msgspec.convert(content, type=body, dec_hook=lambda _, nested: _read_nested(nested, kinds))
    except msgspec.ValidationError as error:
        # The body's own refusal says more than the wrapping.
        if isinstance(error.__cause__, EventError):
            raise error.__cause__ from None
        raise EventError(
            seen=f"a {body.KIND!r} body: {error}",
            allowed=f"the fields {', '.join(names)}",
            do="correct the field",
        ) from error


def _read_nested(nested: object, kinds: Mapping[str, Kind]) -> Body:
    # The body inside a correction
    if not (isinstance(nested, dict) and set(nested) == NESTED):
        raise EventError(
            seen=f"replacing body {_clipped(nested)}", allowed="kind, schema and body", do="correct the event"
        )
    kind, schema = nested["kind"], nested["schema"]
    if not (isinstance(kind, str) and type(schema) is int):
        raise EventError(
            seen=f"kind {kind!r}, schema {schema!r}",
            allowed="a name and a whole number",
            do="correct the event",
        )
    return _read_body(kind, schema, nested["body"], kinds)


def _decoded(text: str) -> object:
    try:
        return msgspec.json.decode(text)
    except (msgspec.MsgspecError, RecursionError) as error:
        raise EventError(seen=f"{_clipped(text)}: {error}", allowed="JSON", do="correct the body") from error


def _compact(text: str) -> str:
    # JSON text without blanks between its parts; numbers keep every digit
    _decoded(text)
    return msgspec.json.format(text, indent=-1)


def _no_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    names = [name for name, _ in pairs]
    twins = sorted({name for name in names if names.count(name) > 1})
    if twins:
        raise ValueError(f"field {twins[0]!r} stands there twice")
    return dict(pairs)


def _trouble(error: Exception) -> str:
    # Its own words count lines, which confuses when the text is one line of a file.
    return (
        f"{error.msg} at character {error.pos + 1}" if isinstance(error, json.JSONDecodeError) else str(error)
    )


def _clipped(thing: object, width: int = 60) -> str:
    text = repr(thing)
    return text if len(text) <= width else text[:width] + " ..."
