"""What may be kept as a photo: whole pictures without notes, by their hash. Pictures are drawn by another library."""

from __future__ import annotations

import hashlib
import io
import random
from typing import Any

import pytest
from bench_maker import Bench, Browser
from PIL import Image

from tundish.web.asked import PHOTO
from tundish.web.errors import WebError
from tundish.web.kept import PHOTOS, keep, kept
from tundish.web.pictures import check_picture

TYPES = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
GPS = 0x8825


def drawn(kind: str, **how: Any) -> bytes:
    """A picture of noise, as a library writes it."""
    rng, out = random.Random(kind), io.BytesIO()
    Image.frombytes("RGB", (48, 32), rng.randbytes(48 * 32 * 3)).save(out, kind, **how)
    return out.getvalue()


def placed() -> Image.Exif:
    """Notes that tell where a picture was taken."""
    exif = Image.Exif()
    exif[0x0131] = "a camera"
    exif.get_ifd(GPS).update({1: "N", 2: (52.0, 30.0, 0.0), 3: "E", 4: (13.0, 24.0, 0.0)})
    return exif


PLAIN = [
    ("JPEG", {}), ("JPEG", {"progressive": True}), ("JPEG", {"quality": 100, "optimize": True}),
    ("JPEG", {"icc_profile": b"p" * 400}), ("JPEG", {"restart_marker_rows": 1}), ("PNG", {}), ("PNG", {"optimize": True}),
    ("PNG", {"dpi": (96, 96)}), ("WEBP", {}), ("WEBP", {"lossless": True}), ("WEBP", {"icc_profile": b"p" * 399}),
]  # fmt: skip
NOTED = [
    ("JPEG", {"exif": placed()}), ("JPEG", {"comment": b"at home"}), ("JPEG", {"xmp": b"<x:xmpmeta/>"}),
    ("PNG", {"exif": placed()}), ("WEBP", {"exif": placed()}), ("WEBP", {"xmp": b"<x:xmpmeta/>"}),
]  # fmt: skip


def put(browser: Browser, content: bytes, media_type: str = "image/jpeg", sha256: str = "") -> int:
    path = f"/api/photos/{sha256 or hashlib.sha256(content).hexdigest()}"
    headers = {"X-Tundish-Token": browser.token, "Content-Type": media_type}
    return browser.put(path, content=content, headers=headers).status_code


@pytest.mark.parametrize(("kind", "how"), PLAIN)
def test_plain_pictures_are_taken(kind: str, how: dict[str, Any]) -> None:
    check_picture(drawn(kind, **how), TYPES[kind])


@pytest.mark.parametrize(("kind", "how"), NOTED)
def test_notes_inside_are_refused(kind: str, how: dict[str, Any]) -> None:
    content = drawn(kind, **how)
    assert content != drawn(kind)
    with pytest.raises(WebError, match="notes inside"):
        check_picture(content, TYPES[kind])


@pytest.mark.parametrize("kind", TYPES)
def test_a_picture_cut_or_lengthened_anywhere_is_refused(kind: str) -> None:
    content = drawn(kind)
    places = range(len(content)) if len(content) < 3000 else random.Random(0).sample(range(len(content)), 600)
    broken = [content[:place] for place in places] + [content + b"\0", content + b"<script>", content * 2]
    taken = []
    for one in broken:
        try:
            check_picture(one, TYPES[kind])
            taken.append(len(one))
        except WebError as error:
            assert error.status == 422
    assert taken == []


@pytest.mark.parametrize("kind", TYPES)
def test_no_bytes_make_it_stumble(kind: str) -> None:
    rng, content = random.Random(3), drawn(kind)
    for _ in range(1500):
        one = bytearray(content)
        for _ in range(rng.randint(1, 6)):
            one[rng.randrange(min(len(one), 700))] = rng.choice((0, 1, 0xD8, 0xD9, 0xFF, rng.randrange(256)))
        try:
            check_picture(bytes(one), TYPES[kind])
        except WebError as error:
            assert error.status == 422


def test_a_type_is_told_by_the_bytes(home: Browser) -> None:
    for kind, media_type in TYPES.items():
        for other in TYPES.values():
            assert put(home, drawn(kind), other) == (200 if other == media_type else 422)
    page = b"<html><script>alert(1)</script></html>"
    assert put(home, page) == 422
    assert put(home, page, "text/html") == put(home, drawn("PNG"), "image/svg+xml") == put(home, page, "") == 415


def test_a_photo_is_kept_once_and_comes_back(bench: Bench, home: Browser) -> None:
    content = drawn("JPEG")
    sha256 = hashlib.sha256(content).hexdigest()
    assert [put(home, content) for _ in range(3)] == [200] * 3
    answer = home.get(f"/api/photos/{sha256}")
    assert answer.content == content and answer.headers["content-type"] == "image/jpeg"
    files = [path for path in (bench.folder / PHOTOS).rglob("*") if path.is_file()]
    assert [path.name for path in files] == [sha256] and files[0].stat().st_mode & 0o077 == 0


def test_a_photo_under_another_hash_is_refused(home: Browser) -> None:
    assert put(home, drawn("JPEG"), sha256="0" * 64) == 400
    assert home.get(f"/api/photos/{'0' * 64}").status_code == 404


def test_too_large_is_refused_before_it_is_read(bench: Bench, home: Browser) -> None:
    def pieces() -> Any:
        # No length is told: only what comes is counted
        yield from (b"\xff\xd8" + b"x" * 1_000_000 for _ in range(PHOTO // 1_000_000 + 2))

    headers = {"X-Tundish-Token": home.token, "Content-Type": "image/jpeg"}
    assert put(home, b"x" * (PHOTO + 1)) == 413
    assert home.put(f"/api/photos/{'0' * 64}", content=pieces(), headers=headers).status_code == 413
    assert not (bench.folder / PHOTOS).exists()


@pytest.mark.parametrize("name", [
    "..%2f..%2faccess.sqlite", "....//access.sqlite", "%2e%2e%2faccess.sqlite", "/etc/passwd", "0" * 63, "0" * 63 + "G",
    "A" * 64, "%00" * 64, "..\\access.sqlite", "0" * 64 + "%0a",
])  # fmt: skip
def test_no_name_leads_out_of_the_folder(bench: Bench, home: Browser, name: str) -> None:
    (bench.folder / PHOTOS).mkdir(parents=True)
    assert home.get(f"/api/photos/{name}").status_code == 404
    headers = {"X-Tundish-Token": home.token, "Content-Type": "image/jpeg"}
    assert home.put(f"/api/photos/{name}", content=drawn("JPEG"), headers=headers).status_code in (400, 404)
    assert list((bench.folder / PHOTOS).iterdir()) == []


def test_a_half_written_file_is_written_anew(tmp_path: Any) -> None:
    content = drawn("PNG")
    sha256 = keep(tmp_path, content)
    (tmp_path / sha256[:2] / sha256).write_bytes(content[:40])
    assert keep(tmp_path, content, sha256) == sha256 and kept(tmp_path, sha256) == content
