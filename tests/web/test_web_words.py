"""No refusal that a page shows tells its reader to type a command: it names the page on which the same is done."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from bench_maker import WASHER, Bench, Browser

from tundish.web.words import PAGES, on_page

ROOT = Path(__file__).parents[2]
# A verb behind the program's name, or an option.
TERMINAL = re.compile(r"\btundish [a-z]|(?<=\s)--[a-z]")
# What the keeper of a database types is no verb of ours.
KEEPER = "createdb"


def cures() -> Iterator[tuple[str, str]]:
    """Every text with which the library refuses, placeholders filled with a word, and where it stands."""
    for path in sorted((ROOT / "tundish").rglob("*.py")):
        if path.relative_to(ROOT).parts[1] == "cli":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Raise | ast.Return | ast.Call | ast.Assign):
                yield from ((f"{path.name}:{node.lineno}", text) for text in texts(node) if KEEPER not in text)


def texts(node: ast.AST) -> Iterator[str]:
    """The strings of a statement, joined where they are formatted; not those of a docstring."""
    inner = {id(part) for one in ast.walk(node) if isinstance(one, ast.JoinedStr) for part in one.values}
    for one in ast.walk(node):
        if isinstance(one, ast.JoinedStr):
            yield "".join(p.value if isinstance(p, ast.Constant) else "x1" for p in one.values)
        elif isinstance(one, ast.Constant) and isinstance(one.value, str) and id(one) not in inner:
            yield one.value


def test_the_library_names_verbs_and_the_pages_do_not() -> None:
    named = {(where, text) for where, text in cures() if TERMINAL.search(text)}
    # Else the walk has lost its way, and proves nothing
    assert len(named) > 15
    assert {(where, on_page(text)) for where, text in named if TERMINAL.search(on_page(text))} == set()


def test_every_verb_of_a_cure_has_its_page() -> None:
    verbs = {found for _, text in cures() for found in re.findall(r"tundish ([a-z]+)(?= CALL| FILE| x1|`| ha| \")", text)}
    assert verbs and verbs <= {name.split()[0] for name in PAGES} | {"store"}


@pytest.mark.parametrize(("said", "page"), [
    ("quote it and ask first: tundish quote ab12 --give, then tundish agree ab12", "quote it and ask first, on the page Agree"),
    ("record it first: tundish do ab12 hand over to WHO --because WHY", "record it first, on the page Close"),
    ("close a call first: tundish do CALL end proven", "close a call first, on the page Close"),
    ("ask the customer again: tundish agree ab12, or quote it lower", "ask the customer again, on the page Agree, or quote it lower"),
    ("a handbook sheet is made with: tundish paper handbook FAMILY", "a handbook sheet is made on the page Handbook"),
    ("name the cause, or quote the visit with --visit", "name the cause, or quote the visit alone"),
    ("say to whom, and why with --because", "say to whom, and why"),
    ("nothing here is a command", "nothing here is a command"),
    ("two dashes -- as people write them", "two dashes -- as people write them"),
])  # fmt: skip
def test_a_cure_is_told_as_a_page(said: str, page: str) -> None:
    assert on_page(said) == page


def refusals(home: Browser, call: str) -> Iterator[dict[str, Any]]:
    """What is refused on the way through a call by somebody who does everything too early."""
    at = f"/api/calls/{call}"
    for path, body in (
        ("do", {"action": "pull the plug", "proof": ""}), ("do", {"action": "return to use"}), ("do", {"action": "hazard"}),
        ("do", {"action": "hand over to nobody"}), ("do", {"action": "C03"}), ("do", {"action": "S04"}), ("do", {"action": "end proven"}),
        ("paper", {"kind": "quote"}), ("paper", {"kind": "invoice"}), ("paper", {"kind": "handover"}), ("paper", {"kind": "handbook"}),
        ("fit", {"fault": "S04"}), ("reading", {"check": "C99", "typed": "1"}), ("reading", {"check": "C03", "typed": "wet"}),
        ("record", {"kind": "call ended", "body": {"as_": "refused", "why": ""}}), ("link", {"sha256": "0" * 64}),
        ("record", {"kind": "paid", "body": {"minor": 1, "currency": "EUR", "means": "card"}}), ("told", {"circumstance": "rain"}),
    ):  # fmt: skip
        answer = home.post(f"{at}/{path}", json=body, headers={"X-Tundish-Token": home.token})
        if answer.status_code >= 400:
            yield answer.json()["error"]
    for path in (f"{at}/agree?fault=S99", f"{at}/fix?fault=x", "/api/van?day=2030-01-01", "/certificate.crt", "/api/handbook/toaster"):
        answer = home.get(path)
        if answer.status_code >= 400:
            yield answer.json()["error"]
    yield from home.tell("/api/sync", {"events": [{"id": "x"}], "stock": [{"id": "y"}]})["refused"]


def test_what_is_refused_names_no_command(home: Browser, call: str) -> None:
    found = list(refusals(home, call))
    assert len(found) > 15
    assert [one for one in found if TERMINAL.search(one["allowed"] + " " + one["do"])] == []
    said = " ".join(one["do"] for one in found)
    # The cures are there all the same
    assert all(f"on the page {page}" in said for page in ("Agree", "Find", "Close", "Ask"))


def test_a_broken_settings_file_is_told_without_a_command(bench: Bench, home: Browser) -> None:
    bench.folder.mkdir(exist_ok=True)
    (bench.folder / "settings.json").write_text("{", encoding="utf-8")
    error = home.get("/api/settings").json()["error"]
    assert "import a copy at the shop's computer" in error["do"] and not TERMINAL.search(error["do"])
    assert WASHER in home.get("/api/families").text
