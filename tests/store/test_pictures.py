"""Photos are kept without notes, whatever stood in them, and nothing that is no whole picture is kept."""

from __future__ import annotations

import struct
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.store.errors import StoreError
from tundish.store.pictures import MOST, plain_picture

HOME = b"53.1 N 8.2 E, at home"


def jpeg(*blocks: tuple[int, bytes], scan: bytes = b"\x12\xff\x00\x34") -> bytes:
    """A JPEG file as T.81 lays it out: blocks, one scan, end."""
    body = b"".join(
        b"\xff" + bytes([marker]) + struct.pack(">H", len(data) + 2) + data for marker, data in blocks
    )
    return b"\xff\xd8" + body + b"\xff\xda" + struct.pack(">H", 3) + b"\0" + scan + b"\xff\xd9"


def png(*chunks: tuple[bytes, bytes]) -> bytes:
    """A PNG file of these chunks."""
    whole = (struct.pack(">I", len(d)) + n + d + struct.pack(">I", zlib.crc32(n + d)) for n, d in chunks)
    return b"\x89PNG\r\n\x1a\n" + b"".join(whole)


def webp(*chunks: tuple[bytes, bytes]) -> bytes:
    """A WebP file of these chunks."""
    body = b"WEBP" + b"".join(n + struct.pack("<I", len(d)) + d + b"\0" * (len(d) % 2) for n, d in chunks)
    return b"RIFF" + struct.pack("<I", len(body)) + body


PICTURES = {
    "image/jpeg": (
        jpeg((0xE0, b"JFIF\0\1\1"), (0xE1, b"Exif\0\0" + HOME), (0xFE, HOME), (0xDB, b"table")),
        jpeg((0xE0, b"JFIF\0\1\1"), (0xDB, b"table")),
    ),
    "image/png": (
        png((b"IHDR", b"head"), (b"tEXt", HOME), (b"IDAT", b"rows"), (b"eXIf", HOME), (b"IEND", b"")) + HOME,
        png((b"IHDR", b"head"), (b"IDAT", b"rows"), (b"IEND", b"")),
    ),
    "image/webp": (
        webp((b"VP8X", bytes([0x2C]) + b"\0" * 9), (b"VP8 ", b"rows"), (b"EXIF", HOME), (b"XMP ", HOME)),
        webp((b"VP8X", bytes([0x20]) + b"\0" * 9), (b"VP8 ", b"rows")),
    ),
}


@pytest.mark.parametrize("kind", PICTURES)
def test_notes_go_and_the_picture_stays(kind: str) -> None:
    found, kept = plain_picture(PICTURES[kind][0])
    assert (found, kept) == (kind, PICTURES[kind][1]) and HOME not in kept
    # Once plain it stays as it is
    assert plain_picture(kept) == (kind, kept)


def test_what_comes_after_the_end_goes_too() -> None:
    whole, plain = PICTURES["image/jpeg"]
    assert plain_picture(whole + b"<script>" + HOME) == ("image/jpeg", plain)


@pytest.mark.parametrize("kind", PICTURES)
def test_a_picture_that_ends_too_early_is_refused(kind: str) -> None:
    plain = PICTURES[kind][1]
    for length in range(13, len(plain) - 1):
        with pytest.raises(StoreError, match="not whole|begins"):
            plain_picture(plain[:length])


@pytest.mark.parametrize("content", [b"", b"GIF89a", b"%PDF-1.7", b"<svg onload=alert(1)>", b"\0" * 40])
def test_other_files_are_refused(content: bytes) -> None:
    with pytest.raises(StoreError, match="JPEG, PNG or WebP"):
        plain_picture(content)


def test_too_large_a_picture_is_refused() -> None:
    with pytest.raises(StoreError, match="up to 12 MB"):
        plain_picture(PICTURES["image/png"][1] + b"\0" * MOST)


@given(st.sampled_from(sorted(PICTURES)), st.integers(0, 200), st.binary(max_size=6))
def test_damage_is_refused_or_leaves_a_plain_picture(kind: str, place: int, junk: bytes) -> None:
    whole = PICTURES[kind][0]
    damaged = whole[: place % len(whole)] + junk + whole[place % len(whole) :]
    try:
        found, kept = plain_picture(damaged)
    except StoreError:
        return
    assert plain_picture(kept) == (found, kept)
