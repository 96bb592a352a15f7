"""`tundish paper` on one invented call: PDFs read back, sums those of the quote, numbers, what is refused and how it is cured."""

from __future__ import annotations

import hashlib
import io
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import FEW, WASHER
from PIL import Image
from pypdf import PdfReader

from tundish.call.amounts import spoken
from tundish.call.codec import body_from
from tundish.cli import at_hand
from tundish.cli.writing import record

Run = Callable[..., str]
CUSTOMER = ("--name", "A. Customer", "--address", "12 Mill Row; Anytown")
HOSE = "any: fill hose"


def text(file: Path) -> str:
    """All that a PDF says, any white space as one space."""
    read = PdfReader(io.BytesIO(file.read_bytes()), strict=True)
    return " ".join(" ".join(page.extract_text().replace("\u200b", "") for page in read.pages).split())


Prepared = Callable[[str, Callable[[], None]], None]


@pytest.fixture
def prepared(run: Run, tmp_path: Path, tmp_path_factory: pytest.TempPathFactory) -> Prepared:
    """Brings the data folder to a stage of the call: played once in a run of the tests, copied afterwards."""

    def bring(stage: str, play: Callable[[], None]) -> None:
        kept, data = tmp_path_factory.getbasetemp() / f"papers-{stage}", tmp_path / "data"
        if not kept.exists():
            play()
            shutil.copytree(data, kept)
        shutil.copytree(kept, data, dirs_exist_ok=True)

    return bring


def open_shop(run: Run) -> None:
    """The shop has its name and money, and a call."""
    run("settings", "currency", "EUR")
    run("settings", "name", "Brook Lane Appliance Repair")
    run("open", WASHER, "--complaint", "SLOW", "--age", "9", "--since", "house move", "--name", "smith", *FEW)


def agree_on_hose(run: Run) -> None:
    """The call quoted for its hose and agreed to."""
    open_shop(run)
    run("book", "smith", *CUSTOMER)
    run("machine", "smith", "--serial", "0042")
    for check, value in (("C03", "200 s"), ("C05.cold", "348 kPa"), ("C06.cold", "45 kPa")):
        run("reading", "smith", check, value, *FEW)
    run("quote", "smith", "S06", "--give", *FEW)
    run("agree", "smith", "--name", "A. Customer", "--spoken")


def mend_hose(run: Run) -> None:
    """The hose is new, and the machine fills again."""
    agree_on_hose(run)
    run("stock", "receive", HOSE, "2")
    run("fix", "smith", "S06", "--step", "all", "--heeded", "--part", "1", "--repaired")
    run("do", "smith", "tested works")
    run("reading", "smith", "C03", "98 s", *FEW)


@pytest.fixture
def shop(run: Run, prepared: Prepared) -> Run:
    """As the call is opened."""
    prepared("shop", lambda: open_shop(run))
    return run


@pytest.fixture
def agreed(run: Run, prepared: Prepared) -> Run:
    """As the price is agreed to."""
    prepared("agreed", lambda: agree_on_hose(run))
    return run


@pytest.fixture
def mended(run: Run, prepared: Prepared) -> Run:
    """As the repair is made and tried."""
    prepared("mended", lambda: mend_hose(run))
    return run


def made(run: Run, kind: str, file: Path, *words: str) -> dict[str, Any]:
    """The facts of a paper that is made."""
    found: dict[str, Any] = json.loads(run("paper", "smith", kind, "-o", str(file), *words, *FEW, "--json"))
    return found


def papers() -> list[str]:
    """Papers on record, oldest first."""
    with at_hand.calls() as calls:
        return [json.loads(row.body)["paper"] for row in calls.rows() if row.kind == "paper made"]


