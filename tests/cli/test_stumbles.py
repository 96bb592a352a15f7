"""Places where a technician would stumble, each held open by what he sees next."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tundish.call.asking import QuestionAnswered
from tundish.call.bodies import CallOpened, NoteAdded
from tundish.call.hazards import hazards
from tundish.store.clock import system
from tundish.store.events import open_events
from tundish.store.folders import events_path
from tundish.store.library import load

Run = Callable[..., str]
WASHER = "front-load washer"
HOSE = "any: fill hose"
FEW = ("--machines", "4000")


class Call:
    """A call on the command line: facts, words, and refusals."""

    def __init__(self, run: Run, family: str, complaint: str, *more: str) -> None:
        self.run = run
        run("open", family, "--complaint", complaint, "--name", "job", *more, *FEW)

    def __call__(self, verb: str, *words: str) -> Any:
        return json.loads(self.run(verb, "job", *words, "--json", *FEW))

    def says(self, verb: str, *words: str) -> str:
        return " ".join(self.run(verb, "job", *words, *FEW).split())

    def refused(self, verb: str, *words: str) -> str:
        return " ".join(self.run(verb, "job", *words, *FEW, code=2).split())

    def stock(self, part: str) -> tuple[int, int]:
        """On van, on order."""
        rows = json.loads(self.run("stock", "--json"))["stock"]
        row = next((row for row in rows if row["part"] == part), {"on_van": 0, "on_order": 0})
        return row["on_van"], row["on_order"]


@pytest.fixture
def slow(run: Run) -> Call:
    """A washer that fills slowly, at six years."""
    return Call(run, WASHER, "SLOW", "--market", "EU", "--age", "6")


def test_the_first_step_on_site_is_to_look_and_it_is_told(slow: Call) -> None:
    action = slow("next")["action"]
    first = next((step["step"] for step in action["steps"]), "")
    # A question by phone asks for no look; whatever is done at the machine does
    assert (
        first == "look, smell and ask"
        or action["kind"] == "question"
        or load(WASHER).checks[action["check"]].state == "NONE"
    )
    there = [o for o in slow("next")["others"] if o["kind"] == "repair"]
    assert there and all(o["steps"][0]["step"] == "look, smell and ask" for o in there)
    # Every step that is told can be recorded, one after the other, and then the repair is lawful but for its price
    for step in there[0]["steps"]:
        slow("do", step["step"], *(("--proof", step["proof"]) if step["who"] != "any" else ()))
    assert all(o["steps"] == [] for o in slow("next")["others"] if o["name"] == there[0]["name"])
    assert "consent" in slow.refused("do", "repair", "/".join(there[0]["faults"]))


def test_power_comes_last_on_the_way_back(slow: Call) -> None:
    for step in (
        "look, smell and ask",
        "pull the plug",
        "shut the taps",
        "let off the pressure",
        "pull the machine out",
    ):
        slow("do", step)
    ways = [[step["step"] for step in option["steps"]] for option in slow("next")["others"]]
    back = [way for way in ways if "energise" in way]
    moving = {"push the machine back", "open the taps"}
    assert back and all(moving.isdisjoint(way[way.index("energise") :]) for way in back)


def test_a_normal_call_can_be_closed_as_proven(slow: Call) -> None:
    """A kinked hose was seen and replaced, and the machine fills in time: what is left beside it makes no complaint."""
    slow("do", "look, smell and ask")
    slow("reading", "C02", "flat spot")
    slow.run("stock", "receive", HOSE, "1")
    slow("quote", "S06", "--give")
    slow("agree", "--name", "A. Smith")
    slow("do", "pull the machine out")
    slow("fix", "S06", "--step", "all", "--heeded", "--part", "1", "--repaired")
    slow("do", "push the machine back")
    before = slow("prove")
    assert not before["proven"] and before["others"] and "it may be " in " ".join(before["missing"])
    slow("reading", "C03", "98 s")
    assert slow("prove")["advice"].startswith("First try it as the customer uses it")
    slow("do", "tested", "works")
    page, proof = slow("odds"), slow("prove")
    assert proof["proven"] and proof["left_now"] < proof["limit"] < proof["mild"] + proof["left_now"]
    assert "too mild to show" in slow.says("prove")
    # The page of odds says the same of the machine, and since when
    assert page["repaired"] == ["S06"] and page["nothing_wrong"] == pytest.approx(
        1 - proof["mild"] - proof["left_now"], abs=0.02
    )
    assert "right after the repair of S06" in slow.says("why", "S04")
    assert slow("next")["action"]["name"] == "close, proven"


def test_a_slow_fill_after_the_repair_proves_nothing(slow: Call) -> None:
    slow("do", "look, smell and ask")
    slow("reading", "C02", "flat spot")
    slow("quote", "S06", "--give")
    slow("agree", "--name", "A. Smith")
    slow("do", "pull the machine out")
    slow("fix", "S06", "--step", "all", "--heeded", "--part", "1", "--bought", "--repaired")
    slow("do", "push the machine back")
    slow("reading", "C03", "215 s")
    proof = slow("prove")
    assert not proof["proven"] and proof["left_now"] > 0.5
    assert {cause["id"] for cause in proof["others"]} & {"S06", "S04", "S02", "S09", "F04"}


def test_the_hose_is_photographed_before_the_machine_is_moved(slow: Call) -> None:
    slow("do", "look, smell and ask")
    said = slow.says("fix", "S06")
    assert said.index("photo: hose route and taps before the machine is moved") < said.index(
        "first: pull the machine out"
    )
    steps = slow("fix", "S06")["repairs"][0]["steps"]
    assert [step["number"] for step in steps if step["before_moving"]] == [1]


def test_a_part_is_ordered_awaited_and_fitted(run: Run) -> None:
    oven = Call(run, "oven and hob", "NOHEAT", "--market", "EU", "--age", "9")
    part = "oven and hob: bake or bottom element"
    for step in ("look, smell and ask", "pull the plug", "pull the machine out"):
        oven("do", step)
    oven("do", "prove dead", "--proof", "0 V on all pairs, tester proved")
    oven("do", "open BACK")
    oven("reading", "OC4.bake", "OL")
    # Dear and not counted: by its price it is not carried
    action = oven("next")["action"]
    assert action["kind"] == "order" and action["faults"] == ["O03"] and action["consent"]
    quote = oven("quote", "O03", "--give")
    assert quote["options"][0]["name"] == "order and return"
    oven("agree", "--name", "A. Smith")
    oven("do", "close BACK")
    oven("do", "order", "O03")
    assert oven.stock(part) == (0, 1)
    # Taken back it is on order no more; ordered again it is awaited, not ordered a third time
    oven("do", "undo")
    assert oven.stock(part) == (0, 0)
    oven("do", "order", "O03")
    action = oven("next")["action"]
    assert (
        action["kind"] == "order"
        and action["record"] == "tundish do CALL take O03"
        and "wait for the part" in action["label"]
    )
    oven("do", "take", "O03")
    assert oven.stock(part) == (1, 0)
    assert oven("quote", "O03")["options"][0]["note"] == "the part is in hand"
    # Cold air is enough for an oven's element: the caution for elements in water is not told
    steps = oven("fix", "O03")["repairs"][0]["steps"]
    assert not any("Dry it burns out" in step["caution"] for step in steps)


def test_whether_a_part_is_here_is_told_by_the_stock(slow: Call) -> None:
    note = slow("quote", "S06")["options"][0]["note"]
    assert "not counted" in note
    slow.run("stock", "receive", HOSE, "1")
    assert slow("quote", "S06")["options"][0]["note"] == "the part is on the van"
    slow.run("stock", "take", HOSE, "1")
    assert slow("quote", "S06")["options"][0]["name"] == "order and return"


def test_what_was_told_by_mistake_is_lifted(run: Run) -> None:
    dryer = Call(run, "dryer", "NOHEAT240", "--market", "NA", "--since", "burnt smell")
    assert dryer("next")["halt"].startswith("Stop: burning")
    dryer("told", "burnt smell", "--no")
    assert dryer("next")["halt"] == ""
    # However often and wherever it was told: in the opening, as an answer, by another device
    dryer("ask", "burnt smell", "yes")
    dryer("told", "burnt smell", "--no")
    page = dryer("next")
    assert page["halt"] == "" and "burnt smell" not in dryer("odds")["told"]
    dryer("told", "burnt smell")
    assert dryer("next")["halt"].startswith("Stop: burning")


@pytest.mark.parametrize(
    ("said", "name"),
    [("there is a burning smell", "burning"), ("smells like gas", "gas"), ("it gave me a shock", "shock")],
)
def test_words_of_danger_stop_the_next_action_too(run: Run, said: str, name: str) -> None:
    dryer = Call(run, "dryer", "NOHEAT240", "--market", "NA")
    dryer("ask", "--said", said)
    page = dryer("next")
    assert page["halt"].startswith(f"Stop: {name}") and page["action"] is None
    assert name in dryer.refused("do", "open", "BACK")
    assert "tundish ask job --unsaid" in dryer.says("next")
    dryer("ask", "--unsaid")
    assert dryer("next")["halt"] == ""


def test_a_note_at_the_machine_is_the_technicians_own(slow: Call) -> None:
    slow("do", "look, smell and ask")
    with open_events(events_path(), create=False) as calls:
        id = calls.resolve("job")
        calls.record(
            id, NoteAdded("scorched smell from the old hose is the glue, no burning smell"), system("van")
        )
    assert slow("next")["halt"] == ""


def test_what_was_said_at_the_opening_or_in_answer_counts(run: Run) -> None:
    dryer = load("dryer")
    with open_events(events_path()) as calls:
        event = calls.open_call(
            CallOpened("dryer", "NA", "NOHEAT240", None, facts="I smell gas"), system("van")
        )
        state = calls_state(calls, event.call)
        assert [hazard.name for hazard in hazards(dryer, state)] == ["gas"]
        # Named once, though it is said twice
        calls.record(
            event.call, QuestionAnswered("Q17.address", "5 Mill Row, it smells like gas"), system("van")
        )
        assert [hazard.name for hazard in hazards(dryer, calls_state(calls, event.call))] == ["gas"]
    run("ask", event.call, "--unsaid", *FEW)
    with open_events(events_path()) as calls:
        assert [h.name for h in hazards(dryer, calls_state(calls, event.call))] == ["gas"]


def calls_state(calls: Any, call: str) -> Any:
    from tundish.call.fold import fold

    return fold(calls.events_of(call))


def test_a_return_recorded_too_early_names_its_cure(slow: Call) -> None:
    slow("do", "look, smell and ask")
    slow("do", "return to use", "--proof", "taken for the wrong call")
    for verb, words in (("reading", ("C03", "98 s")), ("do", ("pull the plug",))):
        said = slow.refused(verb, *words)
        assert "undo the step" in said and '"found use in hand"' in said
    assert "undo the step" in slow("next")["halt"]
    slow("do", "found", "use", "in hand")
    slow("reading", "C03", "98 s")


def test_what_is_no_picture_is_not_kept(slow: Call, tmp_path: Path) -> None:
    file = tmp_path / "page.jpg"
    file.write_bytes(b"<html>not a picture</html>")
    assert "a picture as JPEG, PNG or WebP" in slow.refused("photo", str(file), "--of", "Q18")
    assert slow("photo")["photos"] == []
    file.write_bytes(b"\xff\xd8\xff")
    said = slow.refused("photo", str(file), "--of", "Q18")
    assert "not whole" in said


def test_no_mark_of_a_source_stands_in_what_is_shown(run: Run) -> None:
    fridge = Call(run, "refrigerator-freezer", "FRIDGEWARM", "--market", "EU")
    steps = fridge("fix", "R10")["repairs"][0]["steps"]
    assert any("Read warm it is open" in step["step"] for step in steps)
    assert not any("[S" in step["step"] + step["caution"] for step in steps)


def test_a_machine_is_made_safe_before_it_is_left_to_an_electrician(run: Run) -> None:
    dryer = Call(run, "dryer", "NOHEAT240", "--market", "NA", "--age", "8")
    dryer("do", "look, smell and ask")
    dryer("reading", "C1.legs", "0.1 V")
    action = dryer("next")["action"]
    assert action["kind"] == "hand over" and action["faults"] == ["D01"]
    assert [step["step"] for step in action["steps"]] == ["pull the plug", "put out of use"]
    for step in action["steps"]:
        dryer("do", step["step"], "--proof", step["proof"])
    dryer("do", "hand over", "D01")
    # The visit is owed, and nothing is said of a repair that nobody makes
    quote = dryer("quote", "--visit", "--give")
    assert quote["worth"] is None and quote["worth_unknown"] and quote["gross"] == 11_500
    dryer("agree", "--name", "B. Hill")
    assert dryer("close", "--as", "handed over")["due"] == 11_500
