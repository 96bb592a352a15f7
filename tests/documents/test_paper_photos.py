"""Photos printed in the report: turned right, legible, not too many, and a broken one named and left out."""

from __future__ import annotations

import io
import shutil
import subprocess
from hashlib import sha256
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from paper_examples import example, opened, pages
from PIL import Image, ImageOps

from tundish.call.asking import PhotoKept
from tundish.documents import paper_photos
from tundish.documents.paper import paper
from tundish.documents.paper_errors import PaperError
from tundish.documents.paper_photos import Pictures, pictures_of
from tundish.store.kept import keep
from tundish.store.orientation import orientation_of
from tundish.store.pictures import plain_picture

NOBODY = SimpleNamespace(questions={})


def quarters(wide: int = 320, tall: int = 240) -> Image.Image:
    """A picture whose four quarters differ, so that no two ways to hold it look alike."""
    picture = Image.new("RGB", (wide, tall))
    for at, colour in zip(((0, 0), (1, 0), (0, 1), (1, 1)), ("red", "lime", "blue", "yellow"), strict=True):
        picture.paste(
            colour, (at[0] * wide // 2, at[1] * tall // 2, (at[0] + 1) * wide // 2, (at[1] + 1) * tall // 2)
        )
    return picture


def coded(picture: Image.Image, kind: str = "JPEG", orientation: int = 1) -> bytes:
    """A picture as a camera writes it. orientation : Exif's, left out for 1."""
    notes, out = Image.Exif(), io.BytesIO()
    if orientation != 1:
        notes[0x0112] = orientation
    picture.save(out, kind, exif=notes)
    return out.getvalue()


def call(folder: Path, *files: bytes, kind: str = "image/jpeg") -> SimpleNamespace:
    """A call with these photos, kept as `tundish photo` keeps them."""
    kept = []
    for number, file in enumerate(files, start=1):
        _, plain = plain_picture(file)
        body = PhotoKept(
            f"view {number}", "find", keep(folder, plain), kind, len(plain), orientation_of(file)
        )
        kept.append(SimpleNamespace(body=body, at="2026-03-14T09:00:00.000Z"))
    return SimpleNamespace(job=SimpleNamespace(photos=tuple(kept)))


def made(folder: Path, state: SimpleNamespace) -> Pictures:
    return pictures_of(state, NOBODY, folder, "UTC")  # type: ignore[arg-type]


def printed(found: Pictures) -> bytes:
    facts = example("report", photos=list(found.shown), unprinted=list(found.left))
    return paper("report", facts, photos=found.contents)


def last_page(data: bytes, folder: Path) -> np.ndarray:
    """The last page as a picture, made by another program than the one that set it."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("no pdftoppm here, which renders the page")
    (folder / "report.pdf").write_bytes(data)
    last = str(len(opened(data).pages))
    run = [
        "pdftoppm",
        "-r",
        "50",
        "-f",
        last,
        "-l",
        last,
        "-png",
        str(folder / "report.pdf"),
        str(folder / "page"),
    ]
    subprocess.run(run, check=True, timeout=60)
    return np.asarray(Image.open(next(folder.glob("page*.png"))).convert("RGB")).astype(int)


def corners(page: np.ndarray) -> list[tuple[int, int, int]]:
    """The colours in the middle of the four quarters of the coloured part, as it is read."""
    down, along = np.nonzero(page.max(axis=2) - page.min(axis=2) > 90)
    top, bottom, left, right = down.min(), down.max(), along.min(), along.max()
    at = [(top + (bottom - top) * y // 4, left + (right - left) * x // 4) for y in (1, 3) for x in (1, 3)]
    return [tuple(int(255 * round(level / 255)) for level in page[y, x]) for y, x in at]


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_turned_photo_comes_out_right(orientation: int, kind: str, tmp_path: Path) -> None:
    file = coded(quarters(), kind, orientation)
    assert orientation_of(file) == orientation
    found = made(tmp_path, call(tmp_path, file, kind=f"image/{kind.lower()}"))
    assert found.left == ()
    page = last_page(printed(found), tmp_path)
    # Pillow knows the standard by itself
    upright = ImageOps.exif_transpose(Image.open(io.BytesIO(file))).convert("RGB")
    assert corners(page) == corners(np.asarray(upright).astype(int))


def test_notes_of_every_kind_tell_the_orientation_and_broken_ones_do_not_stop() -> None:
    assert orientation_of(coded(quarters(), "WEBP", 6)) == 6
    for file in (coded(quarters(), "JPEG", 6), coded(quarters(), "PNG", 6)):
        for cut in range(0, len(file), 7):
            assert 1 <= orientation_of(file[:cut]) <= 8
    swapped = coded(quarters(), "JPEG", 6).replace(
        b"\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06", b"\x01\x12\x00\x03\x00\x00\x00\x01\x00\x09"
    )
    assert orientation_of(swapped) == 1


def test_each_photo_has_its_caption_and_four_go_on_a_page(tmp_path: Path) -> None:
    plain = len(pages(paper("report", example("report"))))
    for count, more in ((1, 1), (2, 1), (4, 1), (5, 2), (12, 3)):
        found = made(tmp_path, call(tmp_path, *(coded(quarters(300 + n, 200)) for n in range(count))))
        read = pages(printed(found))
        assert len(read) == plain + more
        said = " ".join(read[plain:])
        assert [f"{n} view {n} 14 March 2026" in said for n in range(1, count + 1)] == [True] * count


def test_the_paper_stays_fit_for_long_keeping_and_has_one_picture_for_each_photo(tmp_path: Path) -> None:
    data = printed(made(tmp_path, call(tmp_path, coded(quarters()), coded(quarters(200, 300).convert("L")))))
    assert b"pdfaid:part>2<" in data.replace(b" ", b"") and b"pdfaid:conformance>B<" in data.replace(
        b" ", b""
    )
    assert [len(page.images) for page in opened(data).pages][-1] == 2


def test_broken_and_strange_photos_are_named_and_left_out(tmp_path: Path) -> None:
    state = call(tmp_path, *(coded(quarters(100 + n, 80)) for n in range(5)), coded(quarters()))
    photos = [one.body for one in state.job.photos]
    place = [tmp_path / body.sha256[:2] / body.sha256 for body in photos]
    place[0].write_bytes(place[0].read_bytes()[:400])
    place[1].unlink()
    place[2].write_bytes(place[3].read_bytes())
    press = coded(quarters().convert("CMYK"))
    state.job.photos += call(tmp_path, press).job.photos
    # Sound by its blocks, and no picture inside
    hollow = b"\xff\xd8\xff\xda\x00\x03\x00\x12\xff\xd9"
    state.job.photos += call(tmp_path, hollow).job.photos
    found = made(tmp_path, state)
    assert [one["what"] for one in found.shown] == ["view 4", "view 5", "view 6"]
    assert [one["why"].split(":")[0] for one in found.left] == [
        "its file is broken", "its file is on another device", "its file is not as it was kept",
        "it cannot be printed", "it cannot be printed",
    ]  # fmt: skip
    said = pages(printed(found))[-1]
    assert (
        "view 1, 14 March 2026: its file is broken" in said
        and "view 2, 14 March 2026: its file is on another" in said
    )


def test_a_photo_too_large_is_left_out_and_those_after_it_are_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    noise = np.random.default_rng(5).integers(0, 255, (400, 400, 3), dtype=np.uint8)
    large, small = coded(Image.fromarray(noise)), [coded(quarters(100 + n, 80)) for n in range(3)]
    monkeypatch.setattr(paper_photos, "MOST_BYTES", 90_000)
    found = made(tmp_path, call(tmp_path, small[0], large, *small[1:]))
    assert len(large) > 90_000
    assert [one["what"] for one in found.shown] == ["view 1", "view 3", "view 4"]
    assert [one["what"] for one in found.left] == ["view 2"] and "MB at most" in found.left[0]["why"]
    # The report alone, three small pictures, and no more than was allowed
    assert len(printed(found)) < len(paper("report", example("report"))) + 90_000


def test_no_more_than_a_paper_takes(tmp_path: Path) -> None:
    found = made(tmp_path, call(tmp_path, *(coded(quarters(100 + n, 80)) for n in range(14))))
    assert len(found.shown) == paper_photos.MOST
    assert [(one["what"], one["why"]) for one in found.left] == [
        (f"view {n}", "a paper prints 12 photos") for n in (13, 14)
    ]


def test_a_photo_without_its_content_and_a_path_for_a_name_are_refused() -> None:
    shown = {"name": "1.jpg", "what": "door", "date": "2026-03-14"}
    with pytest.raises(PaperError, match="without its content"):
        paper("report", example("report", photos=[shown]))
    with pytest.raises(PaperError, match="a name such as 1.jpg"):
        paper("report", example("report", photos=[{**shown, "name": "../x.jpg"}]), photos={"../x.jpg": b""})


def test_the_same_photos_make_the_same_bytes(tmp_path: Path) -> None:
    found = made(tmp_path, call(tmp_path, coded(quarters())))
    assert sha256(printed(found)).digest() == sha256(printed(found)).digest()
