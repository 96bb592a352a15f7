"""Who may import whom, and what the pure core must leave alone; read from the source, nothing is imported.

Each rule is a function from modules to lines that name its breaches. It is tried on Tundish, and on a small package that breaks it.
"""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest

from tools.imports import Import, graph, imports, in_rings, owner
from tools.source import Module, modules

ROOT = Path(__file__).parents[1]
Rule = Callable[[Sequence[Module]], list[str]]

# Each may import itself and what stands before it.
LAYERS = (
    "quantity", "physics", "appliance", "population", "diagnosis", "plan", "call", "prices", "ask", "van",
    "history", "store", "documents", "web", "cli",
)  # fmt: skip
PURE = LAYERS[: LAYERS.index("store")]
OUTERMOST = ("web", "cli")
# Files, clock, processes, network and randomness of the machine.
IMPURE = frozenset({
    "asyncio", "ctypes", "fcntl", "getpass", "glob", "http", "io", "locale", "logging", "mmap",
    "multiprocessing", "os", "pathlib", "pickle", "platform", "random", "secrets", "select", "selectors",
    "shelve", "shutil", "signal", "socket", "sqlite3", "ssl", "subprocess", "sys", "tempfile", "threading",
    "time", "urllib", "uuid", "zoneinfo",
})  # fmt: skip
# Of these, what computes only.
PURE_NAMES = frozenset({"uuid.UUID"})
IMPURE_CALLS = frozenset({"open", "print", "input", "exec", "eval", "breakpoint"})
CLOCKS = frozenset({"now", "utcnow", "today"})
# What of numpy.random has no state of its own.
STATELESS = frozenset(
    {"Generator", "BitGenerator", "SeedSequence", "PCG64", "Philox", "SFC64", "default_rng"}
)
# The name to import, where it is not the name to install.
IMPORTED_AS = {"pyyaml": "yaml", "ibis-framework": "ibis", "argon2-cffi": "argon2"}


def layer(module: str) -> str:
    """The layer of a dotted module name; empty for the package's root."""
    return module.split(".")[1] if "." in module else ""


def within(found: Sequence[Module]) -> Iterator[tuple[Import, str]]:
    """Every import of one module of the package by another, and the imported module's name."""
    known = {module.name for module in found}
    for module in found:
        for one in imports(module):
            target = owner(one.target, known)
            if target and target != module.name:
                yield one, target


def unknown_layers(found: Sequence[Module]) -> list[str]:
    """A folder or file of the package that has no place in the order."""
    return sorted(
        {
            f"{layer(module.name)}: is no layer; put it in its place in LAYERS"
            for module in found
            if layer(module.name) not in ("", *LAYERS)
        }
    )


def wrong_arrows(found: Sequence[Module]) -> list[str]:
    """Imports of a later layer, for type checking too: a name is knowledge."""
    rank = {name: place for place, name in enumerate(("", *LAYERS))}
    return [
        f"{one.where}: {layer(one.importer)} imports {layer(target)}, which stands after it"
        for one, target in within(found)
        if rank.get(layer(target), 0) > rank.get(layer(one.importer), len(rank))
    ]


def root_with_imports(found: Sequence[Module]) -> list[str]:
    """What the package's root imports of the package: every module would load it."""
    return [
        f"{one.where}: the root imports {target}; leave it empty"
        for one, target in within(found)
        if not layer(one.importer)
    ]


def outermost_imported(found: Sequence[Module]) -> list[str]:
    """Imports of the web or the command line by anything else."""
    return [
        f"{one.where}: imports {target}; nobody imports {layer(target)}"
        for one, target in within(found)
        if layer(target) in OUTERMOST and layer(target) != layer(one.importer)
    ]


def package_roots_imported(found: Sequence[Module]) -> list[str]:
    """Imports of a layer's `__init__` in place of the module that holds the thing."""
    packages = {module.name for module in found if module.is_package}
    return [
        f"{one.where}: imports {one.target}; import the module that holds it"
        for one, target in within(found)
        if target in packages and layer(target)
    ]


def rings(found: Sequence[Module]) -> list[str]:
    """Modules in import rings, imports inside functions counted too."""
    return in_rings(graph(found, {"load", "late"}))


def impure_imports(found: Sequence[Module]) -> list[str]:
    """Modules of the pure core that import what reaches outside."""
    return [
        f"{one.where}: imports {one.target}; the pure core gets it passed in"
        for module in core(found)
        for one in imports(module)
        if one.target.split(".")[0] in IMPURE and one.target not in PURE_NAMES
    ]


def impure_calls(found: Sequence[Module]) -> list[str]:
    """Calls in the pure core that reach outside: files, screen, clock, numpy's global random numbers."""
    return [
        f"{module.at(node)}: calls {ast.unparse(node.func)}; the pure core gets it passed in"
        for module in core(found)
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Call) and is_impure(node)
    ]


def is_impure(call: ast.Call) -> bool:
    """Whether a call is one of those. A generator made without a seed is one too."""
    path = ast.unparse(call.func).split(".")
    if len(path) == 1:
        return path[0] in IMPURE_CALLS or (path[0] == "default_rng" and not call.args)
    if path[-2] in ("datetime", "date"):
        return path[-1] in CLOCKS
    if path[-2] == "random" and path[0] in ("np", "numpy"):
        return path[-1] not in STATELESS or (path[-1] == "default_rng" and not call.args)
    return False


def core(found: Sequence[Module]) -> Iterator[Module]:
    """The modules of the pure core."""
    return (module for module in found if layer(module.name) in PURE)


