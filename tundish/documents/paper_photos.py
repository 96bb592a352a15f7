"""The photos that a paper prints, turned as the camera was held; and those it leaves out, each with the reason."""

from __future__ import annotations

import struct
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from tundish.appliance.records import Description
from tundish.call.asking import PhotoKept
from tundish.call.fold import CallState
from tundish.documents.paper_press import printable
from tundish.store.clock import day_of
from tundish.store.errors import StoreError, clear_errors
from tundish.store.kept import place_of
from tundish.store.pictures import plain_picture

Facts = dict[str, Any]
# Three pages of four, and what a letter box still takes, [byte]. Our choice.
MOST, MOST_BYTES = 12, 10_000_000
# A PNG picture is unpacked whole to be printed; more would fill the memory of a small computer. Our choice.
MOST_PIXELS = 50_000_000
ENDS: Mapping[str, str] = {"image/jpeg": "jpg", "image/png": "png"}
# Exif's orientation -> turned clockwise so many degrees, after mirroring left to right (CIPA DC-008, tag 0x0112).
TURNS: Mapping[int, tuple[int, bool]] = {
    1: (0, False), 2: (0, True), 3: (180, False), 4: (180, True),
    5: (270, True), 6: (90, False), 7: (90, True), 8: (270, False),
}  # fmt: skip


@dataclass(frozen=True)
class Pictures:
    """Photos of a call for a paper. contents : by name. shown, left : facts of those printed and of those not."""

    contents: Mapping[str, bytes] = field(default_factory=dict)
    shown: tuple[Facts, ...] = ()
    left: tuple[Facts, ...] = ()


NO_PICTURES = Pictures()


def pictures_of(state: CallState, description: Description, folder: Path, zone: str) -> Pictures:
    """The photos of a call, oldest first, as many as a paper takes. folder : where photos are kept. zone : of the days."""
    asked = {question.id: question.photo or question.ask for question in description.questions.values()}
    made, room = NO_PICTURES, MOST_BYTES
    for one in state.job.photos:
        what = asked.get(one.body.subject, one.body.subject)
        facts = {"what": what, "date": day_of(one.at, zone).isoformat()}
        content, size, why = _content(one.body, folder)
        why = why or _no_room(len(made.shown), size, room)
        made = _with(made, one.body, facts, content, why=why)
        room -= 0 if why else size
    return made


def _with(made: Pictures, photo: PhotoKept, facts: Facts, content: bytes, *, why: str) -> Pictures:
    if why:
        return replace(made, left=(*made.left, {**facts, "why": why}))
    name, (turn, mirrored) = f"{len(made.shown) + 1}.{ENDS[photo.media_type]}", TURNS[photo.orientation]
    shown = {"name": name, **facts, "turn": turn, "mirrored": mirrored}
    return replace(made, contents={**made.contents, name: content}, shown=(*made.shown, shown))


def _no_room(count: int, size: int, room: int) -> str:
    if count >= MOST:
        return f"a paper prints {MOST} photos"
    return "" if size <= room else f"the photos of a paper come to {MOST_BYTES // 1_000_000} MB at most"


def _content(photo: PhotoKept, folder: Path) -> tuple[bytes, int, str]:
    """A photo's bytes, how much they add to a paper [byte], and why it cannot be printed, if so."""
    path = place_of(folder, photo.sha256)
    if photo.media_type not in ENDS:
        return b"", 0, f"kept as {photo.media_type}; papers print JPEG and PNG"
    if not path.is_file():
        return b"", 0, "its file is on another device"
    with clear_errors(path):
        content = path.read_bytes()
    try:
        kind, plain = plain_picture(content)
    except StoreError:
        return b"", 0, "its file is broken"
    # A file that was changed, or named another kind, is not the photo that was taken
    if sha256(content).hexdigest() != photo.sha256 or kind != photo.media_type:
        return b"", 0, "its file is not as it was kept"
    # Notes stay in no paper, should a file have come here by another way
    return (plain, *_set_alone(plain, kind))


def _set_alone(content: bytes, kind: str) -> tuple[int, str]:
    if kind == "image/png" and _pixels(content) > MOST_PIXELS:
        return 0, f"more than {MOST_PIXELS // 1_000_000} million points"
    # One that cannot be set would stop the whole paper, so each is tried alone first
    size = printable(content, ENDS[kind])
    return (size, "") if size is not None else (0, "it cannot be printed: broken, or in a printer's colours")


def _pixels(png: bytes) -> int:
    wide, tall = struct.unpack_from(">II", png, 16)
    return int(wide) * int(tall)
