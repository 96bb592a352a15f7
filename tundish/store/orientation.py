"""Which way up a camera was held, read from a picture's notes before they are taken out.

The one word of the notes that says nothing of place or person, and without which a picture lies on its side.

References
----------
Exif 2.32, CIPA DC-008, tag 0x0112 Orientation; TIFF 6.0, section 2 (directories)
PNG, eXIf chunk, https://www.w3.org/TR/png-3/ ; WebP container, EXIF chunk, RFC 9649, https://www.rfc-editor.org/rfc/rfc9649
"""

from __future__ import annotations

import struct

UPRIGHT = 1
_TAG = 0x0112
_JPEG_HEAD = b"Exif\0\0"
_APP1, _SOS = 0xE1, 0xDA


def orientation_of(data: bytes) -> int:
    """The orientation of a JPEG, PNG or WebP picture, 1 to 8; 1, upright, where nothing sound is said.

    >>> orientation_of(b"no picture")
    1
    """
    try:
        found = _of_notes(_notes(data))
    # Notes are written by many hands; a broken one must not keep a photo from being kept
    except (struct.error, IndexError):
        return UPRIGHT
    return found if 1 <= found <= 8 else UPRIGHT


def _notes(data: bytes) -> bytes:
    if data[:2] == b"\xff\xd8":
        return _of_jpeg(data)
    if data[:4] == b"\x89PNG":
        return _of_chunks(data, 8, ">I4s", b"eXIf")
    if data[:4] == b"RIFF":
        return _of_chunks(data, 12, "<4sI", b"EXIF")
    return b""


def _of_jpeg(data: bytes) -> bytes:
    place = 2
    while data[place] == 0xFF and data[place + 1] != _SOS:
        # Any number of fill bytes may stand before a marker
        if data[place + 1] == 0xFF:
            place += 1
            continue
        (size,) = struct.unpack_from(">H", data, place + 2)
        block = data[place + 4 : place + 2 + size]
        if data[place + 1] == _APP1 and block.startswith(_JPEG_HEAD):
            return block[len(_JPEG_HEAD) :]
        place += 2 + max(size, 2)
    return b""


def _of_chunks(data: bytes, place: int, head: str, wanted: bytes) -> bytes:
    check = 4 if head.startswith(">") else 0
    while place + 8 <= len(data):
        one, other = struct.unpack_from(head, data, place)
        name, size = (one, other) if isinstance(one, bytes) else (other, one)
        if name == wanted:
            # Some programs put the head of a JPEG block before it all the same
            return data[place + 8 : place + 8 + size].removeprefix(_JPEG_HEAD)
        # A PNG chunk ends with its check sum; chunks of WebP begin at even places
        place += 8 + size + (check or size % 2)
    return b""


def _of_notes(notes: bytes) -> int:
    order = {b"II": "<", b"MM": ">"}.get(notes[:2])
    if order is None:
        return UPRIGHT
    (start,) = struct.unpack_from(f"{order}I", notes, 4)
    (count,) = struct.unpack_from(f"{order}H", notes, start)
    for entry in range(start + 2, start + 2 + 12 * count, 12):
        tag, kind, many, value = struct.unpack_from(f"{order}HHIH", notes, entry)
        # One short number (TIFF 6.0: type 3)
        if (tag, kind, many) == (_TAG, 3, 1):
            return int(value)
    return UPRIGHT
