"""Facts of advice: how each kind of action is told and written down, and what is said where our work ends."""

from __future__ import annotations

import json

import pytest

from tundish.documents.advice import LIVE, proposal_facts
from tundish.documents.handover import PLAIN, UNTIL_THEN, handover_words
from tundish.plan.advise import Lead, Proposal
from tundish.plan.demands import domain_of
from tundish.plan.lawful_checks import OTHERS
from tundish.plan.shop import shop_for
from tundish.plan.states import STEPS
from tundish.store.library import load

WASHER = load("front-load washer")
SHOP = shop_for(WASHER.markets["EU"])


def proposal(name: str, kind: str, *, check: str = "", faults: tuple[str, ...] = ()) -> Proposal:
    """An invented proposal."""
    plug = next(step for step in STEPS if step.name == "pull the plug")
    leads = (Lead("works", 0.9, "", ()), Lead("still fails", 0.1, "C02", (("S06", 0.5),)))
    return Proposal(
        name=name, kind=kind, check=check, faults=faults, cost=20.0, minutes=10.0, promise=80.0, saves=5.0,
        steps=(plug,), cautions=("Mind the edge.",), leads=leads, why="it is likely.",
    )  # fmt: skip


RECORDS = [
    (proposal("W01.cold", "check", check="W01.cold"), "tundish reading CALL W01.cold VALUE"),
    (proposal("hard water", "question"), 'tundish told CALL "hard water", with --no for a no'),
    (
        proposal("repair F01/F02 new inlet valve", "repair", faults=("F01", "F02")),
        "tundish do CALL repair F01/F02",
    ),
    (
        proposal("hand over S24 electric supply", "hand over", faults=("S24",)),
        "tundish do CALL hand over S24",
    ),
    (proposal("order part for F01, return", "order"), "tundish do CALL order part for F01, return"),
    (proposal("advise another machine", "end"), "tundish do CALL advise another machine"),
]


@pytest.mark.parametrize(("said", "record"), RECORDS, ids=[said.kind + said.name[:8] for said, _ in RECORDS])
def test_each_kind_tells_how_it_is_written_down(said: Proposal, record: str) -> None:
    page = proposal_facts(WASHER, said, SHOP)
    json.dumps(page, allow_nan=False)
    assert page["record"] == record
    assert page["currency"] == "EUR" and "Mind the edge." in page["cautions"]
    assert (
        page["steps"][0]["step"] == "pull the plug" and page["steps"][0]["proof"] == "plug out and in sight"
    )
    assert [lead["then"] for lead in page["leads"]] == ["the call ends", f"C02 {WASHER.checks['C02'].title}"]


def test_a_check_is_told_with_its_place_instrument_and_step() -> None:
    page = proposal_facts(WASHER, proposal("C09", "check", check="C09"), SHOP)
    assert page["instrument"] == "bucket and watch" and page["where"] and page["how"]
    assert page["label"] == f"C09 {WASHER.checks['C09'].title}"


def test_a_live_check_is_told_with_the_reason_and_its_conditions() -> None:
    live = proposal_facts(WASHER, proposal("W02.cold", "check", check="W02.cold"), SHOP)
    assert live["live"] and live["cautions"][0] == LIVE and "no isolated check saves as much" in LIVE
    dead = proposal_facts(WASHER, proposal("W01.cold", "check", check="W01.cold"), SHOP)
    assert not dead["live"] and LIVE not in dead["cautions"]


def test_where_our_work_ends_it_is_said_who_takes_over_and_what_until_then() -> None:
    page = proposal_facts(WASHER, proposal("hand over S24", "hand over", faults=("S24",)), SHOP)
    words = page["cautions"][0]
    assert words.startswith("Stop.") and words.endswith("A licensed electrician takes over.")
    plumber = proposal_facts(WASHER, proposal("hand over S09", "hand over", faults=("S09",)), SHOP)
    assert plumber["cautions"][0] == PLAIN


def test_every_foreign_domain_has_its_words() -> None:
    assert set(UNTIL_THEN) == set(OTHERS)
    for domain, who in OTHERS.items():
        words = handover_words(domain)
        assert words.startswith("Stop") and who[1:] in words
    assert "touch no switch" in handover_words("gas train")
    assert handover_words("") == PLAIN


def test_the_electric_supply_of_the_house_is_not_ours_but_the_cord_is() -> None:
    owners = {fault.id: domain_of(fault) for fault in WASHER.faults.values()}
    assert owners["S24"] == owners["S25"] == "house wiring"
    assert {id for id, domain in owners.items() if domain} == {"S24", "S25"}
