"""Papers over the server: made, recorded once, read back, and only those of the call."""

from __future__ import annotations

import io
from typing import Any

import pytest
from bench_maker import WASHER, Bench, Browser
from pypdf import PdfReader

from tundish.documents.quote_facts import quoted_body


@pytest.fixture
def named(home: Browser, call: str) -> str:
    """A call whose shop and customer have names."""
    home.tell("/api/settings", {"key": "currency", "value": "EUR"})
    home.tell("/api/settings", {"key": "name", "value": "Brook Lane Appliance Repair"})
    home.tell(f"/api/calls/{call}/record", {"kind": "customer named", "body": {"name": "A. Customer"}}, 201)
    return call


def events(home: Browser, call: str) -> list[dict[str, Any]]:
    """Papers on record."""
    found = home.get(f"/api/calls/{call}/events").json()["events"]
    return [event for event in found if event["kind"] == "paper made"]


def test_a_paper_is_made_recorded_once_and_read_back(bench: Bench, home: Browser, named: str) -> None:
    made = home.tell(f"/api/calls/{named}/paper", {"kind": "report", "size": "Letter"}, 201)
    assert [event["body"] for event in events(home, named)] == [{"paper": "report", "sha256": made["sha256"]}]
    answer = home.get(made["path"])
    assert answer.headers["content-type"] == "application/pdf" and "sandbox" in answer.headers["content-security-policy"]
    page = PdfReader(io.BytesIO(answer.content)).pages[0]
    assert "A. Customer" in page.extract_text() and float(page.mediabox.width) == pytest.approx(612, abs=0.1)
    again = home.tell(f"/api/calls/{named}/paper", {"kind": "report", "size": "Letter"}, 201)
    assert again["event"] == made["event"] and len(events(home, named)) == 1
    # And a customer's link leads to the same bytes
    path = home.tell(f"/api/calls/{named}/link", {"sha256": made["sha256"]}, 201)["path"]
    assert home.get(path).content == answer.content


def test_a_paper_of_another_call_is_not_found_in_this_one(home: Browser, named: str) -> None:
    made = home.tell(f"/api/calls/{named}/paper", {"kind": "report"}, 201)
    other = home.tell("/api/calls", {"family": WASHER, "complaint": "SLOW", "name": "jones"}, 201)["call"]
    assert home.get(f"/api/calls/{other}/paper/{made['sha256']}").status_code == 404
    assert home.get(f"/api/calls/{named}/paper/..%2f..%2faccess.sqlite").status_code == 404


@pytest.mark.parametrize(("form", "status"), [
    ({"kind": "invoice"}, 409), ({"kind": "quote"}, 409), ({"kind": "handover"}, 409), ({"kind": "handbook"}, 400),
    ({"kind": "report", "size": "A5"}, 400), ({"kind": "report", "what": 1}, 400), ({}, 400),
])  # fmt: skip
def test_what_the_call_is_not_ready_for_is_refused_with_the_cure(
    home: Browser, named: str, form: dict[str, Any], status: int
) -> None:
    refused = home.tell(f"/api/calls/{named}/paper", form, status)["error"]
    assert all(refused[part] for part in ("seen", "allowed", "do")) and events(home, named) == []


def test_a_technician_makes_papers_and_a_stranger_does_not(bench: Bench, home: Browser, named: str) -> None:
    made = home.tell(f"/api/calls/{named}/paper", {"kind": "report"}, 201)
    sam = bench.staffed()
    with bench.phone(sam) as phone:
        assert phone.get(made["path"]).content.startswith(b"%PDF")
        assert phone.tell(f"/api/calls/{named}/paper", {"kind": "customer"}, 201)["paper"] == "customer"
        assert events(phone, named)[-1]["device"] == phone.know()["device"]
    with bench.browser(bench.shop) as stranger:
        assert stranger.get(made["path"]).status_code in (401, 403)


def test_a_quote_on_paper_says_what_was_put_before_the_customer(home: Browser, named: str) -> None:
    page = home.facts(f"/api/calls/{named}/agree?fault=S04")
    home.tell(f"/api/calls/{named}/record", {"kind": "quoted", "body": quoted_body(page, "Q7")}, 201)
    made = home.tell(f"/api/calls/{named}/paper", {"kind": "quote"}, 201)
    text = PdfReader(io.BytesIO(home.get(made["path"]).content)).pages[0].extract_text()
    assert "Q7" in text and f"{page['gross'] / 100:.2f}" in text and "A. Customer" in text


def test_the_handbook_sheet_is_a_paper_without_a_call(home: Browser, named: str) -> None:
    answer = home.get(f"/api/handbook/{WASHER}/paper?market=NA&size=Letter")
    assert answer.headers["content-type"] == "application/pdf" and "sandbox" in answer.headers["content-security-policy"]
    pages = PdfReader(io.BytesIO(answer.content)).pages
    text = "".join(page.extract_text() for page in pages)
    # In the units of the market, with the shop's name, and nothing was written down
    assert "psi" in text and "Brook Lane Appliance Repair" in text and float(pages[0].mediabox.width) == pytest.approx(612, abs=0.1)
    assert events(home, named) == []
    assert home.get("/api/handbook/toaster/paper").status_code == 400
    assert home.get(f"/api/handbook/{WASHER}/paper?size=A5").status_code == 400