def test_the_invoice_is_the_quote_and_what_was_paid(mended: Run, tmp_path: Path) -> None:
    file = tmp_path / "invoice.pdf"
    quote = json.loads(mended("agree", "smith", "--json"))["quote"]
    mended("pay", "smith", "50", "--means", "card")
    facts = made(mended, "invoice", file)["facts"]
    assert [facts[name] for name in ("net", "tax", "gross", "taxes")] == [quote[name] for name in ("net", "tax", "gross", "taxes")]
    assert [line["gross"] for line in facts["lines"]] == [line["gross"] for line in quote["lines"]]
    assert facts["due"] == quote["gross"] - 5000 and facts["paid"][0]["minor"] == 5000
    said = text(file)
    for minor in (quote["net"], quote["gross"], 5000, quote["gross"] - 5000):
        assert spoken(minor, "EUR") in said
    assert f"No. {facts['number']}" in said and "A. Customer" in said and "12 Mill Row" in said
    mended("pay", "smith", "all", "--means", "cash")
    assert made(mended, "invoice", file)["facts"]["due"] == 0 and "Paid in full" in text(file)


def test_what_is_kept_is_what_was_made(mended: Run, tmp_path: Path) -> None:
    file = tmp_path / "report.pdf"
    told = made(mended, "report", file)
    digest = hashlib.sha256(file.read_bytes()).hexdigest()
    kept = tmp_path / "data" / "papers" / digest[:2] / digest
    assert told["sha256"] == digest and kept.read_bytes() == file.read_bytes() and papers() == ["report"]
    # The same again is the same paper, and is not on record twice
    assert made(mended, "report", file)["event"] == told["event"] and papers() == ["report"]
    assert [one["sha256"] for one in json.loads(mended("close", "smith", *FEW, "--json"))["papers"]] == [digest]


def test_the_report_tells_the_call(mended: Run, tmp_path: Path) -> None:
    file = tmp_path / "report.pdf"
    facts = made(mended, "report", file)["facts"]
    read = {one["check"]: one for one in facts["readings"]}
    assert list(read) == ["C03", "C05.cold", "C06.cold"]
    assert (read["C03"]["before"]["value"], read["C03"]["after"]["value"]) == (200.0, 98.0)
    assert read["C06.cold"]["after"] is None and read["C06.cold"]["healthy"]["low"] > 45_000
    odds = json.loads(mended("prove", "smith", *FEW, "--json"))
    assert (facts["proof"]["proven"], facts["proof"]["left_now"]) == (odds["proven"], odds["left_now"])
    said = text(file)
    for words in ("fill hose: kinked", "1 × fill hose", "98 s", "house move", "0042", "Not measured:", "Local codes"):
        assert words in said
    assert ("PROVEN" if odds["proven"] else "NOT PROVEN") in said


def test_units_and_size_are_those_asked_for(mended: Run, tmp_path: Path) -> None:
    file = tmp_path / "report.pdf"
    told = made(mended, "report", file, "--units", "US", "--size", "Letter")
    assert told["size"] == "Letter" and "psi" in text(file) and "kPa" not in text(file)
    assert float(PdfReader(file).pages[0].mediabox.width) == pytest.approx(612, abs=0.1)
    # Without asking it is the shop's own
    mended("settings", "paper", "Letter")
    assert made(mended, "report", tmp_path / "next.pdf")["size"] == "Letter"


def test_the_quote_is_printed_as_it_was_given(agreed: Run, tmp_path: Path) -> None:
    file = tmp_path / "quote.pdf"
    given = json.loads(agreed("agree", "smith", "--json"))["quote"]
    facts = made(agreed, "quote", file)["facts"]
    assert (facts["number"], facts["gross"], facts["chance_cures"]) == (given["id"], given["gross"], given["chance_cures"])
    assert facts["consent"]["minor"] == given["gross"] and facts["found"][0].startswith("Fill hose: kinked")
    said = text(file)
    assert "spoken, recorded" in said and "Signature of" not in said and f"No. {given['id']}" in said
    # A newer quote waits for its own consent
    agreed("quote", "smith", "S06", "S04", "--give", *FEW)
    assert made(agreed, "quote", file)["facts"]["consent"] is None and "Place and date" in text(file)


