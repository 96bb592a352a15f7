"""Facts that are wrong or hostile: refused with what to do, or printed exactly as they were typed."""

from __future__ import annotations

import io

import numpy as np
import pytest
from paper_examples import KINDS, example, pages, text
from PIL import Image

from tundish.documents.paper import paper, pictures
from tundish.documents.paper_errors import PaperError
from tundish.documents.paper_shapes import KINDS as SHAPES
from tundish.documents.paper_signature import MOST_POINTS, signature_svg

HOSTILE = (
    '#eval("1+1")', "#image(\"x.png\")", "#read(\"/etc/passwd\")", "*x*", "_x_", "$x^2$", "`x`", "@ref", "<label>", "= Head",
    "\\u{41} \\ #", "/* c */ // d", "https://example.org", "~--...", "'\"", "]}{[", "{\"a\": 1}", "%PDF", "&amp; <b>",
)  # fmt: skip


@pytest.mark.parametrize("hostile", HOSTILE)
def test_markup_prints_as_it_was_typed(hostile: str) -> None:
    facts = example("report", as_found=[hostile], why=hostile, done=[hostile])
    facts["customer"] = {"name": hostile, "lines": [hostile]}
    facts["shop"]["name"] = hostile
    facts["readings"][0]["before"] = {"shows": hostile}
    read = (
        text(paper("report", facts)).replace("’", "'").replace("‘", "'").replace("”", '"').replace("“", '"')
    )
    assert read.count(" ".join(hostile.split())) >= 6


@pytest.mark.parametrize("kind", KINDS)
def test_a_hostile_machine_name_prints_on_every_kind(kind: str) -> None:
    facts = example(kind, machine={"family": "#eval(1) *x*"})
    assert "#eval(1) *x*" in text(paper(kind, facts))


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("a\x00b\x1b[31mc", "a b [31mc"),
        ("12\u202e34", "1234"),
        ("tab\tand\r\nline", "tab and line"),
        ("\ue000\ud800", "□□"),
        ("Zoë Łukasz Ψ Жук Ω ° Δ µ €", "Zoë Łukasz Ψ Жук Ω ° Δ µ €"),
    ],
)
def test_signs_that_cannot_be_printed(typed: str, printed: str) -> None:
    assert printed in text(paper("report", example("report", as_found=[typed])))


def test_a_letter_that_no_font_has_is_boxed_and_said(monkeypatch: pytest.MonkeyPatch) -> None:
    from tundish.documents import paper_press

    set_with = paper_press._set
    # A machine without any font of its own
    monkeypatch.setattr(paper_press, "_set", lambda *a, own_fonts, **how: set_with(*a, own_fonts=True, **how))
    facts = example("report", as_found=["from 王 \U0001f600\ufe0f end"])
    read = text(paper("report", facts))
    assert "from □ □ end" in read
    assert "□ stands for a sign" in read
    assert pictures("report", facts, ppi=20)
    assert "stands for a sign" not in text(paper("report", example("report")))


def test_long_words_and_texts_stay_on_the_page() -> None:
    long = "W" * 3000
    found = pages(paper("report", example("report", as_found=[long, "word " * 3000])))
    # A break inside the long word is a space or nothing when read back
    assert sum(page.replace(" ", "").count("W") for page in found) >= 3000
    assert " ".join(found).count("word") == 3000
    assert len(found) > 2


FIXED = ("date", "until", "due_by", "valid_until", "at", "currency", "tax_rate", "rate", "state", "deference")


def swollen(held: object, name: str = "") -> object:
    """Facts with every free text turned into one very long word."""
    if isinstance(held, dict):
        return {key: swollen(one, key) for key, one in held.items()}
    if isinstance(held, list):
        return [swollen(one, name) for one in held]
    return "M" * 90 if isinstance(held, str) and held and name not in FIXED else held


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_runs_off_the_paper(kind: str) -> None:
    for png in pictures(kind, swollen(example(kind)), ppi=72):
        with Image.open(io.BytesIO(png)) as picture:
            inked = np.flatnonzero((np.asarray(picture.convert("L")) < 160).any(axis=0))
        # The margins of the template, 19 mm and 17 mm, less a point for strokes that lie on their edge
        assert inked.min() >= 19 / 25.4 * 72 - 1.5
        assert inked.max() <= 595.28 - 17 / 25.4 * 72 + 1.5


@pytest.mark.parametrize("kind", KINDS)
def test_each_needed_field_is_asked_for_by_name(kind: str) -> None:
    shape = SHAPES[kind].__dataclass_fields__
    needed = [name for name, one in shape.items() if "MISSING" in repr(one.default)]
    assert needed
    for name in needed:
        facts = example(kind)
        del facts[name]
        with pytest.raises(PaperError, match=f'no "{name}" for the {kind}.*docs/papers.md'):
            paper(kind, facts)


