"""Routes of coming in: who one is, signing in and out, a phone let in by its code."""

from __future__ import annotations

from typing import Any

from tundish.store.settings import BrokenSettings
from tundish.web import people, sessions
from tundish.web.asked import ANYONE, DEVICE, SESSION, Asked, Given, Reply, Row, Word
from tundish.web.config import NETWORK
from tundish.web.devices import redeem
from tundish.web.errors import WebError
from tundish.web.sessions import Who
from tundish.web.tries import counted

Facts = dict[str, Any]
# What the token of somebody not signed in belongs to.
STRANGER = "stranger"


class Name(Given, frozen=True):
    """A name and its password."""

    name: Word
    password: Word


class Code(Given, frozen=True):
    """A pairing code, and what the phone shall be called in the list."""

    code: Word
    label: Word = ""


def me(asked: Asked) -> Facts:
    """Who asks, and the token that every change must carry."""
    who = asked.who
    return {
        "door": asked.desk.config.door,
        "signed_in": who is not None,
        "alone": who is sessions.AT_HOME,
        "person": who.name if who else "",
        "role": who.role if who else "",
        "currency": _currency(asked) if who else "",
        "device": asked.device,
        "token": sessions.token(asked.desk.vault, who.session if who else STRANGER),
    }


def _currency(asked: Asked) -> str:
    """The shop's currency; empty while it has chosen none. Broken settings are told where they are needed, not at the door."""
    try:
        return asked.desk.own().currency or ""
    except BrokenSettings:
        return ""


def sign_in(asked: Asked) -> Reply:
    """Sign in with a name and a password; over the network from a paired phone only."""
    vault, form = asked.desk.vault, asked.form
    if asked.desk.config.door == NETWORK and asked.paired is None:
        raise WebError(403, f"{asked.place}, a phone that is not paired", "a paired phone", "pair it with a code from the computer")
    # Counted for the place and for the name: neither one guesser nor many get far
    with counted(vault, "signing in", asked.place), counted(vault, f"signing in as {form.name[:60].lower()}", "any"):
        person = people.checked(vault, form.name, form.password)
        if person is None:
            raise WebError(401, f"{form.name!r} with a password that does not fit", "both right", "try again")
    return _come_in(asked, sessions.begin(vault, person, asked.paired))


def sign_out(asked: Asked) -> Reply:
    """Sign out."""
    if asked.who is not None:
        sessions.end(asked.desk.vault, asked.who.session)
    return Reply({"signed_in": False}, cookies={SESSION: ""})


def pair(asked: Asked) -> Reply:
    """Let a phone in by the code that the computer shows."""
    desk = asked.desk
    if desk.config.door != NETWORK:
        raise WebError(409, f"pairing at the {desk.config.door} door", "phones over the network", "open the address on the phone")
    with counted(desk.vault, "pairing", asked.place):
        found = redeem(desk.vault, asked.form.code, asked.form.label)
        if found is None:
            raise WebError(401, f"a code of {len(asked.form.code)} letters, wrong, used or too old", "a fresh code", "show a new one")
    person, device = found
    return _come_in(asked, sessions.begin(desk.vault, person, device), device)


def _come_in(asked: Asked, who: Who, device: str | None = None) -> Reply:
    # Whoever was signed in here before is out: a session is never carried over to somebody else
    if asked.who is not None:
        sessions.end(asked.desk.vault, asked.who.session)
    cookies = {SESSION: who.cookie or ""} | ({DEVICE: device} if device else {})
    # The page goes on at once: it need not ask who it is now
    token = sessions.token(asked.desk.vault, who.session)
    facts = {"signed_in": True, "person": who.name, "role": who.role, "device": who.device, "token": token}
    return Reply(facts, cookies=cookies)


ROWS = (
    Row("GET", "/api/me", "who one is, and the token to send", me, needs=ANYONE),
    Row("POST", "/api/sign-in", "signs in", sign_in, needs=ANYONE, form=Name),
    Row("POST", "/api/sign-out", "signs out", sign_out),
    Row("POST", "/api/pair", "lets a phone in by its code", pair, needs=ANYONE, form=Code),
)
