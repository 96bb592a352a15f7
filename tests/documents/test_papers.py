"""Papers opened and read back: every fact is there, the sums are right, the pages are counted, nothing is lost."""

from __future__ import annotations

import io
import json
import re
import tomllib
from datetime import date

import numpy as np
import pytest
from paper_examples import KINDS, example, opened, pages, text
from PIL import Image

from tundish.diagnosis.reading import Reading
from tundish.documents import paper_shapes
from tundish.documents.facts import handbook_facts, reading_facts
from tundish.documents.paper import SIZES, paper, pictures
from tundish.documents.paper_sound import moment
from tundish.documents.paper_words import TEMPLATES, labels
from tundish.prices.invoice import Invoice, Payment
from tundish.prices.money import Money
from tundish.prices.quote import Option, Quote, call_out, labour
from tundish.prices.settings_usual import usual
from tundish.prices.tax import Item, taxed
from tundish.quantity.show import show_in

# ISO 216 and ANSI/ASME Y14.1, in points of 1/72 inch.
POINTS = {"A4": (595.28, 841.89), "Letter": (612.0, 792.0)}
# Left out of the plain search: printed in another form, or not printed but drawn.
NOT_AS_TYPED = {
    "date", "until", "due_by", "valid_until", "at", "strokes", "tax_rate", "rate", "kind", "how", "state", "access", "unit",
}  # fmt: skip


def words(held, name=""):
    """Every text of nested facts that is printed as it was typed."""
    if isinstance(held, dict):
        return [word for key, one in held.items() for word in words(one, key)]
    if isinstance(held, list):
        return [word for one in held for word in words(one, name)]
    return [held] if isinstance(held, str) and name not in NOT_AS_TYPED and held else []


def test_the_page_shows_every_kind() -> None:
    assert set(KINDS) == set(paper_shapes.KINDS)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("kind", KINDS)
def test_every_word_is_on_the_paper(kind: str, size: str) -> None:
    facts = example(kind)
    data = paper(kind, facts, size=size)
    read = text(data).replace("“", '"').replace("’", "'")
    wanted = words({**facts, "currency": ""})
    assert wanted
    assert [one for one in wanted if one not in read] == []
    for page in opened(data).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            POINTS[size], abs=0.02
        )


@pytest.mark.parametrize("kind", KINDS)
def test_every_paper_defers_warns_and_counts_its_pages(kind: str) -> None:
    found = pages(paper(kind, example(kind, cautions=["Wet floor."])))
    standing = labels("en")[f"{kind}_caution"]
    assert standing
    for caution in [*standing, "Wet floor."]:
        assert caution in " ".join(found)
    for number, page in enumerate(found, start=1):
        assert "Local codes and licensed practice come first." in page
        assert page.endswith(f"Page {number} of {len(found)}")
    default = paper_shapes.KINDS[kind].__dataclass_fields__["deference"].default
    assert default.startswith("Local codes and licensed practice come first.")
    assert default in " ".join(found)


