"""The file of a packed call: a head in JSON and arrays behind it, pressed together.

Pressed by gzip; unpressed, all little-endian: 8 bytes `TUNDPACK`, version and length of the head in bytes (4 bytes each), SHA-256 of
all that follows (32 bytes), the head in UTF-8 with spaces to a multiple of 8, the arrays, each begun at a multiple of 8 bytes. The
head's `arrays` says of each its name, kind (u1, u2, f4), first byte after the head, and length in numbers. docs/pocket.md has it whole.
"""

from __future__ import annotations

import gzip
import hashlib
import json
import struct
from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from tundish.plan.errors import PlanError

MAGIC, VERSION = b"TUNDPACK", 1
FRONT = struct.Struct("<8sII32s")
KINDS = ("u1", "u2", "f4")
ALIGNED = 8

Head = dict[str, Any]
Arrays = Mapping[str, npt.NDArray[Any]]


def packed(head: Head, arrays: Arrays) -> bytes:
    """The bytes of a file. arrays : one-dimensional, of the kinds u1, u2 and f4.

    >>> head, arrays = unpacked(packed({"family": "x"}, {"a": np.array([1, 2], "u2")}))
    >>> head["family"], arrays["a"].tolist()
    ('x', [1, 2])
    """
    listed, body = [], b""
    parts: list[bytes] = []
    at = 0
    for name, array in arrays.items():
        content = _padded(np.ascontiguousarray(array).astype(array.dtype.newbyteorder("<")).tobytes())
        listed.append({"name": name, "kind": array.dtype.str[1:], "first": at, "length": len(array)})
        parts.append(content)
        at += len(content)
    text = json.dumps({**head, "arrays": listed}, ensure_ascii=False, allow_nan=False, sort_keys=True)
    front = _padded(text.encode(), b" ")
    body = front + b"".join(parts)
    whole = FRONT.pack(MAGIC, VERSION, len(front), hashlib.sha256(body).digest()) + body
    # No moment in it: the same call gives the same bytes
    return gzip.compress(whole, 9, mtime=0)


def unpacked(file: bytes) -> tuple[Head, dict[str, npt.NDArray[Any]]]:
    """Head and arrays of a file. PlanError when it is not one, of another version, or damaged."""
    whole = _whole(file)
    magic, version, length, digest = FRONT.unpack_from(whole)
    if magic != MAGIC or version != VERSION:
        raise _broken(f"the mark {magic!r} and version {version}")
    body = memoryview(whole)[FRONT.size :]
    if hashlib.sha256(body).digest() != digest:
        raise _broken(f"{len(body)} bytes that their hash does not fit")
    head = json.loads(bytes(body[:length]))
    arrays = {
        row["name"]: np.frombuffer(body, f"<{row['kind']}", row["length"], length + row["first"])
        for row in head["arrays"]
    }
    return head, arrays


def _whole(file: bytes) -> bytes:
    try:
        whole = gzip.decompress(file)
    except (OSError, EOFError, ValueError) as error:
        raise _broken(f"{len(file)} bytes that gzip cannot read") from error
    if len(whole) < FRONT.size:
        raise _broken(f"{len(whole)} bytes")
    return whole


def _padded(content: bytes, fill: bytes = b"\0") -> bytes:
    return content + fill * (-len(content) % ALIGNED)


def _broken(seen: str) -> PlanError:
    return PlanError(seen=seen, allowed=f"a packed call of version {VERSION}", do="fetch the call's pack again")
