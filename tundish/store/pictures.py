"""A photo as it is kept: its type told from its bytes, and all notes inside taken out.

Notes (Exif, XMP, IPTC) hold where a photo was taken, often a customer's home. Only the pieces that draw the picture are kept. With
the notes goes the word which way up it was held: `orientation` reads it before, and the event of the photo keeps it.

References
----------
JPEG, ITU-T T.81, annex B, https://www.w3.org/Graphics/JPEG/itu-t81.pdf
PNG, https://www.w3.org/TR/png-3/ ; WebP container, RFC 9649, https://www.rfc-editor.org/rfc/rfc9649
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Iterator, Mapping

from tundish.store.errors import StoreError

# As much as a page of the browser may send; our choice.
MOST = 12_000_000
# Markers without length: restarts and TEM (T.81, table B.1).
BARE = {0x01, *range(0xD0, 0xD8)}
EOI, SOS = 0xD9, 0xDA
# Tables, frames, scans, restart interval (T.81, table B.1); of the application blocks only what the colours need.
DRAWN = {*range(0xC0, 0xD0), 0xDA, 0xDB, 0xDC, 0xDD, 0xDE, 0xDF}
COLOURS: Mapping[int, bytes] = {0xE0: b"JFIF", 0xE2: b"ICC_PROFILE\0", 0xEE: b"Adobe"}
PNG_HEAD = b"\x89PNG\r\n\x1a\n"
PNG_DRAWN = {
    b"IHDR",
    b"PLTE",
    b"IDAT",
    b"IEND",
    b"tRNS",
    b"gAMA",
    b"cHRM",
    b"sRGB",
    b"iCCP",
    b"bKGD",
    b"pHYs",
    b"sBIT",
}
WEBP_DRAWN = {b"VP8 ", b"VP8L", b"VP8X", b"ALPH", b"ICCP"}
# Bits of a VP8X chunk that promise Exif and XMP (RFC 9649, 2.7).
PROMISED = 0x08 | 0x04


def plain_picture(data: bytes) -> tuple[str, bytes]:
    """The media type of a picture, and the picture without its notes. StoreError when it is none, too large, or cut off.

    >>> plain_picture(b"%PDF-1.7")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    tundish.store.errors.StoreError: saw a file that begins 255044462d312e37; allowed: a picture as JPEG, ...
    """
    found = next((kind for kind, head in HEADS.items() if head(data)), None)
    if found is None or len(data) > MOST:
        raise StoreError(
            seen=f"a file that begins {data[:8].hex()}"
            if found is None
            else f"a picture of {len(data)} bytes",
            allowed="a picture as JPEG, PNG or WebP, up to 12 MB",
            do="take the photo anew as JPEG",
        )
    try:
        return found, PLAIN[found](data)
    except (struct.error, IndexError, ValueError) as error:
        raise StoreError(
            seen=f"a picture ({found}) of {len(data)} bytes that is not whole",
            allowed="a whole picture",
            do="copy it from the camera again",
        ) from error


def _jpeg(data: bytes) -> bytes:
    return b"\xff\xd8" + b"".join(_jpeg_pieces(data)) + b"\xff\xd9"


def _jpeg_pieces(data: bytes) -> Iterator[bytes]:
    place, scans = 2, 0
    while True:
        # Any number of fill bytes may stand before a marker
        while data[place : place + 2] == b"\xff\xff":
            place += 1
        head, marker = data[place], data[place + 1]
        if head != 0xFF:
            raise ValueError(f"no marker at {place}: {head:#x}")
        if marker == EOI:
            break
        if marker in BARE:
            place += 2
            continue
        (size,) = struct.unpack_from(">H", data, place + 2)
        end = place + 2 + size
        block = data[place + 4 : end]
        if marker == SOS:
            scans, end = scans + 1, _scan_end(data, end)
        begins = COLOURS.get(marker)
        if marker in DRAWN or (begins is not None and block.startswith(begins)):
            yield data[place:end]
        place = end
    if not scans:
        raise ValueError(f"{scans} scans")


def _scan_end(data: bytes, place: int) -> int:
    """The place of the next marker behind a scan; a zero after FF is a plain FF (T.81, F.1.2.3)."""
    while True:
        place = data.index(b"\xff", place)
        if data[place + 1] != 0 and data[place + 1] not in BARE:
            return place
        place += 2


def _png(data: bytes) -> bytes:
    place, name, kept = 8, b"", [PNG_HEAD]
    while name != b"IEND":
        size, name = struct.unpack_from(">I4s", data, place)
        # The last chunk has to be there with its check sum
        if place + size + 12 > len(data):
            raise ValueError(f"chunk {name!r} of {size} bytes is cut off")
        if name in PNG_DRAWN:
            kept.append(data[place : place + size + 12])
        place += size + 12
    return b"".join(kept)


def _webp(data: bytes) -> bytes:
    place, kept = 12, []
    (whole,) = struct.unpack_from("<I", data, 4)
    while place < min(whole + 8, len(data)):
        name, size = struct.unpack_from("<4sI", data, place)
        chunk = data[place : place + 8 + size + size % 2]
        if len(chunk) < 8 + size:
            raise ValueError(f"chunk {name!r} of {size} bytes is cut off")
        if name == b"VP8X":
            chunk = chunk[:8] + bytes([chunk[8] & ~PROMISED]) + chunk[9:]
        if name in WEBP_DRAWN:
            kept.append(chunk)
        place += 8 + size + size % 2
    if not any(chunk[:4] in (b"VP8 ", b"VP8L") for chunk in kept):
        raise ValueError(f"{len(kept)} chunks without a picture")
    body = b"WEBP" + b"".join(kept)
    return b"RIFF" + struct.pack("<I", len(body)) + body


HEADS: Mapping[str, Callable[[bytes], bool]] = {
    "image/jpeg": lambda data: data[:2] == b"\xff\xd8",
    "image/png": lambda data: data[:8] == PNG_HEAD and data[12:16] == b"IHDR",
    "image/webp": lambda data: data[:4] == b"RIFF" and data[8:12] == b"WEBP",
}
PLAIN: Mapping[str, Callable[[bytes], bytes]] = {"image/jpeg": _jpeg, "image/png": _png, "image/webp": _webp}
