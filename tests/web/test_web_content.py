"""What is typed comes back as data; files of the front and only these; a log without secrets; faults told without words."""

from __future__ import annotations

import gzip
import json
import logging
from typing import Any

import pytest
from bench_maker import HERE, SENTENCE, WASHER, Bench, Browser
from starlette.testclient import TestClient

from tundish.call.kinds import KINDS
from tundish.web import devices, front, links
from tundish.web.app import make_app
from tundish.web.kept import PAPERS, keep
from tundish.web.replies import error_response

SCRIPT = "<script>alert('1')</script>\"><img src=x onerror=alert(2)>{{7*7}}${7*7}\u2028é漢"


@pytest.mark.parametrize(("kind", "body"), [
    ("note added", {"text": SCRIPT}),
    ("customer named", {
        "name": SCRIPT, "phone": SCRIPT, "mail": "a@<script>", "address": SCRIPT, "access": SCRIPT, "may_consent": SCRIPT,
    }),
    ("machine seen", {"model": SCRIPT, "serial": SCRIPT}),
    ("question answered", {"question": SCRIPT, "answer": SCRIPT}),
    ("photo kept", {"subject": SCRIPT, "stage": "find", "sha256": "0" * 64, "media_type": "image/jpeg", "bytes": 4}),
    ("handed over", {"to": SCRIPT, "why": SCRIPT}),
    ("follow-up set", {"date": "2026-12-01", "why": SCRIPT}),
    ("state found", {"facet": "power", "value": "on", "why": SCRIPT}),
])  # fmt: skip
def test_script_in_a_field_comes_back_as_data(home: Browser, call: str, kind: str, body: dict[str, Any]) -> None:
    assert kind in KINDS
    home.tell(f"/api/calls/{call}/record", {"kind": kind, "body": body}, 201)
    answer = home.get(f"/api/calls/{call}/events")
    assert answer.headers["content-type"] == "application/json"
    found = [event["body"] for event in answer.json()["events"] if event["kind"] == kind][-1]
    assert {name: found[name] for name in body} == body


def test_script_in_a_name_or_a_refusal_comes_back_as_data(home: Browser) -> None:
    name = "<b onclick=alert(1)>x</b>"
    opening = {"family": WASHER, "complaint": "SLOW", "name": name, "facts": SCRIPT}
    home.tell("/api/calls", opening, 201)
    assert home.get("/api/calls").json()[0]["name"] == name
    refused = home.post("/api/calls", json={**opening, "family": SCRIPT}, headers={"X-Tundish-Token": home.token})
    assert refused.status_code == 400 and refused.headers["content-type"] == "application/json"
    assert SCRIPT in refused.json()["error"]["seen"] and set(refused.json()["error"]) == {"seen", "allowed", "do"}


def test_every_text_of_a_reading_is_data(home: Browser, call: str) -> None:
    home.tell(f"/api/calls/{call}/reading", {"check": "C05.cold", "typed": "43 psi", "note": SCRIPT})
    assert home.get(f"/api/calls/{call}/events").json()["events"][-1]["body"]["note"] == SCRIPT
    for check, typed in ((SCRIPT, "43 psi"), ("C05.cold", SCRIPT)):
        refused = home.tell(f"/api/calls/{call}/reading", {"check": check, "typed": typed}, 400)
        assert "script>" in refused["error"]["seen"]


@pytest.mark.parametrize("name", [
    "..%2fdata%2faccess.sqlite", "../app.js", "%2e%2e/app.js", "..%5capp.js", "/etc/passwd", ".hidden.js", "app.py", "",
    "sub%2f..%2fapp.js", "app.js%00.png", "APP.JS", "app.js/",
])  # fmt: skip
def test_only_files_of_the_front_are_served(bench: Bench, home: Browser, name: str) -> None:
    (bench.static / ".hidden.js").write_text("secret", encoding="utf-8")
    (bench.static / "app.py").write_text("secret", encoding="utf-8")
    answer = home.get(f"/static/{name}")
    assert answer.status_code == 404 and "secret" not in answer.text


def test_a_link_out_of_the_front_is_not_followed(bench: Bench, home: Browser) -> None:
    (bench.folder / "calls.js").write_text("secret", encoding="utf-8")
    (bench.static / "out.js").symlink_to(bench.folder / "calls.js")
    assert home.get("/static/out.js").status_code == 404


