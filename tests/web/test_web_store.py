"""The pages follow the calls to where they were moved, and say so when the place cannot be reached."""

from __future__ import annotations

import os
import random
import secrets
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
from bench_maker import Bench, Browser
from test_web_sync import ids, lines

from tundish.call.identity import call_id
from tundish.store.events import open_events
from tundish.store.moving import move
from tundish.store.places import Place, Server, keep_place


@pytest.fixture(params=["file", pytest.param("server", marks=pytest.mark.engines)])
def target(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Place]:
    if request.param == "file":
        yield tmp_path / "elsewhere" / "shop.sqlite"
        return
    psycopg, address = pytest.importorskip("psycopg"), os.environ.get("TUNDISH_POSTGRESQL")
    if not address:
        pytest.skip("TUNDISH_POSTGRESQL names no server; see docs/store.md")
    from tundish.store.connecting import forget

    if (word := urlsplit(address).password) is not None:
        monkeypatch.setenv("PGPASSWORD", unquote(word))
        address = address.replace(f":{word}@", "@", 1)
    name = f"tundish_test_{secrets.token_hex(6)}"
    with psycopg.connect(address, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name} TEMPLATE template0 ENCODING 'UTF8'")
        yield Server(f"{address.rpartition('/')[0]}/{name}")
        forget()
        server.execute(f"DROP DATABASE {name} WITH (FORCE)")


def test_phones_hand_in_before_and_after_a_move(bench: Bench, home: Browser, target: Place) -> None:
    """Two phones at once, each event in two of the batches: every one is there once, in the new place."""
    rng = random.Random(3)
    call = call_id(rng.randbytes(10))
    both = lines(rng, "van-one", call, 20) + lines(rng, "van-two", call, 20, opens=False)
    home.tell("/api/sync", {"events": both[:5]})
    before = bench.home.events.read_bytes()
    move(bench.home.data, target, environ={})
    batches = [both[start : start + 10] for start in range(0, 40, 5)]
    with ThreadPoolExecutor(4) as phones:
        answers = list(phones.map(lambda batch: home.tell("/api/sync", {"events": batch}), batches))
    assert all(answer["refused"] == [] for answer in answers)
    with open_events(target, create=False) as file:
        assert [row.id for row in file.rows(call)] == sorted(ids(both))
    assert sorted(ids(home.get(f"/api/calls/{call}/events").json()["events"])) == sorted(ids(both))
    assert bench.home.events.read_bytes() == before


def test_a_server_that_cannot_be_reached_is_said_and_may_be_asked_again(bench: Bench, home: Browser) -> None:
    pytest.importorskip("psycopg")
    keep_place(bench.home.data, Server("postgresql://ann@127.0.0.1:1/shop"))
    answer = home.get("/api/calls")
    assert answer.status_code == 503
    assert "check the address, the network and the server" in answer.json()["error"]["do"]
