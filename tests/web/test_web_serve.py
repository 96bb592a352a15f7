"""The real program: two doors, two processes on one file, killed in the middle, nothing lost and nothing doubled."""

from __future__ import annotations

import os
import random
import re
import signal
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx2
import pytest
from bench_maker import WASHER

from tundish.call.identity import call_id, mint, moment
from tundish.web.serve import Wish, network_hosts, qr_text

BEGIN = 1_795_600_000_000


def free_port() -> int:
    """A port of which the next one is free too."""
    for _ in range(50):
        with socket.create_server(("127.0.0.1", 0)) as one:
            port = int(one.getsockname()[1])
        try:
            with socket.create_server(("127.0.0.1", port)), socket.create_server(("127.0.0.1", port + 1)):
                return port
        except OSError:
            continue
    pytest.skip("no two free ports in a row")


@contextmanager
def serving(folder: Path, port: int, *words: str) -> Iterator[tuple[subprocess.Popen[str], list[str]]]:
    """The program serving, and what it said before it was ready."""
    environ = {**os.environ, "TUNDISH_DATA": str(folder / "data"), "TUNDISH_CACHE": str(folder / "cache")}
    command = [sys.executable, "-u", "-m", "tundish.cli.main", "serve", "--port", str(port), *words]
    said = folder / f"said-{port}.txt"
    with said.open("w", encoding="utf-8") as out:
        program = subprocess.Popen(command, env=environ, stdout=out, stderr=subprocess.STDOUT, text=True)
    try:
        for _ in range(300):
            if program.poll() is not None or answers(port):
                break
            time.sleep(0.1)
        yield program, said.read_text(encoding="utf-8").splitlines()
    finally:
        program.kill()
        program.wait(timeout=20)


def answers(port: int) -> bool:
    try:
        return httpx2.get(f"http://127.0.0.1:{port}/api/me", timeout=5).status_code == 200
    except httpx2.HTTPError:
        return False


def sent(port: int, events: list[dict[str, Any]]) -> list[str]:
    """Sync as a page does; the ids that were accepted."""
    base = f"http://127.0.0.1:{port}"
    token = httpx2.get(f"{base}/api/me", timeout=20).json()["token"]
    answer = httpx2.post(f"{base}/api/sync", json={"events": events}, headers={"X-Tundish-Token": token}, timeout=30)
    return list(answer.json()["accepted"])


def day(rng: random.Random, call: str, count: int) -> list[dict[str, Any]]:
    """A phone's events: an opening and notes."""
    opening = {"family": WASHER, "market": "EU", "complaint": "SLOW"}
    last, made = None, []
    for number in range(count):
        last = mint(last, BEGIN + number, rng.randbytes(10))
        kind, body = ("note added", {"text": f"note {number}"}) if number else ("call opened", opening)
        made.append({
            "id": last, "call": call, "at": moment(BEGIN + number), "device": "van", "kind": kind, "schema": 1, "body": body,
        })  # fmt: skip
    return made


def test_killed_in_the_middle_every_accepted_event_is_there_once(tmp_path: Path) -> None:
    rng, port = random.Random(1), free_port()
    call = call_id(rng.randbytes(10))
    events, accepted = day(rng, call, 60), []
    with serving(tmp_path, port) as (program, said):
        assert any(f"http://127.0.0.1:{port}/" in line for line in said)
        accepted = sent(port, events[:20])
        os.kill(program.pid, signal.SIGKILL)
    with serving(tmp_path, port), serving(tmp_path, port + 1):
        # The answer of the first may have been lost: all of it is sent again, and to two programs
        for batch in (events[:40], events[10:], events):
            accepted += sent(port, batch) + sent(port + 1, batch)
        found = httpx2.get(f"http://127.0.0.1:{port}/api/calls/{call}/events", timeout=20).json()["events"]
    assert set(accepted) == {event["id"] for event in events}
    assert [event["id"] for event in found] == [event["id"] for event in events]


def test_phones_come_in_by_https_and_a_code(tmp_path: Path) -> None:
    port = free_port()
    with serving(tmp_path, port, "--shop-network", "--address", "127.0.0.1") as (_, said):
        base, shown = f"https://127.0.0.1:{port + 1}", "\n".join(said)
        root = httpx2.get(f"http://127.0.0.1:{port}/certificate.crt", timeout=20).content
        trusting = ssl.create_default_context(cadata=ssl.DER_cert_to_PEM_cert(root))
        code = re.search(rf"{base}/pair#(\S+)", shown)
        assert code is not None and "█" in shown
        with httpx2.Client(base_url=base, verify=trusting, timeout=20) as phone:
            assert phone.get("/api/calls").status_code == 401
            token = phone.get("/api/me").json()["token"]
            found = phone.post("/api/pair", json={"code": code[1]}, headers={"X-Tundish-Token": token})
            assert found.status_code == 200 and phone.get("/api/calls").json() == []
        with pytest.raises(httpx2.HTTPError):
            httpx2.get(f"{base}/api/me", timeout=20)
        log = (tmp_path / f"said-{port}.txt").read_text(encoding="utf-8").removeprefix(shown)
        assert "POST /api/pair 200" in log and code[1] not in log


def test_a_taken_port_is_said(tmp_path: Path) -> None:
    port = free_port()
    with socket.create_server(("127.0.0.1", port)), serving(tmp_path, port) as (program, _):
        assert program.wait(timeout=30) == 2
        assert "--port" in (tmp_path / f"said-{port}.txt").read_text(encoding="utf-8")


def test_stopped_it_ends(tmp_path: Path) -> None:
    port = free_port()
    with serving(tmp_path, port, "--shop-network", "--address", "127.0.0.1") as (program, _):
        program.send_signal(signal.SIGINT)
        program.wait(timeout=20)


def test_the_network_is_known_by_address_and_local_name() -> None:
    hosts = network_hosts(Wish(port=8380, address="192.168.7.20"))
    assert hosts[0] == "192.168.7.20:8381" and hosts[1].endswith(".local:8381")


def test_the_terminal_shows_the_picture() -> None:
    import segno

    text, matrix = "https://192.168.7.20:8381/pair#abc", None
    matrix = [list(row) for row in segno.make_qr(text, error="l").matrix_iter(border=2)]
    lines = qr_text(text).splitlines()
    dark = {"█": (0, 0), "▀": (0, 1), "▄": (1, 0), " ": (1, 1)}
    seen = [[dark[mark][half] for mark in line] for line in lines for half in (0, 1)]
    assert seen[: len(matrix)] == [[int(bool(one)) for one in row] for row in matrix]
