"""Events of phones that were out of reach: each taken once, in any order, and every answer may be asked for again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any

import msgspec

from tundish.call import codec
from tundish.call.codec import Written
from tundish.call.errors import CallError
from tundish.store.stock import Line, take_lines
from tundish.web.asked import DAY, Asked, Given, Row
from tundish.web.errors import WebError, worded

# So many at once; the outbox sends the rest after. [byte] of one event: a signature is some ten thousand. Our choice.
AT_ONCE, LONGEST = 1000, 256_000
# How far ahead a phone's clock may be, [s]: new ids follow old ones, and one from the end of time leaves none to follow it.
AHEAD = 366 * 86_400.0

Refused = dict[str, str]


class Outbox(Given, frozen=True):
    """What a phone recorded: events and stock lines as they lie in the file."""

    events: Annotated[list[msgspec.Raw], msgspec.Meta(max_length=AT_ONCE)] = msgspec.field(
        default_factory=list
    )
    stock: Annotated[list[msgspec.Raw], msgspec.Meta(max_length=AT_ONCE)] = msgspec.field(
        default_factory=list
    )


@dataclass
class _Sorted:
    """Things by their place in the outbox; refusals beside."""

    ids: list[str] = field(default_factory=list)
    sound: dict[int, Any] = field(default_factory=dict)
    refused: dict[int, Refused] = field(default_factory=dict)


def sync(asked: Asked) -> dict[str, Any]:
    """Take in what a phone brings. An id is accepted when its event is on this disk, now or before."""
    rows = _read(asked, asked.form.events, codec.from_line)
    lines = _read(asked, asked.form.stock, _line)
    # One transaction: what is told as accepted is on the disk when the answer goes out
    with asked.desk.calls() as file, file.writing():
        taken = file.take((str(place), row) for place, row in rows.sound.items())
        _refuse(rows, {int(one.where): one.why for one in taken.refused})
        moved = take_lines(file, lines.sound.values())
        by_id = {one.where.removeprefix("stock line "): one.why for one in moved.refused}
        _refuse(lines, {place: by_id[line.id] for place, line in lines.sound.items() if line.id in by_id})
    both = (rows, lines)
    return {
        "accepted": [id for one in both for id in _accepted(one)],
        "refused": [refusal for one in both for _, refusal in sorted(one.refused.items())],
    }


def _read(asked: Asked, raws: list[msgspec.Raw], reader: Any) -> _Sorted:
    found = _Sorted()
    for place, raw in enumerate(raws):
        text = bytes(raw).decode()
        found.ids.append(_id(text))
        try:
            thing = reader(text)
            _checked(asked, thing, len(text))
            found.sound[place] = thing
        except (CallError, WebError) as error:
            found.refused[place] = {"id": found.ids[place], **worded(error)}
    return found


def _checked(asked: Asked, thing: Written | Line, size: int) -> None:
    if size > LONGEST:
        raise WebError(413, f"an event of {size} bytes", f"up to {LONGEST}", "record less in one event")
    # Who wrote what must stay true: a phone speaks for itself only
    if asked.device is not None and thing.device != asked.device:
        raise WebError(
            403, f"device {thing.device!r} from {asked.device}", asked.device, "sync from the phone that wrote it"
        )
    if _moment(thing.id) > asked.desk.config.now() + AHEAD:
        raise WebError(
            400, f"id {thing.id} of a moment far ahead", "a clock less than a year ahead", "set the clock right"
        )


def _moment(id: str) -> float:
    # The first 48 bits of an id are milliseconds (RFC 9562, section 5.7)
    try:
        return int(id[:8] + id[9:13], 16) / 1000.0
    except ValueError:
        return 0.0


def _line(text: str) -> Line:
    try:
        return msgspec.json.decode(text, type=Line)
    except msgspec.MsgspecError as error:
        raise WebError(400, str(error), "a line of the stock", "correct it") from error


def _id(text: str) -> str:
    found = msgspec.json.decode(text)
    id = found.get("id") if isinstance(found, Mapping) else None
    return id[:64] if isinstance(id, str) else ""


def _refuse(found: _Sorted, why: Mapping[int, str]) -> None:
    for place, words in why.items():
        found.refused[place] = {
            "id": found.ids[place],
            "seen": words,
            "allowed": "a sound event under its own id",
            "do": "keep it, and record it anew",
        }


def _accepted(found: _Sorted) -> Iterator[str]:
    # An id that came twice, once refused, is not told as accepted: the phone would delete what was refused
    bad = {found.ids[place] for place in found.refused}
    good = (found.ids[place] for place in found.sound if place not in found.refused)
    yield from dict.fromkeys(id for id in good if id not in bad)


ROWS = (Row("POST", "/api/sync", "takes in a phone's events", sync, form=Outbox, limit=DAY),)
