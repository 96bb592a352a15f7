"""Random requests over the whole table of routes: whatever is sent, no fault of ours comes out.

TUNDISH_FUZZ=10000 in the environment asks for so many; about a thousand is the usual run.
"""

from __future__ import annotations

import json
import os
import random
import re
import string
from collections import Counter
from dataclasses import replace
from typing import Any, get_args, get_origin, get_type_hints

import msgspec
import pytest
from bench_maker import HERE, SENTENCE, WASHER, Bench, Browser

from tundish.call.kinds import KINDS
from tundish.web.asked import Row
from tundish.web.table import PAGES, ROWS

NUMBER = int(os.environ.get("TUNDISH_FUZZ", "1000"))
WORDS = (
    "smith", "first", "S04", "C05.cold", "C04", "SLOW", WASHER, "dryer", "EU", "NA", "house move", "43 psi", "3 L/min", "OL",
    "pull the plug", "end proven", "undo", "take S04", "order S04", "found power on", "any: fill hose", "labour", "12.50",
    "currency", "owner", SENTENCE, "2026-12-01", "0" * 64, "", " ", "\x00", "../..", "%00", "é漢\u202e", "<script>", "'; --",
    "-1", "1e309", "NaN", "null", "[]", "{}", "a" * 190, "a" * 5000, "99999999999999999999",
)  # fmt: skip
VALUES = (None, True, 0, -1, 1.5, 10**30, [], {}, [[]], "x", "", {"a": 1}, 1e-320)
TYPES = ("application/json", "image/jpeg", "text/plain", "", "application/json; charset=latin-1", "é")
FINE = {200, 201, 202, 400, 401, 403, 404, 405, 408, 409, 410, 413, 414, 415, 421, 422, 429}


def word(rng: random.Random) -> str:
    if rng.random() < 0.85:
        return rng.choice(WORDS)
    return "".join(rng.choice(string.printable + "äß\u2028😀") for _ in range(rng.randrange(30)))


def fitting(rng: random.Random, kind: Any) -> Any:
    """A value that mostly fits a field's kind."""
    if rng.random() < 0.06:
        return rng.choice(VALUES)
    origin, inner = get_origin(kind), get_args(kind)
    if origin is list:
        return [fitting(rng, inner[0]) for _ in range(rng.randrange(4))]
    if kind is bool:
        return rng.random() < 0.5
    if kind in (int, float):
        return rng.choice((0, 1, 3, 9, 1000, -1, 10**12, 2.5))
    if kind is msgspec.Raw:
        return event(rng)
    if origin is dict:
        return {name: fitting(rng, str) for name in rng.sample(["text", "name", "minor", "why", "check", "by"], 3)}
    if origin is not None and inner and isinstance(inner[0], str):
        return rng.choice(inner)
    return None if type(None) in inner and rng.random() < 0.5 else word(rng)


def event(rng: random.Random) -> Any:
    id = f"{rng.getrandbits(48):012x}7{rng.getrandbits(12):03x}8{rng.getrandbits(60):015x}"
    return {
        "id": re.sub(r"(.{8})(.{4})(.{4})(.{4})(.{12})", r"\1-\2-\3-\4-\5", id) if rng.random() < 0.9 else word(rng),
        "call": rng.choice(("k7f3q0000000test", word(rng))), "at": rng.choice(("2026-11-25T09:30:00.000Z", word(rng))),
        "device": rng.choice(("van", word(rng))), "kind": rng.choice((*KINDS, word(rng))), "schema": rng.choice((1, 1, 2, 0, -1, "1")),
        "body": rng.choice(({}, {"text": word(rng)}, {"name": word(rng)}, rng.choice(VALUES))),
    }  # fmt: skip


