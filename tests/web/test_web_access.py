"""Who may come in by which door, with every route of the table."""

from __future__ import annotations

import re

import pytest
from bench_maker import HERE, SENTENCE, SHOP, Bench, Browser

from tundish.web import devices, people, sessions
from tundish.web.asked import ANYONE, OWNER, PERSON, Row
from tundish.web.table import PAGES, ROWS
from tundish.web.tries import MOST, WITHIN

CLOSED = [row for row in ROWS if row.needs != ANYONE]


def path_of(row: Row) -> str:
    """A route's path with something in every place."""
    return re.sub(r"\{\w+\}", "abcd", row.path)


def ask(browser: Browser, row: Row, **headers: str) -> int:
    """The status that a request without a body gets."""
    return browser.request(row.method, path_of(row), headers=headers).status_code


@pytest.mark.parametrize("row", CLOSED, ids=lambda row: f"{row.method} {row.path}")
def test_no_route_opens_to_a_stranger(bench: Bench, row: Row) -> None:
    with bench.browser(bench.shop, "192.168.7.99") as stranger:
        assert ask(stranger, row, **{"X-Tundish-Token": stranger.token}) == 401


@pytest.mark.parametrize("row", [r for r in ROWS if r.needs == OWNER], ids=lambda row: f"{row.method} {row.path}")
def test_a_technician_has_no_route_of_the_owner(bench: Bench, row: Row) -> None:
    sam = bench.staffed()
    with bench.phone(sam) as phone:
        assert ask(phone, row, **{"X-Tundish-Token": phone.token}) == 403


def test_the_table_says_who_for_every_route() -> None:
    assert {row.needs for row in ROWS} == {ANYONE, PERSON, OWNER}
    assert {row.path for row in ROWS if row.needs == ANYONE} == {
        "/api/me", "/api/sign-in", "/api/pair", "/report/{token}",
    }  # fmt: skip
    prices = ("/api/settings", "/api/people", "/api/devices", "/api/pairings")
    assert all(row.needs == OWNER for row in ROWS if row.path.startswith(prices))


def test_every_page_has_its_twin() -> None:
    paths = {row.path for row in ROWS}
    stages = {path.rpartition("/")[2] for path in paths if path.startswith("/api/calls/{call}/")}
    assert {"ask", "safe", "find", "agree", "fix", "prove", "close"} <= stages
    own = {"/", "/calls/{call}/{stage}", "/pair", "/sign-in"}
    assert {page for page in PAGES if page not in own and f"/api{page}" not in paths} == set()


def test_one_person_at_this_computer_needs_no_signing_in(home: Browser) -> None:
    assert home.know() | {"token": ""} == {
        "door": "loopback", "signed_in": True, "alone": True, "person": "", "role": "owner", "currency": "", "device": None,
        "token": "",
    }  # fmt: skip


@pytest.mark.parametrize("name", ["Forwarded", "X-Forwarded-For", "X-Real-IP", "Via"])
def test_what_was_passed_on_is_not_from_this_computer(home: Browser, name: str) -> None:
    assert home.get("/api/calls", headers={name: "127.0.0.1"}).status_code == 401


def test_another_computer_is_not_this_one(bench: Bench) -> None:
    with bench.browser(bench.home, "192.168.7.31") as other:
        assert other.get("/api/calls").status_code == 401


def test_with_a_password_this_computer_asks_for_it_too(bench: Bench, home: Browser) -> None:
    bench.staffed()
    assert home.get("/api/calls").status_code == 401
    home.know()
    home.tell("/api/sign-in", {"name": "owner", "password": "three green kettle"}, 401)
    found = home.tell("/api/sign-in", {"name": "Owner", "password": SENTENCE})
    assert (found["person"], found["role"]) == ("owner", "owner")
    assert home.get("/api/calls").status_code == 200