def test_the_customers_page_has_no_odds(mended: Run, tmp_path: Path) -> None:
    file = tmp_path / "page.pdf"
    facts = made(mended, "customer", file)["facts"]
    assert facts["wrong"] and "1 × fill hose" in facts["done"][0] and "dB" not in text(file)
    assert facts["proven"] != bool(facts["missing"])


def test_a_refusal_is_billed_for_the_visit(shop: Run, tmp_path: Path) -> None:
    file = tmp_path / "invoice.pdf"
    shop("book", "smith", *CUSTOMER)
    owed = json.loads(shop("quote", "smith", "S06", "--give", *FEW, "--json"))["owed_if_refused"]
    shop("agree", "smith", "--refused", "--because", "too dear")
    facts = made(shop, "invoice", file)["facts"]
    assert facts["gross"] == facts["due"] == owed and [line["kind"] for line in facts["lines"]] == ["call-out"]
    # Less at the door: the tax is taken out of what is left
    shop("agree", "smith", "--refused", "--owed", "60.50")
    less = made(shop, "invoice", file)["facts"]
    assert (less["net"], less["tax"], less["gross"]) == (5000, 1050, 6050)
    shop("agree", "smith", "--refused", "--owed", "0")
    assert "owes nothing" in shop("paper", "smith", "invoice", "-o", str(file), *FEW, code=2)


def test_invoices_are_numbered_one_after_the_other(mended: Run, tmp_path: Path) -> None:
    file = tmp_path / "invoice.pdf"
    first = made(mended, "invoice", file)["number"]
    year, _, count = first.partition("-")
    assert (len(year), count) == (4, "0001") and papers() == [f"invoice {first}"]
    mended("open", WASHER, "--complaint", "LEAK", "--name", "jones", *FEW)
    mended("book", "jones", "--name", "B. Other")
    mended("quote", "jones", "--visit", "--give", *FEW)
    mended("agree", "jones", "--name", "B. Other")
    other = json.loads(mended("paper", "jones", "invoice", "-o", str(file), *FEW, "--json"))
    assert other["number"] == f"{year}-0002"
    # Another call's number is refused
    refused = mended("paper", "jones", "invoice", "-o", str(file), "--number", first, *FEW, code=2)
    assert first in refused and "--number" in refused
    # Paid meanwhile it stays the same invoice
    mended("pay", "smith", "10", "--means", "cash")
    assert made(mended, "invoice", file)["number"] == first


def test_an_invoice_agreed_anew_takes_the_place_of_the_first(mended: Run, tmp_path: Path) -> None:
    file = tmp_path / "invoice.pdf"
    first = made(mended, "invoice", file)["number"]
    mended("quote", "smith", "S06", "--give", *FEW)
    mended("agree", "smith", "--name", "A. Customer")
    second = made(mended, "invoice", file, "--due-by", "2099-01-31")
    assert second["number"] != first and f"takes the place of invoice {first}" in text(file)
    assert "31 January 2099" in text(file)
    again = made(mended, "invoice", file, "--due-by", "2099-01-31")
    assert (again["number"], again["event"]) == (second["number"], second["event"])


def test_the_handover_needs_somebody_who_takes_over(agreed: Run, tmp_path: Path) -> None:
    file = tmp_path / "handover.pdf"
    assert "hand over to" in agreed("paper", "smith", "handover", "-o", str(file), *FEW, code=2)
    agreed("do", "smith", "hand over to a licensed electrician", "--because", "the outlet is loose")
    facts = made(agreed, "handover", file)["facts"]
    assert "No machine on this outlet" in facts["until_then"] and "The outlet is loose." in text(file)


