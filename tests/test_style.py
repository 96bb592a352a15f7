"""The size budget of the project, and a check of the ruler itself on packages whose figures are known by hand."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tools.shape import BUDGET, FORMULA_BUDGET, Budget, breaches, measure, pieces, worst
from tools.source import modules

PACKAGE = Path(__file__).parents[1] / "tundish"


def advice(folder: Path, budget: Budget) -> str:
    """The breaches of a folder; when there are any, its largest pieces too."""
    found = modules(folder)
    lines = breaches(measure(found), budget)
    return "\n".join([*lines, "", *worst(found)] if lines else [])


@pytest.mark.parametrize(("folder", "budget"), [(".", BUDGET), ("physics", FORMULA_BUDGET)])
def test_tundish_is_within_the_budget(folder: str, budget: Budget) -> None:
    found = advice(PACKAGE / folder, budget)
    # Not a comparison, which would print the text cut short.
    if found:
        pytest.fail(found, pytrace=False)


# The ruler.

GOOD = {
    "__init__.py": '"""Doc."""\n',
    "a.py": '''"""Doc."""


def f(x: int, *, y: int = 0) -> int:
    """Sum.

    >>> f(1, y=2)
    3

    References
    ----------
    [1] Any book.
    """
    # Order does not matter.
    z = (
        x

        + y
    )
    return z


class C:
    """Holds."""

    def m(self, *rest: int, **named: int) -> None:
        """Do nothing."""

    @property
    def p(self) -> int:
        """Read."""
        return 1

    @p.setter
    def p(self, to: int) -> None:
        pass

    def _private(self): ...
''',
}
GOOD_FIGURES = {
    # f: def, four of z, return (6); m: def (1); p: decorator left out, def, return (2); its setter (2); _private (1).
    "fn50": 2, "fn90": 2, "fnMx": 6, "fileMx": 38,
    # f 2, m 2, p 0, setter 1, _private 0
    "par90": 2, "parMx": 2, "posMx": 1, "clsMx": 4,
    # Code: 6 of f, class, m, two decorators, 2 of p, 2 of its setter, _private.
    "com": 6,
    # One file with code, f, C, m, p have a docstring; the setter need not. Of f, C, m, p one has an example and a reference.
    "doc": 100, "ex": 25, "ref": 25,
    # Slots: f 3, m 3, p 1, setter 2, _private 1; all but the last are annotated.
    "typed": 90, "depth": 0, "cyc": 0, "cyc+": 0,
}  # fmt: skip


def long_function(lines: int, name: str = "g") -> str:
    """A function of that many code lines."""
    return f"def {name}():\n" + "    x = 1\n" * (lines - 1)


def wide_function(parameters: int) -> str:
    """A function of that many parameters, the last of them in all ways there are."""
    first = "".join(f"a{place}, " for place in range(parameters - 3))
    return f"def g({first}*b, c, **d):\n    pass\n"


# A figure, files that break its budget and no rule on the other files, and the figure by hand.
BAD: dict[str, tuple[dict[str, str], float]] = {
    "fn50": ({"a.py": long_function(7)}, 7),
    "fn90": ({"a.py": "".join(long_function(21 if n else 2, f"g{n}") for n in (0, 1, 2))}, 21),
    "fnMx": ({"a.py": long_function(61)}, 61),
    "fileMx": ({"a.py": "\n" * 501}, 501),
    "par90": ({"a.py": wide_function(5)}, 5),
    "parMx": ({"a.py": wide_function(9)}, 9),
    "clsMx": ({"a.py": "class C:\n" + "".join(f"    def m{n}(self): ...\n" for n in range(16))}, 16),
    "com": ({"a.py": "# one\nx = 1\n# two\ny = 2  # not counted\nz = 3\n"}, 40),
    "doc": ({"a.py": "def g(): ...\n\n\ndef _h(): ...\n", "b.py": '"""Doc."""\n\nX = 1\n'}, 33),
    "typed": ({"a.py": "def g(x: int, y): ...\n"}, 33),
    "depth": ({"one/two/a.py": ""}, 2),
    "cyc": ({"a.py": "import p.b\n", "b.py": "from p.c import x\n", "c.py": "from . import a\n"}, 3),
    "cyc+": ({"a.py": "import p.b\n", "b.py": "def g():\n    import p.a\n"}, 2),
    "ex": ({"a.py": 'def g():\n    """Doc. https://example.org"""\n'}, 0),
    "ref": ({"a.py": 'def g():\n    """Doc.\n\n    >>> g()\n    """\n'}, 0),
}


def written(folder: Path, files: dict[str, str]) -> Path:
    """A package named `p` made of some files."""
    for name, text in files.items():
        path = folder / "p" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder / "p"


def test_the_ruler_on_a_good_package(tmp_path: Path) -> None:
    assert measure(modules(written(tmp_path, GOOD))) == GOOD_FIGURES


@pytest.mark.parametrize("name", BAD)
def test_the_ruler_sees_a_breach(name: str, tmp_path: Path) -> None:
    files, by_hand = BAD[name]
    figures = measure(modules(written(tmp_path, files)))
    assert figures[name] == by_hand
    budget = {**BUDGET, **FORMULA_BUDGET}
    assert breaches(figures, {name: budget[name]}) != []


def test_one_package_that_breaks_every_rule(tmp_path: Path) -> None:
    root = written(tmp_path, dict(everything()))
    assert [
        line.split(":")[0] for line in breaches(measure(modules(root)), {**BUDGET, **FORMULA_BUDGET})
    ] == [
        *BUDGET,
        *FORMULA_BUDGET,
    ]


def everything() -> Iterator[tuple[str, str]]:
    """One file for each breach, each under a name of its own. Comments are broken by having too few."""
    yield "long.py", long_function(61) + "\n" * 501
    yield "wide.py", wide_function(9)
    yield "class.py", BAD["clsMx"][0]["a.py"]
    yield from BAD["depth"][0].items()
    yield from BAD["cyc"][0].items()
    # So many that the sixteen methods, short and without parameters, are a small minority.
    yield "many.py", "".join(wide_function(5).replace("g(", f"g{n}(") + "    x = 1\n" * 20 for n in range(99))


def test_every_figure_has_a_breach() -> None:
    assert set(BAD) == {**BUDGET, **FORMULA_BUDGET}.keys()


def test_the_largest_are_named(tmp_path: Path) -> None:
    found = modules(written(tmp_path, {"a.py": "\n" + long_function(61)}))
    assert [one.where for one in pieces(found).lines] == ["a.py:2 g"]
    assert "lines        61  a.py:2 g" in list(worst(found))