def test_a_code_lets_one_phone_in_once(bench: Bench) -> None:
    code = devices.pairing(bench.vault, "first")
    with bench.browser(bench.shop, "192.168.7.31") as phone, bench.browser(bench.shop, "192.168.7.32") as other:
        found = phone.tell("/api/pair", {"code": code, "label": "Sam's"})
        assert found["device"].startswith("phone-")
        assert phone.get("/api/calls").status_code == 200
        other.tell("/api/pair", {"code": code}, 401)
        assert other.get("/api/calls").status_code == 401


def test_a_code_ends_after_ten_minutes(bench: Bench) -> None:
    code = devices.pairing(bench.vault, "first")
    bench.clock.at += devices.GOOD_FOR + 1
    with bench.browser(bench.shop) as phone:
        phone.tell("/api/pair", {"code": code}, 401)


def test_the_picture_is_made_on_this_computer_only(bench: Bench, home: Browser) -> None:
    found = home.tell("/api/pairings", {}, 201)
    assert found["url"].startswith(f"https://{SHOP}/pair#") and found["svg"].startswith("<svg")
    assert "http" not in found["svg"] and "<script" not in found["svg"]
    with bench.phone() as phone:
        phone.tell("/api/pairings", {}, 409)
        phone.tell("/api/pair", {"code": found["url"].partition("#")[2]})


def test_a_phone_struck_from_the_list_is_out_at_once(bench: Bench, home: Browser) -> None:
    with bench.phone() as phone:
        name = phone.know()["device"]
        home.tell(f"/api/devices/{name}/revoke", {})
        assert phone.get("/api/calls").status_code == 401
        # Its own cookie opens nothing either
        phone.know()
        people.set_password(bench.vault, "first", SENTENCE)
        phone.tell("/api/sign-in", {"name": "owner", "password": SENTENCE}, 403)
    home.know()
    home.tell("/api/sign-in", {"name": "owner", "password": SENTENCE})
    home.know()
    (row,) = home.get("/api/devices").json()
    assert row["device"] == name and row["revoked"] == bench.clock.at


def test_no_password_opens_the_network_without_a_paired_phone(bench: Bench) -> None:
    bench.staffed()
    with bench.browser(bench.shop) as stranger:
        stranger.tell("/api/sign-in", {"name": "owner", "password": SENTENCE}, 403)


def test_a_paired_phone_signs_in_again(bench: Bench) -> None:
    sam = bench.staffed()
    with bench.phone(sam) as phone:
        device = phone.know()["device"]
        phone.tell("/api/sign-out", {})
        phone.know()
        assert phone.get("/api/calls").status_code == 401
        assert phone.tell("/api/sign-in", {"name": "sam", "password": SENTENCE})["device"] == device


def test_a_cookie_used_after_signing_out_is_nothing(bench: Bench) -> None:
    with bench.phone() as phone:
        old = phone.cookies.get("__Host-tundish-session")
        phone.tell("/api/sign-out", {})
        phone.cookies.set("__Host-tundish-session", old or "", domain="192.168.7.20")
        assert phone.get("/api/calls").status_code == 401


def test_a_forged_cookie_is_nothing(bench: Bench) -> None:
    with bench.phone() as phone:
        good = phone.cookies.get("__Host-tundish-session") or ""
        body, _, seal = good.rpartition(".")
        id, _, number = body.rpartition(".")
        # Not the last letter of the seal: its lowest bits mean nothing
        turned = f"{body}.{'A' if seal[0] != 'A' else 'B'}{seal[1:]}"
        forged = [turned, f"{id}.{int(number) + 1}.{seal}", body, "", "é", "." * 9]
        assert sessions.who(bench.vault, good, paired=True) is not None
        assert [sessions.who(bench.vault, one, paired=True) for one in forged] == [None] * 6


def test_a_session_of_this_computer_is_none_on_the_network(bench: Bench) -> None:
    person = people.person_of(bench.vault, "first")
    cookie = sessions.begin(bench.vault, person, None).cookie or ""
    assert sessions.who(bench.vault, cookie, paired=False) is not None
    assert sessions.who(bench.vault, cookie, paired=True) is None


