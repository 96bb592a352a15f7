"""The customer, the price and the work: what is refused and with which cure, what is owed, what a merge reports."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest
from call_maker import CALL, OPENING, agreed, consent, event, event_id, quote, reading

from tundish.call import agreed as deal
from tundish.call import asking, bodies, closing, codec, deals, doings, fixing, moves, quotes
from tundish.call.answering import answered
from tundish.call.doings import CallEnded, PartTaken
from tundish.call.errors import EventError, MoveError
from tundish.call.fold import CallState, fold

REPAIR, OTHER = bodies.RepairDone("S04"), bodies.RepairDone("S06")
REFUSAL = deals.ConsentRefused(6_050, "EUR", event_id(1))
HASH = "ab" * 32


def state_of(*later: bodies.Body) -> CallState:
    return fold(event(number, body) for number, body in enumerate((OPENING, *later)))


def recorded(*later: bodies.Body) -> CallState:
    """A call whose every event passes the moves."""
    for number in range(len(later)):
        moves.check(state_of(*later[:number]), later[number])
    return state_of(*later)


def refused(body: bodies.Body, *before: bodies.Body, **known: bool) -> MoveError:
    state = recorded(*before)
    with pytest.raises(MoveError) as refusal:
        moves.check(state, body, **known)
    assert refusal.value.seen and refusal.value.allowed and refusal.value.do
    return refusal.value


def paid(minor: int, currency: str = "EUR") -> deals.Paid:
    return deals.Paid(minor, currency, "card")


def test_a_call_from_phone_to_payment() -> None:
    whole = (
        asking.CustomerNamed(
            "A. Smith", "1234", address="1 Long Lane", may_consent="A. Smith", tenure="owner"
        ),
        asking.QuestionAnswered("Q04", "yes", 12),
        asking.MachineSeen("FL 8 kg", "0042"),
        asking.PhotoKept("hoses", "find", HASH, "image/jpeg", 81_000),
        reading(1e-5),
        quote("S04"),
        consent(6),
        PartTaken("S04"),
        fixing.StepDone("S04", "turn the nut on by hand", "plastic thread", seen=True),
        REPAIR,
        fixing.PartUsed("hose washer", "S04", 2),
        reading(2e-4),
        CallEnded("proven"),
        closing.PaperMade("invoice", HASH),
        paid(2_100),
        paid(10_000),
        closing.FollowUpSet("2025-12-08", "ask how it runs"),
    )
    state = recorded(*whole)
    job = state.job
    assert job.customer and job.customer.body.name == "A. Smith" and job.machine and job.callback is None
    assert [one.body.answer for one in job.answers] == ["yes"] and len(job.photos) == len(job.papers) == 1
    assert job.follow_up and job.follow_up.body.date == "2025-12-08"
    assert (deal.owed(job), deal.paid(job), deal.due(job)) == (12_100, 12_100, 0)
    assert [(one.body.part, one.body.count) for one in job.used] == [("hose washer", 2)]
    assert state.problems == () and job.unagreed == () and job.fitted == ("S04",)


AGREED = agreed(1, "S04")
# What is to be recorded, what came before, and words of the refusal: seen, allowed, cure.
REFUSALS: list[tuple[bodies.Body, tuple[bodies.Body, ...], str, str, str]] = [
    (REPAIR, (), "without a consent", "agreed to a quote that covers it", "quote it, and ask"),
    (REPAIR, (quote("S04"),), "without a consent", "agreed to a quote", "ask for consent to the quote"),
    (REPAIR, (*AGREED, REFUSAL), "without a consent", "agreed to a quote", "ask for consent"),
    (OTHER, AGREED, "a cause that was not agreed to", "work on S04", "quote S06 with the rest"),
    (REPAIR, agreed(1), "not agreed to", "the visit only", "quote S04"),
    (fixing.StepDone("S06", "drain"), AGREED, "step 'drain' for S06", "work on S04", "ask again"),
    (fixing.PartUsed("pump", "S06"), AGREED, "part 'pump' for S06", "work on S04", "ask again"),
    # 121.00 and 15 % of it are 139.15
    (
        REPAIR,
        (*AGREED, quote("S04", gross=13_916, id="Q9")),
        "while the job costs 139.16 EUR",
        "up to 139.15 EUR, for 121.00 EUR agreed",
        "newest quote",
    ),
    (
        consent(1),
        (quote("S04"), quote("S04", gross=20_000, id="Q2")),
        "which was replaced",
        "the newest quote, Q2",
        "ask for consent to that one",
    ),
    (
        consent(1, 12_000),
        (quote("S04"),),
        "a consent to 120.00 EUR",
        "121.00 EUR, as quote Q1 says",
        "0 for warranty",
    ),
    (consent(7), (quote("S04"),), f"quote {event_id(7)}", event_id(1), "quote first"),
    (quote("S06"), (quote("S04"),), "a second quote 'Q1'", "an id of its own", "number this quote"),
    (
        replace(REFUSAL, owed=6_051),
        (quote("S04"),),
        "60.51 EUR owed",
        "up to 60.50 EUR",
        "no more than was said",
    ),
    (replace(REFUSAL, currency="USD"), (quote("S04"),), "60.50 USD", "EUR", "no more"),
    (replace(REFUSAL, quote=event_id(7)), (), "a refusal of quote", "no quote", "name the event"),
    (paid(1), (), "a payment of 0.01 EUR", "nothing", "ask for consent first"),
    (paid(1), (quote("S04"),), "a payment of 0.01 EUR", "nothing", "ask for consent first"),
    (paid(12_101), AGREED, "a payment of 121.01 EUR", "up to 121.00 EUR", "correct the amount"),
    (paid(2_101), (*AGREED, paid(10_000)), "21.01 EUR", "up to 21.00 EUR", "correct the amount"),
    (paid(100, "USD"), AGREED, "1.00 USD", "EUR", "correct the amount"),
    (paid(6_051), (quote("S04"), REFUSAL), "60.51 EUR", "up to 60.50 EUR", "correct"),
    (fixing.PartUsed("valve", "S04"), AGREED, "not in hand", "in hand", "first: take S04"),
    (
        fixing.PartUsed("valve", "S04", 2),
        (*AGREED, PartTaken("S04"), fixing.PartUsed("valve", "S04")),
        "used twice",
        "with its count",
        "correct the count",
    ),
    (closing.CallbackOf(CALL), (), "a callback of itself", "an earlier call", "name the call"),
    (
        asking.QuestionAnswered("Q04", "yes", 9),
        (asking.QuestionAnswered("Q04", "yes"),),
        "already told",
        "another answer",
        "counts once",
    ),
    (
        asking.PhotoKept("hose", "fix", HASH, "image/png", 9),
        (asking.PhotoKept("tap", "find", HASH, "image/png", 9),),
        "kept already",
        "one entry",
        "correct what its entry says",
    ),
]


@pytest.mark.parametrize(
    ("body", "before", "seen", "allowed", "cure"),
    REFUSALS,
    ids=[f"{n}-{row[0].kind}" for n, row in enumerate(REFUSALS)],
)
def test_an_illegal_move_is_refused_with_the_cure(
    body: bodies.Body, before: tuple[bodies.Body, ...], seen: str, allowed: str, cure: str
) -> None:
    error = refused(body, *before)
    assert seen in error.seen and allowed in error.allowed and cure in error.do


def test_every_cure_on_consent_cures() -> None:
    """A price that grew, a new cause and a refusal are all answered by quoting and asking again."""
    grown = (*AGREED, quote("S04", "S06", gross=20_000, id="Q2"))
    refused(REPAIR, *grown)
    recorded(*grown, consent(3, 20_000), REPAIR, OTHER)
    recorded(*AGREED, REFUSAL, consent(1), REPAIR)


def test_warranty_work_is_agreed_to_at_nought() -> None:
    state = recorded(quote("S04", gross=0), consent(1, 0), REPAIR)
    assert deal.owed(state.job) == 0 and state.problems == ()
    assert "nothing" in refused(paid(1), quote("S04", gross=0), consent(1, 0)).allowed


def test_the_bill_may_grow_by_the_shop_s_share_and_no_further() -> None:
    """The share is that of the consent: 0.29 of 100 is 29, although 100 * 0.29 is 28.999... as floats."""
    for share, most in ((0.0, 100), (0.15, 115), (0.29, 129), (1.0, 200)):
        before = (quote("S04", gross=100), consent(1, 100, over_run=share))
        recorded(*before, quote("S04", gross=most, id="Q2"), REPAIR)
        assert "newest quote" in refused(REPAIR, *before, quote("S04", gross=most + 1, id="Q2")).do
    state = recorded(*before, quote("S04", gross=150, id="Q2"))
    assert (deal.over_run(state.job), deal.owed(state.job)) == (50, 150)


def test_owed_is_what_was_agreed_until_more_is_agreed_to() -> None:
    job = recorded(*AGREED, quote("S04", gross=20_000, id="Q2")).job
    assert (deal.over_run(job), deal.owed(job), deal.within(job)) == (7_900, 12_100, False)
    lower = recorded(*AGREED, quote("S04", gross=10_000, id="Q2")).job
    assert (deal.over_run(lower), deal.owed(lower)) == (-2_100, 10_000)
    assert deal.owed(recorded(quote("S04"), REFUSAL).job) == 6_050
    assert deal.currency(recorded(quote("S04")).job) == ""


def test_another_currency_is_never_compared() -> None:
    dollars = replace(quote("S04", id="Q2"), currency="USD")
    assert "ask for consent to the newest quote" in refused(REPAIR, *AGREED, dollars).do


def test_a_consent_that_came_too_late_does_not_stand() -> None:
    """The calls of these tests are of 24 November 2025; a day of grace is given for the time zone."""
    state = recorded(quote("S04", until="2025-11-23"), consent(1), PartTaken("S04"))
    assert deal.consent(state.job) is not None
    late = state_of(quote("S04", until="2025-11-22"), consent(1))
    assert deal.consent(late.job) is None and "held until 2025-11-22" in late.problems[0].seen
    with pytest.raises(MoveError, match="held until 2025-11-22.*quote anew"):
        moves.check(late, REPAIR)


def test_proven_needs_the_odds_on_its_side() -> None:
    before = (*AGREED, REPAIR, reading(1.0))
    moves.check(recorded(*before), CallEnded("proven"), proven=True)
    error = refused(CallEnded("proven"), *before, proven=False)
    assert "UNPROVEN" in error.seen and "unproven, handed over, or refused with what is owed" in error.allowed
    moves.check(recorded(*before), CallEnded("unproven"), proven=False)


CLOSED = (*AGREED, REPAIR, reading(1.0), CallEnded("proven"))
Corrected = bodies.Corrected
# A correction, what came before, and words of its refusal.
CORRECTIONS: list[tuple[Corrected, tuple[bodies.Body, ...], str]] = [
    (Corrected(event_id(2)), (*AGREED, REPAIR), "withdraw that work first"),
    (Corrected(event_id(1)), (*AGREED, REPAIR), "withdraw that work first"),
    (Corrected(event_id(3), OTHER), (*AGREED, REPAIR), "withdraw that work first"),
    (Corrected(event_id(2)), (*AGREED, paid(1)), "withdraw the payment first"),
    (Corrected(event_id(3), paid(12_101)), (*AGREED, paid(1)), "withdraw the payment first"),
    (Corrected(event_id(1), quote("S04", "S06")), AGREED, "quote anew"),
    # What the quote said before is not brought back under the consent to what it says now
    (
        Corrected(event_id(3)),
        (quote("S04"), Corrected(event_id(1), quote("S06")), Corrected(event_id(2)), consent(1)),
        "quote anew",
    ),
    (Corrected(event_id(2), consent(1, 1)), AGREED, "quote what was agreed on"),
    (
        Corrected(event_id(3)),
        (*AGREED, PartTaken("S04"), fixing.PartUsed("valve", "S04")),
        "withdraw the use of the part",
    ),
    (Corrected(event_id(4), reading(2.0)), CLOSED, "undo the ending first"),
    (Corrected(event_id(4)), CLOSED, "undo the ending first"),
    (Corrected(event_id(3)), CLOSED, "undo the ending first"),
    (
        Corrected(event_id(5), CallEnded("proven")),
        (*CLOSED[:-1], CallEnded("unproven")),
        "end it as proven again",
    ),
    # Nor does an ending come back beside another
    (
        Corrected(event_id(2)),
        (CallEnded("stopped"), Corrected(event_id(1)), CallEnded("nothing wrong")),
        "end the call anew",
    ),
    # An ending that was undone does not come back unproven
    (Corrected(event_id(6)), (*CLOSED, Corrected(event_id(5)), reading(9.0)), "end it as proven again"),
    (Corrected(event_id(2)), (quote("S04"), REFUSAL, CallEnded("refused")), "undo the ending first"),
]


@pytest.mark.parametrize(("correction", "before", "cure"), CORRECTIONS, ids=range(len(CORRECTIONS)))
def test_a_correction_does_not_bring_about_what_no_move_could(
    correction: Corrected, before: tuple[bodies.Body, ...], cure: str
) -> None:
    assert cure in refused(correction, *before).do


def test_other_corrections_are_made_as_ever() -> None:
    recorded(*AGREED, REPAIR, Corrected(event_id(3)), Corrected(event_id(2)), Corrected(event_id(1)))
    recorded(*CLOSED, bodies.NoteAdded("dog"), Corrected(event_id(6)))
    recorded(*CLOSED, Corrected(event_id(5)), Corrected(event_id(4), reading(2.0)), CallEnded("unproven"))
    recorded(quote("S04"), Corrected(event_id(1), quote("S04", gross=5_000)), consent(1, 5_000), REPAIR)
    # A call of an earlier version, repaired without any consent, is corrected as before
    old = state_of(REPAIR, reading(1.0), CallEnded("stopped"))
    moves.check(old, Corrected(event_id(2), reading(2.0)))
    assert old.problems == ()


def test_what_two_devices_did_apart_is_reported_when_it_does_not_agree() -> None:
    van = [event(3, REPAIR), event(4, paid(12_100))]
    phone = [
        event(5, deals.ConsentRefused(6_050, "EUR"), device="phone"),
        event(6, paid(6_050), device="phone"),
    ]
    begin = [event(number, body) for number, body in enumerate((OPENING, *AGREED))]
    state = fold([*begin, *van, *phone])
    assert state == fold([*phone, *reversed(van), *begin])
    assert deal.due(state.job) == -12_100
    assert [(p.event, p.seen) for p in state.problems] == [(event_id(6), "121.00 EUR paid more than is owed")]
    unasked = state_of(quote("S04"), REPAIR, fixing.PartUsed("valve", "S06"), paid(5, "USD"))
    seen = [problem.seen for problem in unasked.problems]
    assert seen.count("work on a cause that no consent covered") == 2
    assert "a part used that was not in hand" in seen and "a payment in USD" in seen
    odd = state_of(quote("S04"), consent(1, 1), consent(7))
    assert f"a consent to quote {event_id(7)}, which is not here" in odd.problems[0].seen
    assert (
        "a consent to 0.01 EUR on a quote of 121.00 EUR"
        in state_of(quote("S04"), consent(1, 1)).problems[0].seen
    )


def test_an_answer_may_tell_a_circumstance() -> None:
    yes = asking.QuestionAnswered("Q04", "yes", 5)
    assert answered(state_of(), yes) == (yes,)
    assert answered(state_of(), yes, "new hose") == (yes, bodies.CircumstanceAdded("new hose"))
    no = answered(state_of(), yes, "new hose", holds=False)
    assert no == (yes, doings.CircumstanceDenied("new hose"))
    assert answered(state_of(*no[1:]), yes, "new hose", holds=False) == (yes,)
    # The opening told of a house move
    for holds in (True, False):
        assert answered(state_of(), yes, "house move", holds=holds) == (yes,)


def test_the_later_of_two_words_counts() -> None:
    ask = asking.QuestionAnswered
    state = recorded(
        ask("Q04", "yes"),
        ask("Q07", "no"),
        ask("Q04", "no"),
        asking.CustomerNamed("A"),
        asking.CustomerNamed("B"),
    )
    assert [(one.body.question, one.body.answer) for one in state.job.answers] == [
        ("Q07", "no"),
        ("Q04", "no"),
    ]
    assert state.job.customer is not None and state.job.customer.body.name == "B"


def test_a_quote_goes_in_and_out_as_plain_facts() -> None:
    facts = quotes.facts_of(quote("S04"))
    assert facts["lines"][0]["net"] == 10_000 and "faults" not in facts
    # Lists, as JSON has them
    assert facts == json.loads(json.dumps(facts))
    assert codec.body_from("quoted", {**facts, "id": "Q1", "faults": ["S04"]}) == quote("S04")
    for wrong in ({"gross": 121.0}, {"colour": "red"}, {"lines": [{**facts["lines"][0], "colour": "red"}]}):
        with pytest.raises(EventError, match="saw "):
            codec.body_from("quoted", {**facts, "id": "Q1", "faults": [], **wrong})
    with pytest.raises(EventError, match="saw kind 'sung'"):
        codec.body_from("sung", {})


def test_an_ending_of_the_older_schema_is_read() -> None:
    row = codec.write(event(1, CallEnded("stopped")))
    assert row.schema == 2
    assert codec.read(replace(row, schema=1)) == event(1, CallEnded("stopped"))


def changed(**fields: Any) -> quotes.Quoted:
    return replace(quote("S04"), **fields)


LINE = quote("S04").lines[0]
BAD = [
    (lambda: asking.CustomerNamed(" "), "saw name ' '"),
    (lambda: asking.CustomerNamed("A", mail="a at b"), "saw mail 'a at b'"),
    (lambda: asking.CustomerNamed("A", tenure="king"), "allowed: nothing, owner, tenant, agent"),
    (lambda: asking.MachineSeen(), "saw model or serial ''"),
    (lambda: asking.QuestionAnswered("Q1", "yes", -1), "0 to 1"),
    (lambda: asking.QuestionAnswered("Q1", "yes", float("nan")), "nan"),
    (lambda: asking.PhotoKept("tap", "later", HASH, "image/png", 9), "saw stage 'later'"),
    (lambda: asking.PhotoKept("tap", "find", "AB", "image/png", 9), "saw sha256 'AB'"),
    (lambda: asking.PhotoKept("tap", "find", HASH, "picture", 9), "saw media type 'picture'"),
    (lambda: asking.PhotoKept("tap", "find", HASH, "image/png", 0), "a whole number, 1 or more"),
    (lambda: changed(gross=12_101), "net + tax = gross is not so"),
    (lambda: changed(net=9_999, gross=12_099), "net = sum of the lines is not so"),
    (lambda: changed(tax=2_101, gross=12_101), "tax = sum of the taxes is not so"),
    (lambda: changed(tax=2_100.0), "saw tax 2100.0"),
    (lambda: changed(owed_if_refused=True), "saw owed_if_refused True"),
    (lambda: changed(lines=()), "without lines"),
    (lambda: changed(lines=(quotes.QuoteLine("fee", *list(_values(LINE))[1:]),)), "saw kind of line 'fee'"),
    (lambda: changed(currency="eur"), "saw currency 'eur'"),
    (lambda: changed(valid_until="20251224"), "saw valid_until '20251224'"),
    (lambda: changed(valid_until="2025-02-30"), "saw valid_until '2025-02-30'"),
    (lambda: changed(chance_cures=1.1), "saw chance_cures 1.1"),
    (lambda: deals.ConsentGiven("Q1", "A", 1, "EUR", "spoken"), "saw event id 'Q1'"),
    (lambda: deals.ConsentGiven(event_id(1), "A", 1.0, "EUR", "spoken"), "saw minor 1.0"),  # type: ignore[arg-type]
    (lambda: deals.ConsentGiven(event_id(1), "A", -1, "EUR", "spoken"), "saw minor -1"),
    (lambda: deals.ConsentGiven(event_id(1), "A", 1, "EUR", "nodded"), "signed, written, spoken"),
    (lambda: deals.ConsentGiven(event_id(1), "A", 1, "EUR", "signed"), "with 0 points"),
    (lambda: deals.ConsentGiven(event_id(1), "A", 1, "EUR", "spoken", (((1, 1),),)), "with 1 points"),
    (lambda: deals.ConsentGiven(event_id(1), "A", 1, "EUR", "signed", (((1, 1),), ())), "none empty"),
    (lambda: deals.ConsentGiven(event_id(1), "A", 1, "EUR", "signed", (((3001, 1),),)), "at 3001, 1"),
    (lambda: deals.ConsentGiven(event_id(1), "A", 1, "EUR", "signed", (((1, 1),) * 4097,)), "4097 points"),
    (lambda: deals.ConsentGiven(event_id(1), "A", 1, "EUR", "signed", (((1, 1),),) * 65), "65 strokes"),
    (lambda: deals.ConsentGiven(event_id(1), "A", 1, "EUR", "spoken", over_run=1.5), "saw over_run 1.5"),
    (lambda: deals.ConsentRefused(-1, "EUR"), "saw owed -1"),
    (lambda: deals.ConsentRefused(1, "EUR", "Q1"), "saw event id 'Q1'"),
    (lambda: fixing.StepDone("S04", "fit", "plastic thread"), "its caution not seen"),
    (lambda: fixing.PartUsed("valve", "S04", 0), "saw count 0"),
    (lambda: deals.Paid(0, "EUR", "card"), "a whole number, 1 or more"),
    (lambda: deals.Paid(2**53, "EUR", "card"), "saw minor 9007199254740992"),
    (lambda: closing.FollowUpSet("tomorrow", "ask"), "saw date 'tomorrow'"),
    (lambda: closing.CallbackOf("K7"), "saw call id 'K7'"),
    (lambda: closing.PaperMade("invoice", ""), "saw sha256 ''"),
]  # fmt: skip


def _values(line: quotes.QuoteLine) -> list[Any]:
    return [getattr(line, name) for name in line.__struct_fields__]


@pytest.mark.parametrize(("make", "says"), BAD, ids=[says for _, says in BAD])
def test_a_wrong_body_is_refused_with_all_three_parts(make: Any, says: str) -> None:
    with pytest.raises(EventError) as refusal:
        make()
    assert says in str(refusal.value) and refusal.value.do