@pytest.mark.parametrize(("words", "cure"), [
    (("smith", "invoice", "-o", "a.pdf"), "tundish quote"),
    (("smith", "quote", "-o", "a.pdf"), "tundish quote"),
    (("smith", "receipt", "-o", "a.pdf"), "invoice"),
    (("smith", "invioce", "-o", "a.pdf"), 'did you mean "invoice"'),
    (("smith", "report", "-o", "calls.sqlite"), ".pdf"),
    (("smith", "report", "-o", "nowhere/a.pdf"), "folder"),
    (("nobody", "report", "-o", "a.pdf"), "first letters"),
    (("smith", "invoice", "-o", "a.pdf", "--due-by", "soon"), "2026-03-14"),
    (("handbook", "toaster", "-o", "a.pdf"), "dishwasher"),
])  # fmt: skip
def test_what_cannot_be_is_refused_with_the_cure(shop: Run, words: tuple[str, ...], cure: str) -> None:
    shop("book", "smith", *CUSTOMER)
    assert cure in shop("paper", *words, *FEW, code=2)
    assert papers() == [] and not Path("a.pdf").exists()


def test_a_letter_needs_two_names(run: Run, tmp_path: Path) -> None:
    file = str(tmp_path / "a.pdf")
    run("open", WASHER, "--complaint", "SLOW", "--name", "smith", *FEW)
    assert "tundish settings name" in run("paper", "smith", "report", "-o", file, *FEW, code=2)
    run("settings", "name", "Brook Lane Appliance Repair")
    assert "tundish book" in run("paper", "smith", "report", "-o", file, *FEW, code=2)


def test_work_that_is_not_done_is_not_billed(agreed: Run, tmp_path: Path) -> None:
    refused = agreed("paper", "smith", "invoice", "-o", str(tmp_path / "a.pdf"), *FEW, code=2)
    assert "S06" in refused and "record the repair" in refused


def test_a_bill_above_the_consent_is_not_printed(mended: Run, tmp_path: Path) -> None:
    dear = json.loads(mended("agree", "smith", "--json"))["quote"]
    lines = [{**dear["lines"][0], "each": 99_000, "net": 99_000, "tax": 0, "gross": 99_000, "tax_name": "", "tax_rate": "0"}]
    body = {name: dear[name] for name in ("currency", "chance_cures", "options", "owed_if_refused", "valid_until")}
    fields = {**body, "id": "Q 2", "faults": ["S06"], "lines": lines, "net": 99_000, "tax": 0, "gross": 99_000, "taxes": []}
    record("smith", lambda state: [body_from("quoted", fields)])
    assert "ask the customer again" in mended("paper", "smith", "invoice", "-o", str(tmp_path / "a.pdf"), *FEW, code=2)


def test_a_disk_that_refuses_leaves_no_record(mended: Run, tmp_path: Path) -> None:
    # A file stands where the folder of papers should be
    (tmp_path / "data" / "papers").write_text("in the way", encoding="utf-8")
    mended("paper", "smith", "report", "-o", str(tmp_path / "a.pdf"), *FEW, code=2)
    assert papers() == []


def test_the_handbook_sheet_is_that_of_the_verb(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "sheet.pdf"
    told = json.loads(run("paper", "handbook", WASHER, "--market", "NA", "-o", str(file), "--json"))
    facts = json.loads(run("handbook", WASHER, "--market", "NA", "--json"))
    assert told["facts"]["checks"] == facts["checks"] and told["size"] == "Letter"
    said = text(file)
    assert all(check["check"] in said for check in facts["checks"]) and facts["title"] in said
    assert papers() == []


def test_a_photo_held_on_its_side_is_printed_upright(mended: Run, tmp_path: Path) -> None:
    notes = Image.Exif()
    notes[0x0112] = 6
    Image.new("RGB", (80, 60), "red").save(tmp_path / "plate.jpg", exif=notes)
    mended("photo", "smith", str(tmp_path / "plate.jpg"), "--of", "the plate")
    facts = made(mended, "report", tmp_path / "report.pdf")["facts"]
    assert [(one["what"], one["turn"], one["mirrored"]) for one in facts["photos"]] == [("the plate", 90, False)]
    assert facts["unprinted"] == []
    assert len(PdfReader(tmp_path / "report.pdf").pages[-1].images) == 1