@pytest.mark.parametrize("kind", KINDS)
def test_a_paper_can_be_kept(kind: str) -> None:
    read = opened(paper(kind, example(kind)))
    xmp = read.xmp_metadata.stream.get_data().decode()
    assert re.search(r"pdfaid:part>2<.*pdfaid:conformance>B<", xmp)
    assert (
        read.metadata.creation_date == read.metadata.modification_date == moment("2026-03-14T00:00+00:00", "")
    )
    assert read.trailer["/Root"]["/Lang"] == "en"
    assert read.metadata.title
    # Every letter travels with the paper
    fonts = [font for page in read.pages for font in page["/Resources"]["/Font"].values()]
    below = [font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"] for font in fonts]
    assert below
    assert all({"/FontFile2", "/FontFile3"} & set(one) for one in below)


@pytest.mark.parametrize("kind", KINDS)
def test_the_same_facts_give_the_same_bytes(kind: str) -> None:
    first = paper(kind, example(kind))
    assert paper(kind, example(kind)) == first
    assert paper(kind, example(kind, date="2026-03-15")) != first


@pytest.mark.parametrize("kind", KINDS)
def test_it_reads_in_black_and_white(kind: str) -> None:
    for png in pictures(kind, example(kind), ppi=40):
        with Image.open(io.BytesIO(png)) as picture:
            red, green, blue = (np.asarray(picture.convert("RGB"))[..., i].astype(int) for i in range(3))
        assert abs(red - green).max() <= 1
        assert abs(green - blue).max() <= 1
        assert red.min() < 60, "nothing is printed"


# Report.


def test_readings_stand_side_by_side() -> None:
    read = text(paper("report", example("report")))
    assert "5:10 min 98 s 99.6 s (81.3 s to 2:01 min)" in read
    assert "29 kPa 310 kPa 328 kPa (174 kPa to 479 kPa)" in read
    assert "OL not read 44.5 Mohm" in read
    assert "2.0 % (limit 5.0 %)" in read
    assert "PROVEN" in read
    assert "NOT PROVEN" not in read


def test_an_unproven_repair_says_what_is_missing() -> None:
    proof = {
        "proven": False,
        "missing": ["C03 has not been read since the repair"],
        "left_now": 0.31,
        "limit": 0.05,
    }
    read = text(paper("report", example("report", proof=proof)))
    assert re.search(
        r"NOT PROVEN .*31 % \(limit 5\.0 %\) Missing: – C03 has not been read since the repair", read
    )


def test_readings_in_units_of_the_united_states() -> None:
    pressure = {"shows": show_in(29e3, "pressure", "US"), "value": 29e3}
    band = {"says": "47.6 psi (25.2 psi to 69.5 psi)"}
    row = {"check": "C05.cold", "title": "flowing pressure", "before": pressure, "healthy": band}
    read = text(paper("report", example("report", readings=[row]), size="Letter"))
    assert "4.21 psi not read 47.6 psi (25.2 psi to 69.5 psi)" in read


def test_what_does_not_fit_is_said() -> None:
    said = "These readings fit no simulated machine: take the odds for little."
    assert said in text(paper("report", example("report", misfit=said)))


def test_facts_made_elsewhere_fit_though_they_hold_more(toy) -> None:
    check = next(one for one in toy.checks.values() if not one.is_look)
    shown = [reading_facts(toy, Reading(check.id, value), "US") for value in (2.5, np.inf)]
    assert shown[1]["over_range"]
    row = {
        "check": check.id,
        "title": check.title,
        "before": shown[0],
        "after": shown[1],
        "where": check.where,
    }
    proof = example("report")["proof"] | {"verdict": "PROVEN", "checks": [], "planned": False}
    read = text(paper("report", example("report", readings=[row], proof=proof)))
    assert f"{check.id} {check.title} {shown[0]['shows']} {shown[1]['shows']}" in read


# Money.


def test_an_invoice_in_euros() -> None:
    read = text(paper("invoice", example("invoice")))
    for said in (
        "Call-out 1 65.00 65.00 12.35 VAT 19 % 77.35",
        "Labour 1.5 h 80.00 120.00 22.80 VAT 19 % 142.80",
        "Sealing washer 2 0.60 1.20 0.08 VAT 7 % 1.28",
        "Net of tax 186.20 EUR VAT 19 % on 185.00 35.15 EUR VAT 7 % on 1.20 0.08 EUR Total 221.43 EUR",
        "14 March 2026, card 100.00 EUR",
        "Due by 28 March 2026 121.43 EUR",
        "Labour until 12 June 2026",
    ):
        assert said in read


@pytest.mark.parametrize("currency", ["EUR", "USD"])
def test_facts_of_the_prices_fit(currency: str) -> None:
    shop = usual(currency)
    items = [labour("drain pump", 61, shop), Item(kind="part", what="drain pump", each=Money(7800, currency))]
    lines = taxed([*call_out(shop), *items], shop.taxes, rounding=shop.rounding, prices=shop.prices)
    payment = Payment(Money(5000, currency), date(2026, 3, 14), "cash")
    bill = Invoice(currency, lines, (payment,))
    made = example("invoice") | bill.facts()
    read = text(paper("invoice", made))
    for line in lines:
        assert f"{str(line.net).split()[0]} {str(line.tax).split()[0]}" in read
    assert f"Total {bill.totals.gross}" in read
    assert f"{bill.due}" in read
    nothing = Option("do nothing", Money(0, currency), 0.0, "stays as it is")
    offer = Quote(lines, (nothing,), 0.87, lines[0].gross, date(2026, 4, 13))
    read = text(paper("quote", example("quote", consent=None) | offer.facts()))
    assert f"Total {bill.totals.gross}" in read
    assert f"do nothing 0.00 {currency} – stays as it is" in read
    assert f"you owe {lines[0].gross}" in read


def test_a_paid_invoice_asks_for_nothing() -> None:
    paid = [{"date": "2026-03-14", "means": "card", "minor": 22143}]
    read = text(paper("invoice", example("invoice", paid=paid, due=0)))
    assert "Paid in full." in read
    assert "Due by" not in read


def test_a_quote_in_dollars() -> None:
    read = text(paper("quote", example("quote"), size="Letter"))
    for said in (
        "Drain pump 1 78.00 78.00 6.92 Sales tax 8.875 % 84.92",
        "Labour 1 h 120.00 120.00 0.00 none 120.00",
        "Total 204.92 USD",
        "Chance that this alone cures it: 87 %",
        "replace 1,250.00 USD – a new machine lasts about 12 years",
        "do nothing – – water stays in the drum",
        "Valid until 13 April 2026",
        "more than 15 % over this quote",
        "you owe 95.00 USD",
        "Agreed by A. Customer 14 March 2026, 16:20 signed, amount 204.92 USD",
    ):
        assert said in read


def lines_of(count: int, minor: int = 123456) -> dict:
    line = {
        "kind": "part",
        "what": "",
        "quantity": "1",
        "each": minor,
        "net": minor,
        "tax": 0,
        "gross": minor,
    }
    lines = [line | {"what": f"Part {n:03d}"} for n in range(count)]
    whole = count * minor
    return {"lines": lines, "net": whole, "tax": 0, "gross": whole, "taxes": [], "paid": [], "due": whole}


@pytest.mark.parametrize("size", SIZES)
def test_a_long_invoice_breaks_over_pages(size: str) -> None:
    found = pages(paper("invoice", example("invoice", **lines_of(150)), size=size))
    assert len(found) >= 3
    assert found[-1].endswith(f"Page {len(found)} of {len(found)}")
    # The head of the table is said again wherever rows stand, and no row is lost or split
    for page in found:
        assert ("Each [EUR]" in page) == ("Part " in page)
    assert [int(n) for n in re.findall(r"Part (\d{3}) 1 1,234\.56", " ".join(found))] == list(range(150))
    assert "185,184.00 EUR" in found[-1]


@pytest.mark.parametrize(("currency", "shown"), [("JPY", "1,234,567 JPY"), ("KWD", "1,234.567 KWD"), ("USD", "12,345.67 USD")])  # fmt: skip
def test_each_currency_has_its_decimals(currency: str, shown: str) -> None:
    facts = example("invoice", **lines_of(1, 1234567), currency=currency)
    assert f"Total {shown}" in text(paper("invoice", facts))


# Signature.


def ink(facts: dict) -> int:
    with Image.open(io.BytesIO(pictures("quote", facts, ppi=60)[0])) as picture:
        return int((np.asarray(picture.convert("L")) < 128).sum())


def test_the_signature_is_drawn() -> None:
    signed, typed = example("quote"), example("quote")
    typed["consent"]["strokes"] = []
    assert ink(signed) > ink(typed) + 50


def test_a_quote_without_consent_has_room_to_sign() -> None:
    read = text(paper("quote", example("quote", consent=None)))
    assert "Name Place and date Signature" in read
    assert "Agreed by" not in read


# Customer's page.


def test_the_customer_gets_one_plain_page() -> None:
    found = pages(paper("customer", example("customer")))
    assert len(found) == 1
    # Trade words that none of our own labels may use on this page
    assert not re.search(
        r"\b(odds|ohm|volts?|proof|proven|check|fault|band|cause|earth|RCD|isolat\w+)\b", found[0]
    )


def test_an_unproven_repair_is_told_to_the_customer() -> None:
    facts = example("customer", proven=False, missing=["We come back on Friday to time it again."])
    read = text(paper("customer", facts))
    assert "not yet shown" in read
    assert "We come back on Friday" in read
    assert "works as it should." not in read.replace("not yet shown that it works as it should.", "")


# Handbook.


def test_a_handbook_sheet_of_a_family(place, toy) -> None:
    healthy = np.full((len(toy.checks), 200), 1.0, dtype=np.float32)
    facts = json.loads(json.dumps(handbook_facts(toy, "EU", healthy, "metric")))
    read = text(paper("handbook", {**facts, "date": "2026-03-14"}))
    for check in facts["checks"]:
        assert f"{check['check']} {check['title']}" in read
        assert check["healthy"]["says"] in read


def test_states_stand_in_the_order_of_a_visit() -> None:
    read = text(paper("handbook", example("handbook")))
    places = [read.index(said) for said in ("Only looking", "Powered, no water", "Powered and filling")]
    assert places == sorted(places)
    assert "needs: machine pulled out" in read
    assert "volts at the outlet, idle LIVE" in read


def test_a_long_sheet_says_state_and_access_again() -> None:
    check = example("handbook")["checks"][0]
    checks = [check | {"check": f"K{n:03d}"} for n in range(120)]
    found = pages(paper("handbook", example("handbook", checks=checks)))
    assert len(found) >= 3
    for page in found:
        if "K0" in page or "K1" in page:
            assert "FILL Check With Healthy Reading needs: machine pulled out" in page
    assert re.findall(r"K(\d{3}) flowing", " ".join(found)) == [f"{n:03d}" for n in range(120)]


# Labels.


def test_every_label_is_used_and_every_used_label_is_there() -> None:
    code = "\n".join(path.read_text(encoding="utf-8") for path in TEMPLATES.glob("*.typ"))
    used = set(re.findall(r"\bw\.([a-z_]+\w*)", code)) - {"at"}
    held = set(labels("en"))
    by_name = {name for name in held if name.startswith(("how_", "state_", "access_"))}
    assert used - held == set()
    assert held - used - by_name == {"months", "thousands", "decimal"}


def test_templates_travel_with_the_package() -> None:
    project = tomllib.loads((TEMPLATES.parents[2] / "pyproject.toml").read_text(encoding="utf-8"))
    patterns = project["tool"]["setuptools"]["package-data"]["tundish"]
    kept = {path for pattern in patterns for path in (TEMPLATES.parents[1]).glob(pattern)}
    assert {path for path in TEMPLATES.iterdir() if path.is_file()} <= kept
