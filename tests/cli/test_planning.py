"""A call from the complaint to the end with the verbs of planning, and every unlawful move refused with its cure."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from tundish.appliance.records import Description
from tundish.plan.demands import demands_of_check, refused
from tundish.plan.states import STEPS, Safety
from tundish.store.library import load

WASHER = "front-load washer"
FEW = ("--machines", "4000")
DEAD = ("--proof", "0 V on all pairs, tester proved before and after")
INSIDE = ("look, smell and ask", "pull the plug", "shut the taps", "let off the pressure")


@pytest.fixture
def opened(run: Any) -> Any:
    """A call named smith, complaint SLOW."""
    run("open", WASHER, "--complaint", "SLOW", "--age", "9", "--since", "house move", "--name", "smith", *FEW)
    return run


@pytest.fixture(scope="session")
def washer() -> Description:
    return load(WASHER)


def facts(run: Any, *words: str) -> Any:
    return json.loads(run(*words, "--json", *FEW))


def do(run: Any, *words: str) -> Any:
    return json.loads(run("do", "smith", *words, "--json"))


def test_the_next_action_says_all_a_technician_needs(opened: Any) -> None:
    page = facts(opened, "next", "smith")
    action = page["action"]
    assert action["kind"] == "check" and action["why"] and action["record"].startswith("tundish reading CALL")
    # Of actions that cost nearly the same, the planner may put first the one for which nothing has to be moved
    assert action["promise"] == page["promise"]
    assert action["promise"] <= 1.07 * min(o["promise"] for o in (action, *page["others"]))
    assert action["cost"] > 0 and action["minutes"] > 0 and action["saves"] > 0
    assert sum(lead["chance"] for lead in action["leads"]) == pytest.approx(1.0, abs=0.05)
    assert all(lead["then"] for lead in action["leads"])
    rated = [o["promise"] for o in page["others"]]
    assert all(later >= 0.93 * earlier for earlier, later in pairwise(rated))
    text = opened("next", "smith", *FEW)
    for said in (
        action["label"],
        action["why"],
        action["record"].replace("CALL", "smith"),
        "barred",
        "Local codes and licensed practice come first",
    ):
        assert " ".join(said.split()) in " ".join(text.split())
    assert facts(opened, "next", "smith") == page


def test_the_terminal_says_the_same_as_the_json(opened: Any) -> None:
    page, text = facts(opened, "next", "smith"), " ".join(opened("next", "smith", *FEW).split())
    for lead in page["action"]["leads"]:
        assert lead["outcome"] in text
    for step in page["action"]["steps"]:
        assert step["step"] in text and step["proof"] in text
    for caution in page["action"]["cautions"]:
        assert caution in text
    kinds = {row["kind"] for row in page["others"]}
    for kind in kinds:
        assert any(row["label"] in text for row in page["others"] if row["kind"] == kind)


def test_nothing_live_is_proposed_and_the_reason_is_told(opened: Any, washer: Description) -> None:
    live = {check.id for check in washer.checks.values() if check.live}
    page = facts(opened, "next", "smith")
    assert not live & {o["check"] for o in (page["action"], *page["others"])}
    barred = {b["name"]: b["why"] for b in page["barred"]}
    assert live <= set(barred)
    assert all("only for somebody qualified" in barred[name] for name in live)
    qualified = facts(opened, "next", "smith", "--qualified")
    assert qualified["qualified"] and not any(
        "only for somebody qualified" in b["why"] for b in qualified["barred"]
    )
    # Even then a live check is not the first while an isolated one is as good
    assert qualified["action"]["check"] not in live


def test_what_is_proposed_is_lawful_once_its_steps_are_made(opened: Any, washer: Description) -> None:
    for recorded in ((), ("shut the taps",), ("look, smell and ask", "pull the plug")):
        for step in recorded:
            do(opened, step)
        start = facts(opened, "state", "smith")
        page = facts(opened, "next", "smith")
        for option in (page["action"], *page["others"]):
            here = _safety(start) if start["tracked"] else Safety(hazard="unknown")
            for step in option["steps"]:
                here = _after(here, step["step"])
            if option["check"]:
                check = washer.checks[option["check"]]
                assert refused(demands_of_check(check), here, who="trained") == "", option["name"]


def _safety(page: Any) -> Safety:
    fields = dict(page["facets"])
    return Safety(**{**fields, "panels": frozenset(fields["panels"])})


def _after(here: Safety, name: str) -> Safety:
    from tundish.call.doings import StateClaimed
    from tundish.call.safety import claimed

    return claimed(here, StateClaimed(name, "seen"))


def test_the_plan_as_tree_text_and_drawing(opened: Any, tmp_path: Path) -> None:
    drawing = tmp_path / "plan.svg"
    page = facts(opened, "plan", "smith", "--depth", "2", "--svg", str(drawing))
    following = facts(opened, "next", "smith")
    assert page["tree"]["action"] == following["action"]["name"]
    assert page["tree"]["cost"] == pytest.approx(following["promise"])
    assert sum(b["chance"] for b in page["tree"]["branches"]) == pytest.approx(1.0)
    assert _depth(page["tree"]) == 2
    # Both verbs name the same action after each outcome
    then = {b["outcome"]: b["then"]["label"] for b in page["tree"]["branches"] if b["then"]}
    told = {lead["outcome"]: lead["then"] for lead in following["action"]["leads"]}
    assert then and all(told[outcome] == label for outcome, label in then.items() if outcome in told)
    words = " ".join(
        t.text or "" for t in ElementTree.parse(drawing).iter("{http://www.w3.org/2000/svg}tspan")
    )
    assert page["tree"]["label"].split()[0] in words
    text = opened("plan", "smith", "--depth", "2", *FEW)
    assert page["tree"]["label"] in text and "├─" in text


def _depth(node: Any) -> int:
    return 1 + max((_depth(b["then"]) for b in node["branches"] if b["then"]), default=0)


def test_on_the_phone_questions_come_first_and_a_no_is_not_asked_again(opened: Any) -> None:
    first = facts(opened, "next", "smith", "--phone")["action"]
    assert first["kind"] == "question"
    asked = first["name"] if not first["check"] else None
    assert asked is not None and asked != "house move"
    before = facts(opened, "odds", "smith")
    assert facts(opened, "told", "smith", asked, "--no")["causes"] == before["causes"]
    page = facts(opened, "next", "smith", "--phone")
    assert asked not in {o["name"] for o in (page["action"], *page["others"])}


def test_state_begins_with_the_first_step(opened: Any) -> None:
    page = facts(opened, "state", "smith")
    assert not page["tracked"] and page["done"] == []
    assert "the first step you record begins it" in opened("state", "smith")
    page = do(opened, "pull the plug")
    assert page["tracked"] and page["facets"]["power"] == "isolated" and page["facets"]["hazard"] == "unknown"
    assert page["done"][0]["proof"] == "plug out and in sight"
    assert {"prove dead", "open TOP"} <= {step["step"] for step in page["open"]}
    assert "hazard is unknown" in {b["step"]: b["why"] for b in page["barred"]}["energise"]
    names = {step["step"] for step in page["open"]}
    assert not names & {step.name for step in STEPS if step.who == "qualified"}
    text = " ".join(opened("state", "smith").split())
    assert page["state"] in text and all(name in text for name in names)


def test_a_reading_is_free_until_tracking_and_held_against_the_state_then(opened: Any) -> None:
    opened("reading", "smith", "C07.cold", "3 bar", *FEW)
    do(opened, "look, smell and ask")
    do(opened, "pull the plug")
    said = opened("reading", "smith", "W01.cold", "4 kohm", *FEW, code=2)
    for part in (
        "saw a reading of W01.cold",
        "while power isolated, water on",
        "record first:",
        "prove dead",
        "open TOP",
    ):
        assert part in said
    count = len(facts(opened, "odds", "smith")["readings"])
    assert count == 1
    # A fill that was timed shows that the machine was on
    opened("reading", "smith", "C04", "3 L/min", *FEW)
    page = facts(opened, "state", "smith")
    assert page["facets"]["power"] == "on"
    assert [d["step"] for d in page["done"]][-1] == "energise"
    assert "shown by the reading of C04" in page["done"][-1]["proof"]
    do(opened, "found", "power", "isolated", "--because", "customer pulled it")
    assert facts(opened, "state", "smith")["facets"]["power"] == "isolated"


ILLEGAL = [
    (("prove", "dead", *DEAD), ("power on", "first: pull the plug")),
    (("open", "TOP"), ("power is on", "first: pull the plug")),
    (("discharge", "--proof", "2 V"), ("needs power dead", "first: pull the plug, then prove dead")),
    (("energise",), ("needs power isolated", "power is on already")),
    (("energise open, leads clipped on dead", "--proof", "x"), ("only for somebody qualified",)),
    (("energise open, leads clipped on dead", "--proof", "x", "--qualified"), ("first: pull the plug, then prove dead",)),
    (("F01",), ("repair of F01", "while power on", "record first:", "prove dead", "open TOP")),
    (("S24",), ("house wiring is not ours", "a licensed electrician")),
    (("return", "to", "use"), ("without its proof", "function and proof in the as-used state")),
    (("put out of use", "--proof", "told"), ("power is on", "first: pull the plug")),
    (("found", "power", "dead"), ("power found 'dead'", "prove dead")),
    (("found", "heat", "cold"), ("heat found 'cold'", "let it cool")),
    (("end", "handed", "over"), ("somebody who takes over", "record the hand over first")),
    (("end", "fixed"), ("ended as 'fixed'", "allowed: proven")),
    (("W01.cold",), ("a check", "tundish reading CALL W01.cold VALUE")),
    (("shave",), ("saw 'shave' done", "see the state")),
]  # fmt: skip


@pytest.mark.parametrize(("words", "says"), ILLEGAL, ids=[" ".join(words[:2]) for words, _ in ILLEGAL])
def test_an_illegal_move_is_refused_with_the_cure_and_changes_nothing(
    opened: Any, words: tuple[str, ...], says: tuple[str, ...]
) -> None:
    before = do(opened, "look, smell and ask")
    said = opened("do", "smith", *words, code=2)
    assert "saw" in said and "allowed:" in said
    for part in says:
        assert part in said
    assert facts(opened, "state", "smith") == before


def test_a_hazard_stops_the_plan(opened: Any) -> None:
    do(opened, "hazard", "--because", "smell of gas")
    page = facts(opened, "next", "smith")
    assert page["action"] is None and "out of use" in page["halt"]
    assert "out of use" in opened("next", "smith", *FEW)
    assert facts(opened, "plan", "smith")["tree"] is None
    assert "a hazard was seen" in opened("do", "smith", "end", "stopped", code=2)
    assert "must be none seen" in opened("do", "smith", "return to use", "--proof", "x", code=2)
    for words in (
        ("pull the plug",),
        ("put out of use", "--proof", "tag on the plug, told in writing"),
        ("hand", "over", "to", "a licensed gas fitter", "--because", "smell of gas"),
        ("end", "handed over"),
    ):
        page = do(opened, *words)
    assert page["ended"] == "handed over" and page["handed_over"][0]["to"] == "a licensed gas fitter"
    assert "ended" in facts(opened, "next", "smith")["halt"]
    assert "undo the ending first" in opened("do", "smith", "S06", code=2)
    assert do(opened, "undo")["ended"] is None


def test_a_part_is_ordered_taken_and_used(opened: Any, agree: Any) -> None:
    for step in INSIDE:
        do(opened, step)
    do(opened, "prove dead", *DEAD)
    do(opened, "open TOP")
    assert "TOP is open: close TOP" in opened("do", "smith", "order", "F01", code=2)
    do(opened, "close TOP")
    page = do(opened, "order", "F01")
    assert page["ordered"] == ["F01"] and page["facets"]["power"] == "isolated"
    assert page["facets"]["hazard"] == "unknown"
    assert "first: take F01" in opened("do", "smith", "F01", code=2)
    page = do(opened, "take", "F01")
    assert (page["ordered"], page["parts"]) == ([], ["F01"])
    for step in ("look, smell and ask", "open TOP"):
        do(opened, step)
    # Dead has to be proven anew after leaving
    assert "prove dead" in opened("do", "smith", "F01", code=2)
    do(opened, "prove dead", *DEAD)
    assert "quote it, and ask for consent" in opened("do", "smith", "F01", code=2)
    agree("smith", "S04")
    assert "a cause that was not agreed to" in opened("do", "smith", "F01", code=2)
    agree("smith", "S04", "F01")
    page = do(opened, "repair", "F01")
    assert (page["repaired"], page["parts"]) == (["F01"], [])
    assert "repaired F01" in opened("state", "smith")


@pytest.fixture
def closed_tap(run: Any, agree: Any) -> Any:
    """A call named smith: nothing comes in, and the handle of the tap stands at nought. Opening it is agreed to."""
    run("open", WASHER, "--complaint", "NOFILL", "--age", "3", "--name", "smith", *FEW)
    run("reading", "smith", "C14", "0 %", *FEW)
    agree("smith", "S01", minor=0)
    return run


def test_a_whole_call_from_the_complaint_to_the_proof(closed_tap: Any) -> None:
    """A shut tap is opened (trade: free, five minutes) and the flow by the house meter proves it."""
    run = closed_tap
    do(run, "look, smell and ask")
    page = facts(run, "next", "smith")
    assert page["action"]["faults"] == ["S01"]
    # Said before the repair: what must be read after it
    planned = facts(run, "prove", "smith")
    assert planned["planned"] and not planned["proven"] and planned["missing"] == ["no repair is recorded"]
    assert [fault["id"] for fault in planned["repaired"]] == ["S01"]
    do(run, *page["action"]["record"].removeprefix("tundish do CALL ").split())
    before = facts(run, "prove", "smith")
    assert before["verdict"] == "UNPROVEN" and before["left_now"] > before["limit"] and before["settles"]
    assert "nothing was read as the customer uses it since the repair" in before["missing"]
    row = before["checks"][0]
    assert (row["check"], row["as_found"].split()[0]) == ("C04", "0")
    said = run("do", "smith", "end", "proven", *FEW, code=2)
    assert "UNPROVEN" in said and "read C04" in said
    run("reading", "smith", "C04", row["as_left"].split(" (")[0], *FEW)
    after = facts(run, "prove", "smith")
    assert after["verdict"] == "PROVEN" and after["missing"] == [] and after["checks"] == []
    assert after["left_now"] <= after["limit"] < before["left_now"]
    # Proven, but a tracked machine has to be given back
    assert "return to use" in run("do", "smith", "end", "proven", *FEW, code=2)
    do(run, "return to use", "--proof", "one fill watched, taps dry")
    page = json.loads(run("do", "smith", "end", "proven", "--json", *FEW))
    assert page["ended"] == "proven"
    assert "The call has ended: proven." in run("next", "smith", *FEW)
    assert "PROVEN" in run("prove", "smith", *FEW)


def test_the_terminal_shows_a_proof_side_by_side(closed_tap: Any) -> None:
    page = facts(closed_tap, "prove", "smith", "--repaired", "s01")
    text = " ".join(closed_tap("prove", "smith", "--repaired", "s01", *FEW).split())
    for said in (
        "UNPROVEN: if repaired S01",
        "as found (90 %)",
        "as left (90 %)",
        page["advice"],
        page["whole_proof"],
    ):
        assert said in text


def test_a_repair_that_did_not_help_is_not_proven(closed_tap: Any) -> None:
    do(closed_tap, "S01")
    closed_tap("reading", "smith", "C04", "0.1 L/min", *FEW)
    page = facts(closed_tap, "prove", "smith")
    assert not page["proven"] and page["left_now"] > 0.5 > page["left_at_repair"]
    following = facts(closed_tap, "next", "smith")
    assert "S01" not in following["action"]["faults"]


def test_a_reading_that_could_not_have_shown_the_cause_proves_nothing(closed_tap: Any) -> None:
    do(closed_tap, "S01")
    closed_tap("reading", "smith", "W31.smell", "none", *FEW)
    assert not facts(closed_tap, "prove", "smith")["proven"]


def test_nothing_read_with_the_machine_pulled_out_proves_a_repair(closed_tap: Any) -> None:
    do(closed_tap, "look, smell and ask")
    do(closed_tap, "S01")
    do(closed_tap, "pull the machine out")
    closed_tap("reading", "smith", "C04", "8.3 L/min", *FEW)
    page = facts(closed_tap, "prove", "smith")
    assert not page["proven"] and page["left_now"] == pytest.approx(page["left_at_repair"])
    assert any("C04 was read with the machine pulled out" in missing for missing in page["missing"])
    assert any("not as used" in missing for missing in page["missing"])
    do(closed_tap, "push the machine back")
    # Read again as the customer uses it
    closed_tap("reading", "smith", "C04", "8.3 L/min", *FEW)
    again = facts(closed_tap, "prove", "smith")
    assert again["left_now"] <= again["limit"]


def test_an_oven_has_no_tap(run: Any) -> None:
    oven = next(f for f in json.loads(run("families", "--json")) if "oven" in f["family"])
    run("open", oven["family"], "--complaint", next(iter(oven["complaints"])), "--name", "smith", *FEW)
    # A refused first step begins no tracking
    assert "first: pull the plug" in run("do", "smith", "prove", "dead", *DEAD, code=2)
    assert not facts(run, "state", "smith")["tracked"]
    page = do(run, "pull the plug")
    assert page["facets"]["water"] == "none" and page["facets"]["power"] == "isolated"
    assert not {"shut the taps", "open the taps"} & {step["step"] for step in page["open"]}
