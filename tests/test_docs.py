"""The pages know every verb and package, their links lead somewhere, and nothing in them points at one machine or index."""

from __future__ import annotations

import importlib.util
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
PAGES = sorted((ROOT / "docs").glob("*.md"))
PACKAGES = sorted(path.parent.name for path in (ROOT / "tundish").glob("*/__init__.py"))
COMMANDS = ("python3 do.py run", "python3 do.py test")
# [text](target "title"), with its target.
LINK = re.compile(r"\[[^\]]*\]\(<?([^)\s>]+)>?[^)]*\)")
CODE = re.compile(r"^```.*?^```|`[^`\n]*`", re.DOTALL | re.MULTILINE)
# A folder of somebody's machine. Spelled in pieces, so that this file holds none.
MACHINE_PATH = re.compile(
    r"(?<![\w.])/(?:" + "|".join(["wo" + "rk", "ho" + "me", "ro" + "ot", "Us" + "ers"]) + r")/\w"
)
# Where packages are fetched from.
INDEX = re.compile(
    "|".join([r"\bpy" + r"pi\.", "python" + "hosted", r"\bnpm" + r"js\.", r"\bdeb" + r"ian\.org"])
)
TEXTS = {".py", ".md", ".toml", ".yaml", ".txt", ".cfg", ""}
SKIPPED = {"__pycache__", "build", "dist"}


def text(path: Path) -> str:
    """A file's text."""
    return path.read_text(encoding="utf-8")


def verbs() -> list[str]:
    """The verbs of the command line, those of its groups as "group verb"."""
    if (
        importlib.util.find_spec("tundish.cli") is None
        or importlib.util.find_spec("tundish.cli.main") is None
    ):
        pytest.skip("the command line is not written yet")
    import click

    from tundish.cli.main import main

    def below(group: click.Group, before: str) -> Iterator[str]:
        for name, command in group.commands.items():
            yield f"{before}{name}"
            if isinstance(command, click.Group):
                yield from below(command, f"{before}{name} ")

    return list(below(main, ""))


def broken_links(page: Path) -> list[str]:
    """Links of a page to files or headings that are not there."""
    return [
        target
        for target in LINK.findall(CODE.sub("", text(page)))
        if not re.match(r"[a-z]+:", target) and not leads_somewhere(page, target)
    ]


def leads_somewhere(page: Path, target: str) -> bool:
    """Whether a relative link from a page meets a file of the project and, behind #, one of its headings."""
    name, _, heading = target.partition("#")
    goal = (page.parent / name).resolve() if name else page
    return goal.exists() and (not heading or heading in headings(goal))


def headings(page: Path) -> set[str]:
    """The names by which a page's headings can be linked."""
    found = re.findall(r"^#+ +(.+?) *$", text(page), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in found}


def project_texts() -> list[Path]:
    """Every text of the project; not what installers, checkers and the version control keep beside it."""
    return [
        path
        for top in ROOT.iterdir()
        if top.name == ".ci" or not (top.name.startswith(".") or top.name in SKIPPED)
        for path in ([top] if top.is_file() else top.rglob("*"))
        if path.is_file() and path.suffix in TEXTS and not hidden(path.relative_to(top))
    ]


def hidden(path: Path) -> bool:
    """Whether a file lies in a folder of caches."""
    return any(part in SKIPPED or part.startswith(".") or part.endswith(".egg-info") for part in path.parts)


def test_every_verb_has_its_place_in_the_pages() -> None:
    pages = "\n".join(map(text, PAGES))
    assert [verb for verb in verbs() if not re.search(rf"tundish {re.escape(verb)}(?![\w-])", pages)] == []


def test_every_package_is_in_the_pages() -> None:
    pages = "\n".join(map(text, PAGES))
    assert PACKAGES
    assert [name for name in PACKAGES if not re.search(rf"`(tundish[./])?{name}\b", pages)] == []


@pytest.mark.parametrize("page", [README, *PAGES], ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    assert broken_links(page) == []


def test_every_page_is_listed_in_the_readme() -> None:
    linked = set(LINK.findall(text(README)))
    assert [page.name for page in PAGES if f"docs/{page.name}" not in linked] == []


@pytest.mark.parametrize("command", COMMANDS)
def test_the_readme_tells_the_two_commands(command: str) -> None:
    assert re.search(rf"^ {{4}}{command}\b", text(README), re.MULTILINE)


def test_the_readme_opens_with_the_job() -> None:
    first = text(README).split("\n\n")[1]
    assert first.startswith("Tundish ")
    assert "\n\n" + first + "\n\n" in text(README).split("\n## ", 1)[0]


def test_the_readme_has_no_address() -> None:
    assert not re.search(r"\bhttps?\b|www\.", text(README))


@pytest.mark.parametrize("pattern", [MACHINE_PATH, INDEX], ids=["machine path", "index"])
def test_nothing_points_at_one_machine_or_index(pattern: re.Pattern[str]) -> None:
    paths = project_texts()
    assert {README, ROOT / "do.py", Path(__file__), ROOT / ".ci" / "run"} <= set(paths)
    found = {str(path.relative_to(ROOT)): pattern.search(text(path)) for path in paths}
    assert {name: match[0] for name, match in found.items() if match} == {}


# The checks themselves.


def test_a_broken_link_is_seen(tmp_path: Path) -> None:
    (tmp_path / "b.md").write_text("# One\n\n## Two, three & `four`\n", encoding="utf-8")
    page = tmp_path / "a.md"
    sound = "[b](b.md) [h](b.md#one) [l](b.md#two-three--four) [x](https://example.org) [s](#top) `[no](link.md)`\n"
    page.write_text(f"# Top\n{sound}```\n[no](link.md)\n```\n", encoding="utf-8")
    assert broken_links(page) == []
    page.write_text("[c](c.md) [h](b.md#three) [s](#none)\n", encoding="utf-8")
    assert broken_links(page) == ["c.md", "b.md#three", "#none"]


@pytest.mark.parametrize(
    ("sample", "pattern"),
    [
        ("see /wo" + "rk/main", MACHINE_PATH),
        ("'/ho" + "me/me'", MACHINE_PATH),
        ("from py" + "pi.org", INDEX),
        ("files.python" + "hosted.org", INDEX),
    ],
)
def test_a_trace_of_a_machine_or_index_is_seen(sample: str, pattern: re.Pattern[str]) -> None:
    assert pattern.search(sample)
    assert not pattern.search("the work/home ratio, https://doi.org/10.1000/1, a simple index")


def test_the_coverage_page_is_what_the_descriptions_say() -> None:
    from tools import coverage_page

    assert coverage_page.PAGE.read_text(encoding="utf-8") == coverage_page.page()
