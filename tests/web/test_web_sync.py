"""Events of phones reach the disk exactly once: repeated, out of order, from several phones and several servers."""

from __future__ import annotations

import random
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from bench_maker import WASHER, Bench, Browser

from tundish.call.identity import call_id, mint, moment
from tundish.store.events import open_events
from tundish.web.sync import AHEAD, LONGEST

Line = dict[str, Any]


def lines(rng: random.Random, device: str, call: str, count: int, *, opens: bool = True) -> list[Line]:
    """A phone's events of a call: the opening, then notes."""
    last, made = None, []
    for number in range(count):
        last = mint(last, 1_795_600_000_000 + number, rng.randbytes(10))
        body: Line = {"text": f"note {number} of {device} <script>"}
        kind = "note added"
        if opens and number == 0:
            kind, body = "call opened", {"family": WASHER, "market": "EU", "complaint": "SLOW"}
        made.append({
            "id": last, "call": call, "at": moment(1_795_600_000_000 + number), "device": device, "kind": kind,
            "schema": 1, "body": body,
        })  # fmt: skip
    return made


def ids(events: Sequence[Line]) -> list[str]:
    return [event["id"] for event in events]


def on_disk(bench: Bench, call: str) -> list[str]:
    with open_events(bench.home.events) as file:
        return [row.id for row in file.rows(call)]


@pytest.mark.parametrize("seed", range(5))
def test_every_event_is_there_once_however_it_comes(bench: Bench, home: Browser, seed: int) -> None:
    rng = random.Random(seed)
    call = call_id(rng.randbytes(10))
    both = lines(rng, "van-one", call, 12) + lines(rng, "van-two", call, 9, opens=False)
    # Batches that overlap, in any order, some sent twice: answers got lost
    batches = [rng.sample(both, rng.randint(1, len(both))) for _ in range(8)] + [both]
    rng.shuffle(batches)
    for batch in batches:
        found = home.tell("/api/sync", {"events": batch})
        assert sorted(found["accepted"]) == sorted(ids(batch)) and found["refused"] == []
    assert on_disk(bench, call) == sorted(ids(both))
    assert sorted(ids(home.get(f"/api/calls/{call}/events").json()["events"])) == sorted(ids(both))


def test_an_event_comes_back_as_it_was_sent(home: Browser) -> None:
    rng = random.Random(7)
    call = call_id(rng.randbytes(10))
    (opening, *notes) = lines(rng, "van-one", call, 4)
    home.tell("/api/sync", {"events": [opening, *notes]})
    found = home.get(f"/api/calls/{call}/events").json()["events"]
    assert found[1:] == notes
    assert found[0]["body"]["family"] == WASHER


def test_a_bad_event_holds_up_no_other(bench: Bench, home: Browser) -> None:
    rng = random.Random(1)
    call = call_id(rng.randbytes(10))
    good = lines(rng, "van-one", call, 3)
    strange = {**lines(rng, "van-one", call, 1)[0], "body": {"family": 7}}
    other = {**good[1], "body": {"text": "another text under the same id"}}
    late = {**good[2], "id": mint(None, int((bench.clock.at + AHEAD + 10) * 1000), rng.randbytes(10))}
    large = {**lines(rng, "van-one", call, 2)[1], "body": {"text": "x" * LONGEST}}
    sent = [strange, *good, 7, "text", [], {}, late, large]
    found = home.tell("/api/sync", {"events": sent})
    assert found["accepted"] == ids(good)
    assert [one["id"] for one in found["refused"]] == [strange["id"], "", "", "", "", late["id"], large["id"]]
    assert all(one["seen"] and one["allowed"] and one["do"] for one in found["refused"])
    again = home.tell("/api/sync", {"events": [other, good[0]]})
    assert again["accepted"] == [good[0]["id"]] and [one["id"] for one in again["refused"]] == [other["id"]]
    assert on_disk(bench, call) == sorted(ids(good))


def test_an_id_that_came_twice_in_one_batch_is_not_told_as_accepted_when_one_was_refused(home: Browser) -> None:
    rng = random.Random(2)
    (first,) = lines(rng, "van-one", call_id(rng.randbytes(10)), 1, opens=False)
    other = {**first, "body": {"text": "another"}}
    found = home.tell("/api/sync", {"events": [first, other]})
    assert found["accepted"] == [] and [one["id"] for one in found["refused"]] == [first["id"]]
    assert home.tell("/api/sync", {"events": [first, first]})["accepted"] == [first["id"]]


def test_a_phone_speaks_for_itself_only(bench: Bench) -> None:
    rng = random.Random(3)
    with bench.phone() as phone:
        device = phone.know()["device"]
        own = lines(rng, device, call_id(rng.randbytes(10)), 2)
        foreign = lines(rng, "van-two", call_id(rng.randbytes(10)), 1)
        found = phone.tell("/api/sync", {"events": [*own, *foreign]})
        assert found["accepted"] == ids(own)
        assert [(one["id"], one["allowed"]) for one in found["refused"]] == [(foreign[0]["id"], device)]


def test_a_clock_wrong_by_a_day_loses_nothing(bench: Bench, home: Browser) -> None:
    rng = random.Random(4)
    call = call_id(rng.randbytes(10))
    ahead = int((bench.clock.at + 86_400) * 1000)
    event = {**lines(rng, "van-one", call, 1)[0], "id": mint(None, ahead, rng.randbytes(10)), "at": moment(ahead)}
    assert home.tell("/api/sync", {"events": [event]})["accepted"] == [event["id"]]
    # What is recorded here later still comes after it
    made = home.tell(f"/api/calls/{call}/record", {"kind": "note added", "body": {"text": "later"}}, 201)
    assert made["event"] > event["id"]


def test_two_phones_and_two_servers_at_once(bench: Bench) -> None:
    rng = random.Random(5)
    call = call_id(rng.randbytes(10))
    both = lines(rng, "van-one", call, 40) + lines(rng, "van-two", call, 40, opens=False)
    # Each server has its own app over the same files, as two processes have
    with bench.browser(bench.home) as one, bench.browser(bench.home) as two:
        batches = [rng.sample(both, 25) for _ in range(12)] + [both[:40], both[40:]]
        with ThreadPoolExecutor(4) as pool:
            answers = list(pool.map(
                lambda job: (one if job[0] % 2 else two).tell("/api/sync", {"events": job[1]}), enumerate(batches)
            ))  # fmt: skip
    assert all(not answer["refused"] for answer in answers)
    assert on_disk(bench, call) == sorted(ids(both))


def test_stock_lines_come_once_too(home: Browser) -> None:
    rng = random.Random(6)
    line = {
        "id": mint(None, 1_795_600_000_000, rng.randbytes(10)), "at": moment(1_795_600_000_000), "device": "van-one",
        "kind": "receive", "part": "any: fill hose", "count": 3, "call": "",
    }  # fmt: skip
    for _ in range(2):
        assert home.tell("/api/sync", {"stock": [line]}) == {"accepted": [line["id"]], "refused": []}
    assert home.get("/api/stock").json()["stock"][0]["on_van"] == 3
    changed = home.tell("/api/sync", {"stock": [{**line, "count": 4}, {**line, "id": "no id"}, 5]})
    assert changed["accepted"] == [] and len(changed["refused"]) == 3


def test_too_many_at_once_is_refused_whole(bench: Bench, home: Browser) -> None:
    rng = random.Random(8)
    call = call_id(rng.randbytes(10))
    home.tell("/api/sync", {"events": lines(rng, "van-one", call, 1001)}, 400)
    assert on_disk(bench, call) == []