def form(rng: random.Random, row: Row) -> bytes:
    """A body: mostly of the kind that the route takes, sometimes cut, sometimes nonsense."""
    chance = rng.random()
    if chance < 0.05:
        return rng.randbytes(rng.randrange(200))
    if chance < 0.08:
        return b"[" * 5000
    if row.form is None or row.form is bytes:
        return rng.choice((b"", b"{}", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n" + rng.randbytes(40)))
    kinds = get_type_hints(row.form)
    fields = {name: fitting(rng, kind) for name, kind in kinds.items() if rng.random() < 0.85}
    fields |= {word(rng): 1} if rng.random() < 0.04 else {}
    text = json.dumps(fields).encode()
    return text[: rng.randrange(len(text) + 1)] if rng.random() < 0.05 else text


def query(rng: random.Random, row: Row) -> list[tuple[str, str]]:
    """What stands behind the question mark. Seldom many machines and no exact plans, which only take time."""
    found = []
    for name, kind in get_type_hints(row.query).items():
        if rng.random() < 0.35 and name not in ("machines", "exact"):
            found.append((name, str(fitting(rng, get_args(kind)[0] if get_origin(kind) is list else kind))))
    if rng.random() < 0.1:
        found.append((rng.choice(("machines", word(rng))), rng.choice(("-1", "1", "abc", "1e6", "1200"))))
    return found


def path(rng: random.Random, pattern: str) -> str:
    """A path with something in the place of every name, put in as it is or escaped."""

    def put(match: re.Match[str]) -> str:
        some = "smith" if match[1] == "call" and rng.random() < 0.7 else word(rng)
        some = {"cause": "S04", "family": WASHER}.get(match[1], some) if rng.random() < 0.5 else some
        return "".join(f"%{byte:02X}" for byte in some.encode()) or "-"

    return re.sub(r"\{(\w+)(?::path)?\}", put, pattern)


def one(rng: random.Random, browser: Browser) -> tuple[str, int]:
    """One request, told by its route, and the status that came back."""
    row = rng.choice(ROWS)
    # Ending who one is would leave the rest to strangers
    method = row.method if rng.random() < 0.95 else rng.choice(("GET", "POST", "PUT", "DELETE", "PATCH", "HEAD", "OPTIONS"))
    address = path(rng, row.path if rng.random() < 0.95 else rng.choice((*PAGES, "/static/{name:path}", "/{x}/{y}")))
    headers = {"Content-Type": rng.choice(TYPES).encode() if rng.random() < 0.1 else b"application/json"}
    headers |= {"X-Tundish-Token": browser.token.encode()} if rng.random() < 0.95 else {"Cookie": b"tundish-session=\xff.1.x"}
    if rng.random() < 0.03:
        headers |= rng.choice(({"Host": b"evil"}, {"Content-Length": b"-5"}, {"Origin": b"\xe9"}, {"Accept-Encoding": b"gzip"}))
    content = form(rng, row) if method != "GET" else None
    answer = browser.request(method, address, params=query(rng, row), headers=headers, content=content)
    return f"{method} {row.path} {content!r:.300} {answer.text[:300]}", answer.status_code


@pytest.fixture
def patient(bench: Bench, home: Browser, call: str, monkeypatch: pytest.MonkeyPatch) -> Any:
    """A browser whose questions are answered at once, so that faults of the work come out too."""
    # A password for everybody else, and tries without end, would only make later requests strangers'
    monkeypatch.setattr("tundish.web.people.set_password", lambda *words: None)
    with bench.browser(replace(bench.home, patience=60.0, machines=1000)) as browser:
        yield browser


def test_no_request_makes_it_stumble(patient: Browser) -> None:
    rng, seen, bad = random.Random(20_261_125), Counter[int](), []
    for _ in range(NUMBER):
        said, status = one(rng, patient)
        seen[status] += 1
        if status not in FINE:
            bad.append((said, status))
    print(dict(seen))
    assert bad == []
    # Not all of it was turned away at the gate
    assert seen[200] + seen[201] > NUMBER / 12 and seen[400] > NUMBER / 20
    assert patient.get("/api/me", headers={"Host": HERE}).json()["alone"]