def test_files_come_packed_or_not_at_all_when_unchanged(bench: Bench, home: Browser) -> None:
    text = (bench.static / "app.js").read_bytes()
    answer = home.get("/static/app.js", headers={"Accept-Encoding": "gzip"})
    assert answer.content == text and answer.headers["content-encoding"] == "gzip"
    assert answer.headers["content-type"] == "text/javascript; charset=utf-8"
    assert home.get("/static/app.js", headers={"Accept-Encoding": "identity"}).content == text
    again = home.get("/static/app.js", headers={"If-None-Match": answer.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert gzip.decompress(front._packed(text)) == text


def test_the_worker_changes_whenever_a_file_does(bench: Bench, home: Browser) -> None:
    def worker() -> str:
        return home.get("/service-worker.js").text

    first = worker()
    assert json.loads(first.splitlines()[0].partition(" = ")[2].rstrip(";")) == ["/", "/static/app.js"]
    assert first.endswith("// worker\n") and worker() == first
    (bench.static / "app.js").write_text("export const one = 2;\n", encoding="utf-8")
    assert worker() != first


def test_every_page_is_the_shell(home: Browser) -> None:
    pages = ("/", "/calls", "/calls/abc/find", "/van", "/handbook/dryer", "/settings", "/pair", "/sign-in")
    assert {home.get(page).text for page in pages} == {"<!doctype html><title>bench</title>"}


def test_a_front_that_is_missing_is_said(bench: Bench, home: Browser) -> None:
    (bench.static / "index.html").unlink()
    assert home.get("/").status_code == 503


def test_the_log_holds_no_secret(bench: Bench, home: Browser, caplog: pytest.LogCaptureFixture) -> None:
    sha256 = keep(bench.folder / PAPERS, b"%PDF-1.7 of a customer")
    token, _ = links.link(bench.vault, "k7f3q0000000test", "report", sha256=sha256, days=7)
    code = devices.pairing(bench.vault, "first")
    with caplog.at_level(logging.DEBUG):
        bench.staffed()
        home.know()
        home.tell("/api/sign-in", {"name": "owner", "password": SENTENCE})
        session = home.cookies.get("tundish-session")
        assert home.get(f"/report/{token}").content.startswith(b"%PDF")
        with bench.browser(bench.shop) as phone:
            phone.tell("/api/pair", {"code": code})
        home.get("/api/calls/smiths-in-mill-lane")
        home.get(f"/nowhere/{token}", headers={"Host": HERE})
    ours = [record.getMessage() for record in caplog.records if record.name.startswith("tundish")]
    assert any(line.startswith("GET /report/{token} 200") for line in ours)
    text = "\n".join(ours)
    assert session and all(
        secret not in text for secret in (SENTENCE, token, code, session, sha256, home.token, "smiths", "owner")
    )


def test_a_fault_of_ours_is_told_by_a_number(caplog: pytest.LogCaptureFixture) -> None:
    name = "customer".join(("the ", "'s name"))
    try:
        raise RuntimeError(name)
    except RuntimeError as error:
        answer = error_response(error)
    told = json.loads(answer.body)["error"]["seen"]
    assert answer.status_code == 500 and "customer" not in told + caplog.text
    assert told.rpartition(" ")[2] in caplog.text and "test_web_content.py" in caplog.text


def test_a_fault_in_a_route_shows_nothing(bench: Bench, home: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*words: object) -> None:
        raise KeyError("the customer's name")

    monkeypatch.setattr("tundish.documents.facts.calls_facts", broken)
    answer = home.get("/api/calls")
    assert answer.status_code == 500 and "customer" not in answer.text


def test_a_disk_that_refuses_is_said_and_not_hidden(bench: Bench, home: Browser, call: str) -> None:
    bench.home.events.write_bytes(b"no database at all" * 100)
    answer = home.get("/api/calls")
    assert answer.status_code == 503 and "broken" in answer.json()["error"]["do"]


def test_a_link_leads_to_one_paper_until_its_end(bench: Bench, home: Browser) -> None:
    sha256 = keep(bench.folder / PAPERS, b"%PDF-1.7 first")
    keep(bench.folder / PAPERS, b"%PDF-1.7 second")
    token, until = links.link(bench.vault, "k7f3q0000000test", "report", sha256=sha256, days=7)
    with TestClient(make_app(bench.shop), "https://192.168.7.20:8381", client=("192.168.7.90", 1)) as customer:
        for _ in range(2):
            answer = customer.get(f"/report/{token}", headers={"Sec-Fetch-Site": "none"})
            assert answer.content == b"%PDF-1.7 first" and answer.headers["content-type"] == "application/pdf"
        assert "sandbox" in answer.headers["content-security-policy"]
        forged = [token[:-1], token + "A", token[::-1], "x", "..%2f" + sha256, sha256]
        assert [customer.get(f"/report/{one}").status_code for one in forged] == [404] * 6
        bench.clock.at = until - 1
        assert customer.get(f"/report/{token}").status_code == 200
        bench.clock.at = until
        assert customer.get(f"/report/{token}").status_code == 410


def test_a_link_can_be_ended_before(bench: Bench, home: Browser, call: str) -> None:
    sha256 = keep(bench.folder / PAPERS, b"%PDF-1.7")
    token, _ = links.link(bench.vault, call, "report", sha256=sha256, days=7)
    assert home.tell(f"/api/calls/{call}/unlink", {})["ended"] == 1
    assert home.get(f"/report/{token}").status_code == 410


def test_a_customer_gets_papers_of_their_own_call_only(bench: Bench, home: Browser, call: str) -> None:
    sha256, other = keep(bench.folder / PAPERS, b"%PDF-1.7 mine"), keep(bench.folder / PAPERS, b"%PDF-1.7 another's")
    body = {"paper": "report", "sha256": sha256}
    home.tell(f"/api/calls/{call}/record", {"kind": "paper made", "body": body}, 201)
    found = home.tell(f"/api/calls/{call}/link", {"sha256": sha256, "days": 7}, 201)
    assert home.get(found["path"]).content == b"%PDF-1.7 mine" and found["until"].endswith("Z")
    home.tell(f"/api/calls/{call}/link", {"sha256": other}, 409)
    home.tell(f"/api/calls/{call}/link", {"sha256": sha256, "days": 4000}, 400)
