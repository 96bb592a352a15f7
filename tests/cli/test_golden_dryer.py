"""A second whole call on the command line alone: a dryer in North America, in US units, dollars and on Letter paper."""

from __future__ import annotations

import json
import zlib
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

Run = Callable[..., str]
ELEMENT = "dryer: heating element"
FEW = ("--machines", "4000")
DEAD = ("--proof", "0 V on all pairs, tester proved before and after")


@pytest.fixture
def hill(run: Run) -> Callable[..., Any]:
    """A shop in Chicago, and its call named hill: the dryer does not heat. Gives the facts a verb prints."""
    for name, value in (("currency", "USD"), ("name", "Brook Lane Repairs"), ("zone", "America/Chicago")):
        run("settings", name, value)
    run("open", "dryer", "--complaint", "NOHEAT240", "--market", "NA", "--age", "8", "--name", "hill", *FEW)

    def verb(name: str, *words: str) -> Any:
        return json.loads(run(name, "hill", *words, "--json", *FEW))

    return verb


def picture(size: int = 1) -> bytes:
    """A whole PNG picture that carries a note on where it was taken."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return len(data).to_bytes(4, "big") + name + data + zlib.crc32(name + data).to_bytes(4, "big")

    head = size.to_bytes(4, "big") * 2 + bytes((8, 2, 0, 0, 0))
    rows = zlib.compress(b"".join(b"\0" + bytes(3 * size) for _ in range(size)))
    parts = ((b"IHDR", head), (b"tEXt", b"GPS\0at the customer's home"), (b"IDAT", rows), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunk(*part) for part in parts)


def printed(file: Path) -> tuple[str, float]:
    """The text of a paper, and the width of its first page [pt]."""
    pages = PdfReader(file).pages
    return " ".join("".join(page.extract_text() for page in pages).split()), float(pages[0].mediabox.width)


def test_the_second_golden_call(hill: Any, run: Run, tmp_path: Path) -> None:
    # The phone: danger is asked first, every answer is kept, and the visit is booked
    for question, answer in (("danger", "none"), ("gas", "no"), ("burnt smell", "no")):
        page = hill("ask", question, answer)
    assert page["stop"] == [] and page["bracket"]["low"] < page["bracket"]["high"]
    hill("book", "2026-12-02", "--name", "J. Hill", "--address", "9 Elm Court", "--may-consent", "J. Hill")
    run("stock", "receive", ELEMENT, "1")
    # Found: no current in the heat leg, air outdoors, and the element open
    hill("do", "look, smell and ask")
    hill("reading", "DC1", "strong")
    hill("reading", "C3.L2", "0 A")
    for step in ("pull the plug", "pull the machine out"):
        hill("do", step)
    hill("do", "prove dead", *DEAD)
    hill("do", "open BACK")
    assert hill("reading", "DC7", "OL")["causes"][0]["id"] == "D03"
    # What comes next is the repair, and its price before it
    action = hill("next")["action"]
    assert action["kind"] == "repair" and action["faults"] == ["D03"] and action["consent"]
    assert "first the price: tundish quote hill D03 --give" in run("next", "hill", *FEW)
    quote = hill("quote", "D03", "--give")
    assert quote["currency"] == "USD" and quote["options"][0]["note"] == "the part is on the van"
    assert [tax["name"] for tax in quote["taxes"]] == ["sales tax"]
    hill("agree", "--name", "J. Hill")
    assert hill("next")["action"]["consent"] == ""
    # A photo belongs to its step, and keeps no word on where it was taken
    file = tmp_path / "wires.png"
    file.write_bytes(picture())
    (kept,) = hill("photo", str(file), "--of", "1")["photos"]
    assert kept["subject"] == "wires, hoses and clamps as found" and kept["stage"] == "fix" and kept["there"]
    assert b"home" not in Path(kept["file"]).read_bytes()
    # Steps in the units of the market
    steps = " ".join(run("fix", "hill", "D03", *FEW).split())
    assert "photo: wires, hoses and clamps as found, kept" in steps
    assert "104 °F" in steps and "°C" not in steps
    hill("fix", "D03", "--step", "all", "--heeded", "--part", "1", "--repaired")
    # The odds are now those of the machine as it is
    assert hill("odds")["repaired"] == ["D03"] and hill("odds")["nothing_wrong"] > 0.5
    for step in ("close BACK", "push the machine back", "energise"):
        hill("do", step)
    # One reading of the heat current, as it is used, proves it
    page = hill("reading", "C3.L1", "27 A")
    assert page["nothing_wrong"] > 0.9
    proof = hill("prove")
    assert proof["proven"] and proof["left_now"] <= proof["limit"] / 2 and proof["settle"] == []
    last = hill("next")["action"]
    assert last["name"] == "close, proven" and [s["step"] for s in last["steps"]] == ["return to use"]
    hill("do", "return to use", "--proof", "a load dried")
    page = hill("close", "--as", "proven")
    today = date.fromisoformat(page["warranty"][0]["until"]) - timedelta(days=90)
    assert hill("pay", "all", "--means", "card")["due"] == 0
    # On Letter paper, dated by the shop's own calendar
    written = f"{today.day} {today:%B %Y}"
    for kind, said in (("quote", "J. Hill"), ("invoice", "Paid in full"), ("report", "104 °F")):
        out = tmp_path / f"{kind}.pdf"
        hill("paper", kind, "-o", str(out))
        text, width = printed(out)
        assert said in text and written in text and width == 612
        assert kind == "report" or f"Total {quote['gross'] / 100:.2f} USD" in text
        assert kind != "report" or "Photographed: wires, hoses and clamps as found" in text
    # What came in, less what the element cost, is what is left of it
    figures = {row["name"]: row["value"] for row in json.loads(run("week", "--json"))["figures"]}
    sold = next(line["net"] for line in quote["lines"] if line["kind"] == "part")
    assert figures["gross margin"] == pytest.approx(1 - sold / 1.6 / quote["net"], abs=0.01)
