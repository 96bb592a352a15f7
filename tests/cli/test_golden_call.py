"""A whole call on the command line alone, from the phone to the paid invoice, its callback, and every illegal move refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from tundish.prices.papers import untallied

Run = Callable[..., str]
WASHER = "front-load washer"
HEATER = f"{WASHER}: heater"
FEW = ("--machines", "4000")
DEAD = ("--proof", "0 V on all pairs, tester proved before and after")
INTO = (
    "look, smell and ask",
    "pull the plug",
    "shut the taps",
    "let off the pressure",
    "pull the machine out",
)
OUT = ("close BACK", "push the machine back", "open the taps", "energise")


class Bench:
    """The command line as somebody at the machine uses it, on one call."""

    def __init__(self, run: Run, call: str) -> None:
        self.run, self.call = run, call

    def __call__(self, verb: str, *words: str) -> Any:
        """The facts a verb prints; what the terminal says comes from the same facts."""
        return json.loads(self.run(verb, self.call, *words, "--json", *FEW))

    def text(self, verb: str, *words: str) -> str:
        return " ".join(self.run(verb, self.call, *words, *FEW).split())

    def events(self) -> int:
        return next(
            row["events"] for row in json.loads(self.run("calls", "--json")) if row["name"] == self.call
        )

    def on_van(self, part: str) -> int:
        rows = json.loads(self.run("stock", "--json"))["stock"]
        return next((int(row["on_van"]) for row in rows if row["part"] == part), 0)

    def refused(self, verb: str, *words: str, says: str) -> None:
        """Refused with exit code 2, what was seen, what is allowed and the cure; and nothing was written."""
        before = self.events()
        said = " ".join(self.run(verb, self.call, *words, *FEW, code=2).split())
        for part in ("saw ", "allowed: ", *says.split(" | ")):
            assert part in said
        assert self.events() == before


@pytest.fixture
def cold(run: Run) -> Bench:
    """A call named smith: the washer does not heat."""
    run("open", WASHER, "--complaint", "NOHEAT", "--age", "6", "--market", "EU", "--name", "smith", *FEW)
    return Bench(run, "smith")


@pytest.fixture
def found(cold: Bench) -> Bench:
    """The heater reads open, the machine is dead and its back is off."""
    for step in INTO:
        cold("do", step)
    cold("do", "prove dead", *DEAD)
    cold("do", "open BACK")
    cold("reading", "W10", "OL")
    return cold


@pytest.fixture
def mended(found: Bench) -> Bench:
    """The heater is quoted, agreed to and changed; the machine stands as it is used."""
    found.run("stock", "receive", HEATER, "2")
    found("quote", "F17", "--give")
    found("agree", "--name", "A. Smith")
    found("fix", "F17", "--step", "all", "--heeded", "--part", "1", "--repaired")
    for step in OUT:
        found("do", step)
    return found


def test_the_golden_call(run: Run, tmp_path: Path) -> None:
    # The phone: danger first, then the complaint
    first = json.loads(run("ask", "--family", WASHER, "--market", "EU", "--json"))
    assert first["questions"][0]["id"] == "danger"
    complaints = {a["answer"]: a["complaint"] for q in first["questions"] for a in q["answers"]}
    assert complaints["does not heat"] == "NOHEAT"
    run("open", WASHER, "--complaint", "NOHEAT", "--market", "EU", "--name", "smith", *FEW)
    bench = Bench(run, "smith")
    page = bench("ask")
    assert page["questions"][0]["id"] == "danger" and page["stop"] == []
    assert page["bracket"]["low"] < page["bracket"]["high"] and page["bracket"]["reasons"]
    page = bench("ask", "danger", "none", "--seconds", "6")
    assert page["answers"][-1]["answer"] == "none"
    told = page["questions"][0]
    assert told["worth"] > 0 and told["id"] != "danger"
    assert "Q18" in {row["question"] for row in page["missing"]}
    # Booked, with what loses a visit settled
    bench("machine", "--model", "as on its plate", "--serial", "0042", "--age", "6")
    page = bench(
        "book", "2026-12-01", "--name", "A. Smith", "--address", "12 Mill Row", "--access", "first floor",
        "--may-consent", "A. Smith", "--tenure", "owner",
    )  # fmt: skip
    assert page["visit"]["date"] == "2026-12-01" and page["machine"]["serial"] == "0042" and page["age"] == 6
    missing = {row["question"] for row in bench("ask")["missing"]}
    assert not missing & {"Q17.address", "Q17.access", "Q17.consent", "Q18"}
    # The visit: made safe, read, and the cause found
    run("stock", "receive", HEATER, "2")
    assert bench("next")["action"]["label"]
    for step in INTO:
        bench("do", step)
    bench("do", "prove dead", *DEAD)
    bench("do", "open BACK")
    odds = bench("reading", "W10", "OL")
    assert odds["causes"][0]["id"] == "F17" and odds["causes"][0]["chance"] > 0.7
    # The price, and the customer's word
    drawing = tmp_path / "worth.svg"
    quote = bench("quote", "F17", "--give", "--svg", str(drawing))
    assert (
        untallied(
            {
                "currency": quote["currency"],
                **{n: quote[n] for n in ("lines", "net", "tax", "gross", "taxes")},
            }
        )
        == []
    )
    assert [line["kind"] for line in quote["lines"]] == ["call-out", "part", "labour"]
    assert 0.5 < quote["chance_cures"] < 0.95
    assert {option["name"] for option in quote["options"]} >= {"repair now", "replace", "do nothing"}
    assert quote["worth"]["break_even"] > 0 and quote["given"].endswith("-1")
    ElementTree.parse(drawing)
    agreed = bench("agree", "--name", "A. Smith")
    assert agreed["owed"] == agreed["due"] == quote["gross"] and agreed["consent"]["how"] == "written"
    # The repair, step by step, and the stock falls with it
    page = bench("fix", "F17")["repairs"][0]
    assert page["consent"] == "" and page["part"]["part"] == HEATER and page["part"]["on_van"] == 2
    assert any(step["photo"] for step in page["steps"]) and any(step["caution"] for step in page["steps"])
    bench("fix", "F17", "--step", "1")
    page = bench("fix", "F17", "--step", "all", "--heeded", "--part", "1", "--repaired")["repairs"][0]
    assert page["repaired"] and all(step["done"] for step in page["steps"]) and page["part"]["used"] == 1
    assert bench.on_van(HEATER) == 1
    # Proven by what was read as it is used, and given back
    assert bench("close")["proof"]["verdict"] == "UNPROVEN"
    for step in OUT:
        bench("do", step)
    for check, typed in (("W12", "15.5 K"), ("W05.level", "95 mm")):
        bench("reading", check, typed)
    bench("do", "tested works")
    bench("do", "return to use", "--proof", "a warm wash watched, dry below")
    page = bench("close", "--as", "proven")
    assert page["ended"] == "proven" and page["proof"]["verdict"] == "PROVEN"
    closed = date.fromisoformat(bench_day(run))
    assert page["warranty"][0] == {"what": "Labour", "until": (closed + timedelta(days=90)).isoformat()}
    # Paid in two sums, to the cent
    assert bench("pay", "100", "--means", "card")["due"] == quote["gross"] - 10_000
    page = bench("pay", "all", "--means", "cash")
    assert page["due"] == 0 and sum(paid["minor"] for paid in page["paid"]) == quote["gross"]
    # On paper: the same sums as were agreed to
    run("settings", "currency", "EUR")
    run("settings", "name", "Brook Lane Repairs")
    for kind, said in (("quote", "A. Smith"), ("invoice", "Paid in full"), ("report", "W10")):
        text = paper(bench, kind, tmp_path / f"{kind}.pdf")
        assert said in text and (kind == "report" or f"Total {quote['gross'] / 100:.2f} EUR" in text)
    page = bench("close", "--follow-up", "2026-12-11", "--because", "ask whether it heats")
    assert page["follow_up"]["date"] == "2026-12-11" and page["due"] == 0 and page["problems"] == []
    assert [row["paper"].split()[0] for row in page["papers"]] == ["quote", "invoice", "report"]
    # It comes back: the old call beside the new one
    run("open", WASHER, "--complaint", "NOHEAT", "--age", "6", "--market", "EU", "--name", "again", *FEW)
    page = Bench(run, "again")("callback", "smith", "--because", "cold again")
    assert page["earlier"]["ended"] == "proven" and page["same_complaint"]
    assert page["predicted"]["causes"][0]["id"] == "F17" and page["proved"]["proven"]
    assert {row["check"] for row in page["predicted"]["readings"]} == {"W12", "W05.level"}
    assert page["parts"] == [{"part": HEATER, "fault": "F17", "count": 1}]
    assert page["covered"] == {"labour": True, "part": True}


def paper(bench: Bench, kind: str, file: Path) -> str:
    """The text of a paper of the call, read back from its PDF."""
    bench("paper", kind, "-o", str(file))
    return " ".join("".join(page.extract_text() for page in PdfReader(file).pages).split())


def bench_day(run: Run) -> str:
    """The day on which the last event was written, as the warranty counts it."""
    return max(row["last"][:10] for row in json.loads(run("calls", "--json")))


def test_what_may_not_be_done_before_consent(found: Bench) -> None:
    found.refused("agree", "--name", "A. Smith", says="before any quote | tundish quote CALL --give")
    found.refused("agree", "--refused", says="before any quote")
    found.refused("pay", "10", "--means", "cash", says="no amount is due | quote and ask for consent first")
    for words in (("--step", "1"), ("--part", "1", "--bought"), ("--repaired",)):
        found.refused(
            "fix", "F17", *words, says="without a consent that stands | quote it, and ask for consent"
        )
    found("quote", "F17", "--give")
    found.refused("fix", "F17", "--step", "1", says="ask for consent to the quote")
    found.refused(
        "agree", "--name", "A. Smith", "--refused", says="a consent and a refusal of call smith in one"
    )
    found.refused("agree", "--spoken", says="without a name")
    found("agree", "--name", "A. Smith", "--spoken")
    found.refused("fix", "F20", "--repaired", says="not agreed to | quote F20 with the rest")
    assert found("fix", "F20")["repairs"][0]["consent"] != ""


def test_the_stock_never_falls_below_nothing(found: Bench) -> None:
    found("quote", "F17", "--give")
    found("agree", "--name", "A. Smith")
    # All of one command or nothing: the steps are not written either
    found.refused(
        "fix",
        "F17",
        "--step",
        "all",
        "--heeded",
        "--part",
        "1",
        "--repaired",
        says="with 0 on van | receive the part",
    )
    found.run("stock", "receive", HEATER, "1")
    found.refused("fix", "F17", "--part", "2", says="up to 1")
    assert found.on_van(HEATER) == 1
    # Bought on the way: nothing leaves the van
    assert found("fix", "F17", "--part", "1", "--bought")["repairs"][0]["part"]["used"] == 1
    assert found.on_van(HEATER) == 1


def test_a_caution_comes_before_its_step(found: Bench) -> None:
    found("quote", "F17", "--give")
    found("agree", "--name", "A. Smith")
    steps = found("fix", "F17")["repairs"][0]["steps"]
    careful = next(step for step in steps if step["caution"])
    number = str(careful["number"])
    found.refused("fix", "F17", "--step", number, says=f"its caution not seen | {careful['caution']}")
    found.refused("fix", "F17", "--step", "99", says="1 to ")
    found.refused("fix", "F17", "--step", "the third", says="a number, or all")
    assert found("fix", "F17", "--step", number, "--heeded")["repairs"][0]["steps"][careful["number"] - 1][
        "done"
    ]
    text = found.text("fix", "F17")
    assert text.index(careful["caution"]) < text.index(careful["step"])


def test_nothing_is_closed_as_proven_unproven_or_paid_twice(mended: Bench) -> None:
    mended.refused("close", "--as", "proven", says="UNPROVEN: nothing was read | read W12")
    mended("reading", "W12", "3 K")
    mended.refused("close", "--as", "proven", says="UNPROVEN: a cause is left with")
    mended.refused("close", "--as", "nothing wrong", says="end as proven, or as unproven")
    mended.refused("close", "--as", "fine", says="name one of these")
    mended.refused("close", "--follow-up", "2026-12-11", says="say why with --because")
    mended.refused("close", "--follow-up", "next week", "--because", "x", says="2026")
    gross = mended("agree")["owed"]
    mended.refused(
        "pay", f"{gross / 100 + 1:.2f}", "--means", "card", says="what is due | correct the amount"
    )
    mended.refused("pay", "1,234", "--means", "card", says="write it like")
    mended("pay", "all", "--means", "card")
    mended.refused("pay", "all", "--means", "card", says="which is 0.00 EUR")
    assert mended("close", "--as", "unproven", "--because", "customer out of time")["ended"] == "unproven"
    for verb, words in (
        ("quote", ("F20", "--give")),
        ("fix", ("F17", "--part", "1", "--bought")),
        ("agree", ("--name", "A")),
    ):
        mended.refused(verb, *words, says="is ended | undo the ending first")


def test_a_second_cause_keeps_what_was_done_in_the_bill(mended: Bench) -> None:
    before = mended("agree")["owed"]
    quote = mended("quote", "F20", "--give")
    assert [fault["id"] for fault in quote["faults"]] == ["F17", "F20"] and quote["gross"] > before
    # Who refuses the second still owes the first
    assert quote["owed_if_refused"] == before == mended("agree", "--refused", "--because", "too dear")["owed"]
    mended.refused("fix", "F20", "--step", "1", says="without a consent that stands")


def test_a_refused_quote_leaves_what_was_said(found: Bench) -> None:
    quote = found("quote", "F17", "--give")
    found.refused(
        "agree", "--refused", "--owed", "500", says="up to 96.80 EUR | no more than was said before"
    )
    page = found("agree", "--refused", "--because", "a new machine instead")
    assert page["refused"] and page["due"] == quote["owed_if_refused"] == 9_680
    found("do", "close BACK")
    assert found("close", "--as", "refused")["ended"] == "refused"
    assert found("pay", "all", "--means", "cash")["due"] == 0


def test_under_warranty_nothing_is_charged(found: Bench) -> None:
    quote = found("quote", "F17", "--free", "under warranty", "--give")
    assert quote["gross"] == 0 and "under warranty" in quote["lines"][0]["what"]
    assert found("agree", "--name", "A. Smith", "--spoken")["due"] == 0
    assert found("fix", "F17", "--step", "1")["repairs"][0]["steps"][0]["done"]


def test_words_of_danger_end_all_advice(cold: Bench) -> None:
    page = cold("ask", "--said", "it tingles when I touch the door")
    assert [word["name"] for word in page["stop"]] == ["shock"] and page["advice"]["say"] == []
    assert "! STOP, shock" in cold.text("ask")
    # Heard wrongly: taken back, it stops nothing
    assert cold("ask", "--unsaid")["stop"] == []
    cold.refused("ask", "--unsaid", says="nothing that was said")


def test_what_is_asked_and_said_is_checked(cold: Bench) -> None:
    cold.refused("ask", "Q99", "yes", says="question: saw 'Q99'")
    cold.refused("ask", "danger", "perhaps", says="burning")
    cold.refused("ask", "Q1", "loud", says="open another call with complaint NOISE")
    cold.refused("book", "--phone", "01 234", says="say it with --name")
    cold.refused("book", "Monday", "--name", "A. Smith", says="2026")
    cold.refused("quote", "nothing wrong", says="which nobody can mend | --visit")
    cold.refused("quote", "F99", says="cause: saw 'F99'")
    cold.refused("fix", says="no cause to mend")
    cold.refused("callback", says="tundish callback CALL EARLIER")
    assert "a call, or --family with dishwasher" in cold.run("ask", code=2)


def test_a_callback_comes_back_from_a_call_that_ended(cold: Bench) -> None:
    cold.run("open", "dryer", "--complaint", "NOSTART", "--name", "dry", *FEW)
    Bench(cold.run, "dry").refused("callback", "smith", says="which is open | tundish close")
    cold("close", "--as", "nothing wrong")
    Bench(cold.run, "dry").refused("callback", "smith", says="another machine is another job")


def test_the_terminal_says_what_the_facts_say(mended: Bench) -> None:
    page, text = mended("quote", "F17"), mended.text("quote", "F17")
    for line in page["lines"]:
        assert line["what"] in text and f"{line['gross'] / 100:.2f}" in text
    for option in page["options"]:
        assert option["name"] in text
    page, text = mended("close"), mended.text("close")
    assert page["says"] in text and all(row["why_not"] in text for row in page["endings"])
    page, text = mended("ask"), mended.text("ask")
    assert all(row["ask"] in text for row in page["missing"]) and page["advice"]["line"] in text