def test_a_session_turns_its_cookie_and_the_old_one_ends(bench: Bench) -> None:
    vault = bench.vault
    first = sessions.begin(vault, people.person_of(vault, "first"), None).cookie or ""
    bench.clock.at += sessions.TURN
    second = sessions.who(vault, first, paired=False).cookie
    assert second and second != first
    # The answer got lost: the old one is good until the new one is used
    assert sessions.who(vault, first, paired=False).cookie == second
    assert sessions.who(vault, second, paired=False).cookie is None
    assert sessions.who(vault, first, paired=False).cookie == second
    bench.clock.at += sessions.GRACE
    assert sessions.who(vault, first, paired=False) is None
    assert sessions.who(vault, second, paired=False) is not None


@pytest.mark.parametrize(("step", "alive"), [(sessions.IDLE - 60, True), (sessions.IDLE, False)])
def test_an_unused_session_ends(bench: Bench, step: float, alive: bool) -> None:
    cookie = sessions.begin(bench.vault, people.person_of(bench.vault, "first"), None).cookie or ""
    bench.clock.at += step
    assert (sessions.who(bench.vault, cookie, paired=False) is not None) == alive


def test_a_session_ends_after_ninety_days_though_used(bench: Bench) -> None:
    cookie = sessions.begin(bench.vault, people.person_of(bench.vault, "first"), None).cookie or ""
    days = 0
    while (who := sessions.who(bench.vault, cookie, paired=False)) is not None:
        cookie, days = who.cookie or cookie, days + 1
        bench.clock.at += 86_400
    assert days == 90


def test_the_page_gets_the_new_cookie(bench: Bench) -> None:
    with bench.phone() as phone:
        first = phone.cookies.get("__Host-tundish-session")
        bench.clock.at += sessions.TURN
        said = phone.get("/api/calls").headers["set-cookie"]
        assert all(word in said for word in ("HttpOnly", "SameSite=strict", "Secure", "Path=/"))
        assert phone.cookies.get("__Host-tundish-session") != first
        assert phone.get("/api/calls").status_code == 200


def test_tries_are_counted_for_name_and_place(bench: Bench, home: Browser) -> None:
    bench.staffed()
    home.know()
    for _ in range(MOST):
        home.tell("/api/sign-in", {"name": "owner", "password": "wrong wrong wrong"}, 401)
    answer = home.post(
        "/api/sign-in", json={"name": "owner", "password": SENTENCE}, headers={"X-Tundish-Token": home.token}
    )
    assert answer.status_code == 429 and 0 < int(answer.headers["retry-after"]) <= WITHIN
    bench.clock.at += WITHIN + 1
    home.tell("/api/sign-in", {"name": "owner", "password": SENTENCE})


def test_codes_cannot_be_guessed_in_a_row(bench: Bench) -> None:
    code = devices.pairing(bench.vault, "first")
    with bench.browser(bench.shop, "192.168.7.66") as guesser:
        for _ in range(MOST):
            guesser.tell("/api/pair", {"code": "guess"}, 401)
        guesser.tell("/api/pair", {"code": code}, 429)


def test_right_tries_are_not_held_against_anybody(bench: Bench, home: Browser) -> None:
    bench.staffed()
    home.know()
    for _ in range(MOST + 2):
        home.tell("/api/sign-in", {"name": "owner", "password": SENTENCE})
        home.know()