def test_a_field_missing_inside_is_asked_for_by_its_path() -> None:
    facts = example("invoice")
    del facts["lines"][1]["gross"]
    with pytest.raises(PaperError, match=r'no "lines\[1\]\.gross" for the invoice'):
        paper("invoice", facts)


def changed(kind: str, path: str, value: object) -> dict:
    """An example with one thing changed; path such as lines.0.net."""
    facts = example(kind)
    *way, last = path.split(".")
    held = facts
    for step in way:
        held = held[int(step)] if isinstance(held, list) else held[step]
    held[int(last) if isinstance(held, list) else last] = value
    return facts


def rated(rate: str) -> dict:
    """An invoice at one rate on the line and in the totals."""
    facts = example("invoice")
    for line in facts["lines"][:2]:
        line["tax_rate"] = rate
    facts["taxes"][0]["rate"] = rate
    return facts


@pytest.mark.parametrize(
    ("kind", "path", "value", "said"),
    [
        ("invoice", "lines.0.net", "65.00", r'saw "65.00" as lines\[0\]\.net of the invoice; allowed: int'),
        ("invoice", "lines.0.net", 65.5, r'"65.5" as lines\[0\]\.net'),
        ("invoice", "lines.0.net", 6501, "net and tax of line 1 come to 7736, gross is 7735"),
        ("invoice", "net", 18621, "net of the lines comes to 18620, the paper says 18621"),
        ("invoice", "taxes.0.tax", 3516, "net and tax under 'VAT' at 0.19"),
        ("invoice", "due", 12142, "due comes to 12143, the paper says 12142"),
        ("invoice", "currency", "eur", "the currency 'eur'"),
        ("invoice", "number", " ", "as number"),
        ("invoice", "rate", "19", '"19" as a tax rate; allowed: a share from 0 to 1'),
        ("invoice", "rate", "nan", "as a tax rate"),
        ("invoice", "due_by", "28.3.2026", r'"28\.3\.2026" as due_by of the invoice; allowed: an ISO date'),
        ("report", "date", "", "allowed: the day of the paper"),
        ("report", "date", "tomorrow", '"tomorrow" as date of the report'),
        ("report", "causes.0.chance", 81, r"81\.0 as causes\[0\]\.chance of the report; allowed: a share"),
        ("report", "causes.0.chance", float("nan"), r"nan as causes\[0\]\.chance"),
        ("report", "shop.name", "", "shop.name"),
        ("report", "proof.proven", False, "unproven with 0 things missing"),
        ("report", "proof.missing", ["C03"], "proven with 1 things missing"),
        ("report", "deference", " ", "as deference"),
        ("customer", "proven", False, "unproven with 0 things missing"),
        ("quote", "consent.minor", 20491, r"consent to 204\.91 USD; allowed: 204\.92 USD"),
        ("quote", "consent.strokes", [[[0, 0]]], "a signature of 1 points"),
        ("quote", "consent.strokes", [[[0, 0], [0, 0]]], "a signature 0 wide"),
        ("quote", "consent.strokes", [[["0'/><x/>", 0], [1, 1]]], r"consent\.strokes\[0\]\[0\]\[0\]"),
        ("quote", "consent.strokes", [[[0, 0, 0], [1, 1]]], r"consent\.strokes\[0\]\[0\]"),
        ("handbook", "checks", [{"check": "C1"}], r'no "checks\[0\]\.title" for the handbook'),
        ("report", "readings.0.healthy.low", float("inf"), "inf"),
    ],
)
def test_wrong_facts_are_refused(kind: str, path: str, value: object, said: str) -> None:
    facts = rated(str(value)) if path == "rate" else changed(kind, path, value)
    with pytest.raises(PaperError, match=said):
        paper(kind, facts)


def test_an_unknown_field_is_refused_with_the_near_one() -> None:
    with pytest.raises(PaperError, match='"cuations" for the report.*did you mean "cautions"'):
        paper("report", example("report", cuations=["x"]))


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"kind": "bill"}, '"bill" as a paper; allowed: report'),
        ({"kind": "report", "size": "A5"}, '"A5" as a size; allowed: A4, Letter'),
        ({"kind": "report", "language": "../words_en"}, "as a language; allowed: en"),
    ],
)
def test_unknown_kinds_sizes_and_languages(given: dict, said: str) -> None:
    kind = given.pop("kind")
    with pytest.raises(PaperError, match=said):
        paper(kind, example("report"), **given)


def test_a_signature_has_an_end() -> None:
    with pytest.raises(PaperError, match=f"{MOST_POINTS + 1} points"):
        signature_svg([[(float(n), 1.0) for n in range(MOST_POINTS + 1)]])
