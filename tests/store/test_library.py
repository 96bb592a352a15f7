"""The families that come with the tool."""

from __future__ import annotations

from pathlib import Path

import pytest

from tundish.appliance.reader import DescriptionError
from tundish.store import library
from tundish.store.errors import StoreError

SMALL = Path(__file__).parent.parent / "appliance" / "small.yaml"


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A package folder with two families and a file that is none."""
    folder = tmp_path / "families"
    folder.mkdir()
    (folder / "bucket_filler.yaml").write_text(SMALL.read_text(encoding="utf-8"), encoding="utf-8")
    (folder / "another.yaml").write_text("format: 2\n", encoding="utf-8")
    (folder / "notes.txt").write_text("no family", encoding="utf-8")
    monkeypatch.setattr(library, "files", lambda _: tmp_path)
    return folder


@pytest.mark.usefixtures("shelf")
def test_families_are_named_for_their_files() -> None:
    found = library.families()
    assert list(found) == ["another", "bucket filler"]
    assert found["bucket filler"].name == "bucket_filler.yaml"


@pytest.mark.usefixtures("shelf")
@pytest.mark.parametrize("name", ["bucket filler", "bucket_filler", "Bucket-Filler", " bucket  filler "])
def test_a_family_loads_by_any_spelling(name: str) -> None:
    assert library.load(name).family == "bucket filler"


@pytest.mark.usefixtures("shelf")
def test_an_unknown_family_says_what_there_is() -> None:
    with pytest.raises(StoreError) as caught:
        library.load("bucket fuller")
    error = caught.value
    assert error.seen == '"bucket fuller" as a family'
    assert error.allowed == "another, bucket filler"
    assert error.do == 'did you mean "bucket filler"?'


@pytest.mark.usefixtures("shelf")
def test_a_name_like_no_other_is_asked_for_again() -> None:
    with pytest.raises(StoreError) as caught:
        library.load("xyz")
    assert caught.value.do == "name one of these"


@pytest.mark.usefixtures("shelf")
def test_a_broken_family_names_its_file() -> None:
    with pytest.raises(DescriptionError, match=r"(?m)^another\.yaml:1: format: saw 2; allowed: 1; "):
        library.load("another")


def test_a_family_that_is_no_text_names_its_file(shelf: Path) -> None:
    (shelf / "another.yaml").write_bytes(b"format: 1 # \xff\xfe")
    with pytest.raises(
        StoreError, match=r"another\.yaml with bytes that are not UTF-8; allowed: text in UTF-8"
    ):
        library.load("another")


def test_without_any_family_the_error_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(library, "files", lambda _: tmp_path)
    assert library.families() == {}
    with pytest.raises(StoreError, match="no family is installed"):
        library.load("bucket filler")


def test_the_families_that_ship_can_be_read() -> None:
    for name, file in library.families().items():
        assert library.load(name).family.replace("-", " ") == name, file.name