def test_nobody_is_locked_out_of_the_shop(bench: Bench, home: Browser) -> None:
    # A second person while the first has no password, and the last owner gone, would both be a shop without a lock or key
    home.tell("/api/people", {"name": "Sam", "role": "technician", "password": SENTENCE}, 409)
    home.tell("/api/people/first/remove", {}, 409)
    home.tell("/api/people/first/password", {"password": "short"}, 400)
    home.tell("/api/people/first/password", {"password": SENTENCE})
    home.know()
    assert home.get("/api/people").status_code == 200
    sam = home.tell("/api/people", {"name": "Sam", "role": "technician", "password": SENTENCE}, 201)["id"]
    home.tell("/api/people", {"name": "sam", "role": "owner"}, 409)
    home.tell("/api/people/first/remove", {}, 409)
    home.tell(f"/api/people/{sam}/remove", {})
    assert [row["name"] for row in home.get("/api/people").json()] == ["owner"]


def test_removing_somebody_ends_all_they_had(bench: Bench) -> None:
    sam = bench.staffed()
    code = devices.pairing(bench.vault, sam)
    with bench.phone(sam) as phone, bench.browser(bench.shop) as other:
        people.remove(bench.vault, sam)
        assert phone.get("/api/calls").status_code == 401
        other.tell("/api/pair", {"code": code}, 401)


def test_a_new_password_ends_the_sessions(bench: Bench) -> None:
    sam = bench.staffed()
    with bench.phone(sam) as phone:
        people.set_password(bench.vault, sam, "four blue kettles")
        assert phone.get("/api/calls").status_code == 401
    assert people.checked(bench.vault, "Sam", SENTENCE) is None
    assert people.checked(bench.vault, "Sam", "four blue kettles") is not None


def test_secrets_lie_apart_and_are_nobody_elses_to_read(bench: Bench) -> None:
    bench.staffed()
    path = bench.vault.path
    assert path.stat().st_mode & 0o077 == 0
    content = path.read_bytes()
    assert SENTENCE.encode() not in content and b"$argon2id$" in content
    code = devices.pairing(bench.vault, "first")
    cookie = sessions.begin(bench.vault, people.person_of(bench.vault, "first"), None).cookie or ""
    assert code.encode() not in path.read_bytes() and cookie.encode() not in path.read_bytes()


@pytest.mark.parametrize("host", [SHOP, "evil.example", "localhost", "127.0.0.1:80", "", HERE + "@evil.example"])
def test_a_name_that_is_not_ours_is_refused(home: Browser, host: str) -> None:
    assert home.get("/api/me", headers={"Host": host}).status_code == 421


@pytest.mark.parametrize("headers", [
    {"Origin": "http://evil.example"}, {"Origin": "null"}, {"Origin": f"https://{HERE}"},
    {"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"},
])  # fmt: skip
def test_another_sites_page_gets_nothing(home: Browser, headers: dict[str, str]) -> None:
    assert home.get("/api/calls", headers=headers).status_code == 403
    assert home.post("/api/sync", json={}, headers={"X-Tundish-Token": home.token, **headers}).status_code == 403
    ours = {"Origin": f"http://{HERE}", "Sec-Fetch-Site": "same-origin"}
    home.tell("/api/sync", {}, **ours)


@pytest.mark.parametrize("row", [r for r in ROWS if r.method != "GET"], ids=lambda row: f"{row.method} {row.path}")
def test_no_change_without_the_token(home: Browser, row: Row) -> None:
    assert ask(home, row) == 403
    assert ask(home, row, **{"X-Tundish-Token": "0" * 64}) == 403


def test_a_token_of_another_session_is_nothing(bench: Bench) -> None:
    with bench.phone() as one, bench.phone(place="192.168.7.32") as two:
        assert one.token != two.token
        two.token = one.token
        two.tell("/api/sync", {}, 403)


def test_answers_keep_browsers_strict(bench: Bench, home: Browser) -> None:
    for path in ("/", "/api/me", "/static/app.js", "/nowhere", "/api/calls/none"):
        headers = home.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy and "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff" and headers["referrer-policy"] == "no-referrer"
        assert headers["cache-control"] == ("no-store" if path.startswith("/api/") else "no-cache")
        assert "server" not in headers and "access-control-allow-origin" not in headers
