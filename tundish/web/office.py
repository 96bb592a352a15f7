"""Routes of the owner: people, their passwords, phones, and the code that lets a phone in."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, Literal

import segno

from tundish.web import devices, people
from tundish.web.asked import OWNER, SESSION, Asked, Given, Nothing, Reply, Row, Word
from tundish.web.config import LOOPBACK
from tundish.web.errors import WebError
from tundish.web.sessions import AT_HOME, begin, end

Facts = dict[str, Any]


class NewPerson(Given, frozen=True):
    """Somebody new. Without a password they come in by a paired phone only."""

    name: Word
    role: Literal["owner", "technician"]
    password: Word = ""


class NewPassword(Given, frozen=True):
    """A new password."""

    password: Word


class ForWhom(Given, frozen=True):
    """Whose phone is to be paired."""

    person: Word = "first"


def everybody(asked: Asked) -> list[Facts]:
    """All people of the shop."""
    return [asdict(person) for person in people.everybody(asked.desk.vault)]


def add(asked: Asked) -> Reply:
    """Add somebody."""
    form: NewPerson = asked.form
    return Reply(asdict(people.add(asked.desk.vault, form.name, form.role, form.password)), 201)


def password(asked: Asked) -> Reply:
    """Give somebody a new password. Whoever gives it to themselves stays in, with a new session."""
    vault, id = asked.desk.vault, asked.path["person"]
    people.set_password(vault, id, asked.form.password)
    who = asked.who
    if who is None or who.person != id:
        return Reply({"changed": True})
    if who is not AT_HOME:
        end(vault, who.session)
    fresh = begin(vault, people.person_of(vault, id), who.device)
    return Reply({"changed": True}, cookies={SESSION: fresh.cookie or ""})


def remove(asked: Asked) -> Facts:
    """Take somebody off the list."""
    people.remove(asked.desk.vault, asked.path["person"])
    return {"removed": True}


def phones(asked: Asked) -> list[Facts]:
    """All paired phones."""
    return devices.devices_facts(asked.desk.vault)


def revoke(asked: Asked) -> Facts:
    """Strike a phone from the list."""
    if not devices.revoke(asked.desk.vault, asked.path["device"]):
        raise WebError(404, f"phone {asked.path['device']!r}", "one that /api/devices lists", "look there")
    return {"revoked": True}


def pairing(asked: Asked) -> Reply:
    """A code for a phone as a picture, on this computer only."""
    desk = asked.desk
    # A session that was stolen over the network must not let further phones in
    if desk.config.door != LOOPBACK or not desk.config.network:
        seen = f"pairing at the {desk.config.door} door, network {desk.config.network!r}"
        raise WebError(409, seen, "this computer, serving the shop's network", "start it so, and do it at the computer")
    url = pairing_url(desk.config.network, devices.pairing(desk.vault, asked.form.person))
    picture = segno.make_qr(url, error="m").svg_inline(scale=6, light="#fff", dark="#000")
    return Reply({"url": url, "svg": picture, "good_for_s": devices.GOOD_FOR}, 201)


def pairing_url(network: str, code: str) -> str:
    """What the picture says. Behind #, so that no browser sends the code in an address and no log can hold it."""
    return f"{network}/pair#{code}"


PEOPLE = "/api/people/{person}"
ROWS = (
    Row("GET", "/api/people", "people of the shop", everybody, needs=OWNER),
    Row("POST", "/api/people", "adds somebody", add, needs=OWNER, form=NewPerson),
    Row("POST", f"{PEOPLE}/password", "gives a new password", password, needs=OWNER, form=NewPassword),
    Row("POST", f"{PEOPLE}/remove", "takes somebody off the list", remove, needs=OWNER, form=Nothing),
    Row("GET", "/api/devices", "paired phones", phones, needs=OWNER),
    Row("POST", "/api/devices/{device}/revoke", "strikes a phone", revoke, needs=OWNER, form=Nothing),
    Row("POST", "/api/pairings", "a code that lets a phone in", pairing, needs=OWNER, form=ForWhom),
)
