"""The locks hold every package that pyproject.toml asks for, by hash, at versions that agree, and no address."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

import do

PROJECT = tomllib.loads((do.ROOT / "pyproject.toml").read_text(encoding="utf-8"))
NAMES = (*do.LEVELS, "uv")
PIN = re.compile(r"(?P<name>[a-z0-9.-]+)==(?P<version>[^ ;\\]+)(?P<marker> ;[^\\]*)? \\")
HASH = re.compile(r" {4}--hash=sha256:[0-9a-f]{64}( \\)?")


def lines(name: str) -> list[str]:
    """The lines of a lock."""
    return do.lock_file(name).read_text(encoding="utf-8").splitlines()


def pins(name: str) -> set[tuple[str, str, str]]:
    """Name, version and marker of each package in a lock."""
    found = [PIN.fullmatch(line) for line in lines(name) if not line.startswith(" ")]
    assert all(found), f"a line of {name}.txt is no pin"
    return {(one["name"], one["version"], (one["marker"] or "").strip(" ;")) for one in found if one}


def wanted(group: str) -> list[str]:
    """Names of the packages of a dependency group, those it includes too, as a lock spells them."""
    entries = PROJECT["dependency-groups"][group]
    own = [re.split(r"[<>=~! \[;]", one, maxsplit=1)[0].lower() for one in entries if isinstance(one, str)]
    return own + [name for one in entries if isinstance(one, dict) for name in wanted(one["include-group"])]


@pytest.mark.parametrize("name", NAMES)
def test_every_package_is_pinned_by_hash(name: str) -> None:
    text = lines(name)
    assert all(HASH.fullmatch(line) for line in text if line.startswith(" "))
    for line, following in zip(text, [*text[1:], ""], strict=True):
        assert line.startswith(" ") or HASH.fullmatch(following), f"{line} has no hash"


@pytest.mark.parametrize("name", NAMES)
def test_no_address_is_in_a_lock(name: str) -> None:
    text = "\n".join(lines(name))
    assert "://" not in text
    assert "@" not in text
    assert not re.search(r"^\s*-(?!-hash)", text, re.MULTILINE), "an option of an installer"


@pytest.mark.parametrize("name", NAMES)
def test_a_lock_holds_what_the_project_asks_for(name: str) -> None:
    needed = set(wanted(name))
    if name != "uv":
        needed |= {
            re.split(r"[<>=~!]", one, maxsplit=1)[0].lower() for one in PROJECT["project"]["dependencies"]
        }
    assert needed <= {pin[0] for pin in pins(name)}


def test_each_level_holds_the_level_before_it() -> None:
    for small, large in zip(do.LEVELS, do.LEVELS[1:], strict=False):
        assert {pin[:2] for pin in pins(small)} <= {pin[:2] for pin in pins(large)}


def test_the_oldest_python_is_the_same_everywhere() -> None:
    assert PROJECT["project"]["requires-python"] == ">=3.11"
    assert PROJECT["tool"]["ruff"]["target-version"] == "py311"
    source = Path(do.__file__).read_text(encoding="utf-8")
    assert "sys.version_info < (3, 11)" in source
    assert do.LOCKING[do.LOCKING.index("--python-version") + 1] == "3.11"