def undeclared(found: Sequence[Module]) -> list[str]:
    """Imports of what neither Python, nor this package, nor a dependency of pyproject.toml brings.

    What an extra brings may be imported inside functions and for type checking only: the rest works without it.
    """
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    always = installed(project["dependencies"]) | sys.stdlib_module_names | {found[0].name.split(".")[0]}
    extra = {name for group in project["optional-dependencies"].values() for name in installed(group)}
    return [
        f"{one.where}: imports {one.target}; declare it in pyproject.toml or do without"
        for module in found
        for one in imports(module)
        if one.target.split(".")[0] not in (always if one.kind == "load" else always | extra)
    ]


def installed(wanted: Sequence[str]) -> set[str]:
    """The names to import of requirements."""
    names = [re.split(r"[<>=~! \[;]", one, maxsplit=1)[0] for one in wanted]
    return {IMPORTED_AS.get(name, name) for name in names}


RULES: tuple[Rule, ...] = (
    unknown_layers, wrong_arrows, root_with_imports, outermost_imported, package_roots_imported, rings, impure_imports,
    impure_calls, undeclared,
)  # fmt: skip

# Sources that break one rule each. Files are of a package named `tundish`; __init__.py of each folder is added.
BROKEN: list[tuple[Rule, dict[str, str], int]] = [
    (unknown_layers, {"helpers/a.py": "", "utils.py": ""}, 2),
    (wrong_arrows, {"physics/a.py": "from tundish.plan import b\n", "plan/b.py": ""}, 1),
    (wrong_arrows, {"physics/a.py": "from ..plan.b import C\n", "plan/b.py": "C = 1\n"}, 1),
    (wrong_arrows, {"physics/a.py": "def f():\n    import tundish.plan.b\n", "plan/b.py": ""}, 1),
    (
        wrong_arrows,
        {"physics/a.py": "if TYPE_CHECKING:\n    from tundish.plan.b import C\n", "plan/b.py": "C = 1\n"},
        1,
    ),
    (root_with_imports, {"__init__.py": "from tundish.plan.b import C\n", "plan/b.py": "C = 1\n"}, 1),
    (outermost_imported, {"cli/a.py": "import tundish.web.b\n", "web/b.py": ""}, 1),
    (
        package_roots_imported,
        {"plan/a.py": "from tundish.physics import C\n", "physics/__init__.py": "C = 1\n"},
        1,
    ),
    (
        rings,
        {"plan/a.py": "from tundish.plan import b\n", "plan/b.py": "def f():\n    from . import a\n"},
        2,
    ),
    (
        impure_imports,
        {
            "call/a.py": "import os.path\nfrom time import time\nfrom pathlib import Path\nimport sqlite3 as s\n"
        },
        4,
    ),
    (impure_calls, {"call/a.py": "open('x')\nprint(1)\n"}, 2),
    (impure_calls, {"call/a.py": "datetime.now()\ndatetime.datetime.now(UTC)\ndate.today()\n"}, 3),
    (
        impure_calls,
        {"plan/a.py": "np.random.seed(1)\nnumpy.random.normal()\nnp.random.default_rng()\ndefault_rng()\n"},
        4,
    ),
    (undeclared, {"store/a.py": "import requests_of_others\n"}, 1),
    (undeclared, {"store/a.py": "import ibis\ndef f():\n    import ibis\n"}, 1),
]
WELL = {
    "__init__.py": '__version__ = "0"\n',
    "quantity/a.py": "import math\nfrom uuid import UUID\n\nimport numpy as np\n",
    "plan/b.py": "from tundish.plan import c\nfrom tundish.quantity.a import math\nR = np.random.default_rng([1, 2])\n",
    "plan/c.py": "from datetime import datetime\n\ndef f(rng, now):\n    rng.random()\n    return now.today\n",
    "store/d.py": "import os\n\nfrom ..plan import c\n\nprint(open('x'))\n",
    "cli/e.py": "import click\n\nfrom tundish.cli import f\nfrom tundish.store.d import os\n",
    "cli/f.py": "",
}


def written(folder: Path, files: dict[str, str]) -> list[Module]:
    """A package named `tundish` made of some files."""
    root = folder / "tundish"
    for name, text in files.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        for package in {root, path.parent}:
            (package / "__init__.py").touch()
    return modules(root)


@pytest.fixture(scope="module")
def tundish() -> list[Module]:
    """All modules of Tundish."""
    found = modules(ROOT / "tundish")
    assert found, "the package has no modules"
    return found


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
def test_tundish_keeps_the_rule(rule: Rule, tundish: list[Module]) -> None:
    assert rule(tundish) == []


@pytest.mark.parametrize(("rule", "files", "count"), BROKEN)
def test_a_breach_is_seen(rule: Rule, files: dict[str, str], count: int, tmp_path: Path) -> None:
    assert len(rule(written(tmp_path, files))) == count


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
def test_a_sound_package_passes(rule: Rule, tmp_path: Path) -> None:
    assert rule(written(tmp_path, WELL)) == []


def test_every_rule_is_tried_on_a_breach() -> None:
    assert {rule for rule, _, _ in BROKEN} == set(RULES)


def test_imports_are_told_apart(tmp_path: Path) -> None:
    text = "import a\nfrom .b import c\nif TYPE_CHECKING:\n    import d\nelse:\n    import e\ndef f():\n    import g\n"
    (module,) = (m for m in written(tmp_path, {"plan/x.py": text}) if m.name == "tundish.plan.x")
    assert [(one.target, one.kind) for one in imports(module)] == [
        ("a", "load"), ("tundish.plan.b.c", "load"), ("d", "typing"), ("e", "load"), ("g", "late"),
    ]  # fmt: skip
