"""Write docs/coverage.md: what the described families cover, and what is physics, what a look, what from memory.

    .venv/bin/python -m tools.coverage_page
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

from tundish.appliance.records import Check, Description
from tundish.store.library import families, load

PAGE = Path(__file__).parents[1] / "docs" / "coverage.md"
HEAD = """# Coverage

Made by `tools/coverage_page.py` from the description files; a test compares them. *Physics*: the reading comes from a solved network or a
closed form. *Drawn*: it is a parameter read by an instrument. *Look*: an answer named by a person, with its rate of mistakes; a look with
bands is named on a simulated quantity. *FM*: marks "from memory" in the file's comments; *CP*: "common practice, no source".
"""


def main() -> None:
    """Write the page."""
    PAGE.write_text(page(), encoding="utf-8")


def page() -> str:
    """The whole page."""
    return "\n".join([HEAD, *_summary(), *(line for name in families() for line in _family(load(name)))]) + "\n"


def _summary() -> Iterator[str]:
    yield "| family | complaints | faults | checks | physics | drawn | looks | FM | CP |"
    yield "|---|---|---|---|---|---|---|---|---|"
    for name in families():
        described, kinds = load(name), Counter(kind(load(name), c) for c in load(name).checks.values())
        text = _text(name)
        counts = [len(described.complaints), len(described.faults), len(described.checks)]
        counts += [kinds["physics"], kinds["drawn"], kinds["look"], text.count("FM"), text.count("CP")]
        yield f"| {described.family} | {' | '.join(map(str, counts))} |"
    yield ""


def kind(described: Description, check: Check) -> str:
    """Where a check's true value comes from: physics, drawn or look."""
    if check.reads in described.quantities:
        return "physics"
    return "look" if check.is_look else "drawn"


def _family(described: Description) -> Iterator[str]:
    yield f"## {described.family}"
    yield "| complaint | faults with their shares |"
    yield "|---|---|"
    for complaint in described.complaints.values():
        total = sum(complaint.shares.values())
        shares = ", ".join(f"{f} {100 * s / total:.0f} %" for f, s in complaint.shares.items())
        yield f"| {complaint.name}: {complaint.title} | {shares} |"
    yield ""
    for word in ("physics", "drawn", "look"):
        named = [c.id for c in described.checks.values() if kind(described, c) == word]
        yield f"- {word}: {', '.join(named) or 'none'}"
    yield ""


def _text(name: str) -> str:
    file = name.replace(" ", "_").replace("-", "_") + ".yaml"
    return files("tundish.appliance").joinpath("families", file).read_text(encoding="utf-8")


if __name__ == "__main__":
    main()
