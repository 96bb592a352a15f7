"""Whether bytes are a plain picture: the type they claim, whole, with nothing after it and no notes inside.

Notes (Exif, XMP, IPTC) hold where a photo was taken, often a customer's home. They are refused, not guessed at: a
place may also stand in a maker's own block. Only pieces that draw the picture are let pass.

References
----------
JPEG, ITU-T T.81, annex B, https://www.w3.org/Graphics/JPEG/itu-t81.pdf
PNG, https://www.w3.org/TR/png-3/ ; WebP container, RFC 9649, https://www.rfc-editor.org/rfc/rfc9649
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Mapping

from tundish.web.errors import WebError

# Markers without length: restarts and TEM (T.81, table B.1).
BARE = {0x01, *range(0xD0, 0xD8)}
SOI, EOI, SOS = 0xD8, 0xD9, 0xDA
# Tables, frames, scans, restart interval; application blocks only as `_drawing` says.
DRAWN = {*range(0xC0, 0xD0), 0xDA, 0xDB, 0xDC, 0xDD, 0xDE, 0xDF}
APPLICATION: Mapping[int, bytes] = {
    0xE0: b"JF",  # JFIF and its thumbnail block JFXX
    0xE2: b"ICC_PROFILE\0",
    0xEE: b"Adobe",
}
PNG_HEAD = b"\x89PNG\r\n\x1a\n"
PNG_DRAWN = {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"bKGD", b"pHYs", b"sBIT"}
WEBP_DRAWN = {b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ICCP"}


def check_picture(data: bytes, media_type: str) -> None:
    """WebError 415 for a type that is not taken, 422 for bytes that are no plain picture of that type."""
    check = CHECKS.get(media_type)
    if check is None:
        raise WebError(415, f"type {media_type!r}", ", ".join(CHECKS), "take the photo as JPEG")
    try:
        check(data)
    except (struct.error, IndexError) as error:
        raise _refused(f"a picture of {len(data)} bytes that ends too early") from error


def _jpeg(data: bytes) -> None:
    if data[:2] != b"\xff\xd8":
        raise _refused(f"bytes that begin {data[:4].hex()}, not as a JPEG picture")
    place, scans = 2, 0
    while True:
        marker, place = _marker(data, place)
        if marker == EOI:
            break
        if marker in BARE:
            continue
        (size,) = struct.unpack_from(">H", data, place)
        _drawing(marker, data[place + 2 : place + size])
        place += max(size, 2)
        if marker == SOS:
            scans, place = scans + 1, _after_scan(data, place)
    # What comes after the end can be a page with script, or a second picture with notes
    if place != len(data) or not scans:
        raise _refused(f"a JPEG picture of {scans} scans with {len(data) - place} bytes after its end")


def _marker(data: bytes, place: int) -> tuple[int, int]:
    if data[place] != 0xFF:
        raise _refused(f"a JPEG picture with bytes between its blocks, at {place}")
    # Any number of fill bytes may stand before a marker
    while data[place] == 0xFF:
        place += 1
    return data[place], place + 1


def _drawing(marker: int, block: bytes) -> None:
    if marker in DRAWN:
        return
    begins = APPLICATION.get(marker)
    # A JFXX block can hold a whole second picture, whose own notes nobody looks into
    if begins is None or not block.startswith(begins) or block.startswith(b"JFXX"):
        raise _refused(f"a JPEG picture with notes inside (block {marker:#x})")


def _after_scan(data: bytes, place: int) -> int:
    """The place of the next marker behind a scan; a zero after FF is a plain FF (T.81, F.1.2.3)."""
    while True:
        place = data.find(b"\xff", place)
        if place < 0:
            raise _refused(f"a picture of {len(data)} bytes that ends too early")
        if data[place + 1] != 0 and data[place + 1] not in BARE:
            return place
        place += 2


def _png(data: bytes) -> None:
    if data[:8] != PNG_HEAD or data[12:16] != b"IHDR":
        raise _refused(f"bytes that begin {data[:4].hex()}, not as a PNG picture")
    place, name = 8, b""
    while name != b"IEND":
        (size,) = struct.unpack_from(">I", data, place)
        name = data[place + 4 : place + 8]
        if name not in PNG_DRAWN:
            raise _refused(f"a PNG picture with notes inside (chunk {name!r})")
        place += size + 12
    if place != len(data):
        raise _refused(f"a PNG picture with {len(data) - place} bytes after its end")


def _webp(data: bytes) -> None:
    if data[:4] != b"RIFF" or data[8:12] != b"WEBP" or struct.unpack_from("<I", data, 4)[0] != len(data) - 8:
        raise _refused(f"{len(data)} bytes that begin {data[:4].hex()}, not a WebP picture of that length")
    place, seen = 12, set()
    while place < len(data):
        name, size = struct.unpack_from("<4sI", data, place)
        if name not in WEBP_DRAWN:
            raise _refused(f"a WebP picture with notes inside (chunk {name!r})")
        seen.add(name)
        # Chunks begin at even places
        place += 8 + size + size % 2
    if place != len(data) or not seen & {b"VP8 ", b"VP8L"}:
        raise _refused(f"a WebP picture that is not whole, of {len(seen)} chunks")


def _refused(seen: str) -> WebError:
    return WebError(
        422,
        seen,
        "a whole picture without notes inside, since they may tell where it was taken",
        "draw it anew, as on a canvas, and send that",
    )


CHECKS: Mapping[str, Callable[[bytes], None]] = {"image/jpeg": _jpeg, "image/png": _png, "image/webp": _webp}
