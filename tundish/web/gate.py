"""The gate of every route: who asks, whether they may, whether the page is ours, and then the body, no longer than allowed.

References
----------
OWASP Cross-Site Request Forgery Prevention, https://cheatsheetseries.owasp.org/cheatsheets/Cross-Site_Request_Forgery_Prevention_Cheat_Sheet.html
Fetch Metadata Request Headers, https://www.w3.org/TR/fetch-metadata/
"""

from __future__ import annotations

import asyncio
import hashlib
import hmac
import ipaddress
from dataclasses import replace
from typing import Any, get_origin, get_type_hints

import itsdangerous
import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request

from tundish.web import people, sessions
from tundish.web.asked import ANYONE, DEVICE, OWNER, SESSION, Asked, Later, Reply, Row
from tundish.web.config import LOOPBACK
from tundish.web.desk import Desk
from tundish.web.devices import owner_of
from tundish.web.door import STRANGER
from tundish.web.errors import WebError
from tundish.web.jar import cookie_name
from tundish.web.sessions import Who
from tundish.web.work import Waiting

SAFE = ("GET", "HEAD")
TOKEN = "x-tundish-token"
# A program in between would make everybody look as if they sat at this computer.
FORWARDED = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip", "via")
# Longest time a body may take to arrive, [s]; our choice: a photo over a bad link.
PATIENT = 120.0


async def answered(row: Row, desk: Desk, request: Request) -> Reply:
    """What a route answers to a request. Raises what `errors.refusal` knows, and faults of ours."""
    # From cheap to dear: nothing is read from disk for another site's page, no body for a stranger
    own_page(desk, request)
    who = await run_in_threadpool(asking, desk, request)
    allowed(row, who)
    if request.method not in SAFE:
        own_token(desk, request, who)
    body = await _body(row, request)
    asked = Asked(
        desk=desk,
        route=row.path,
        who=who,
        path=request.path_params,
        query=_query(row, request),
        form=_form(row, request, body),
        place=request.client.host if request.client else "",
        media_type=_media_type(request),
        paired=await run_in_threadpool(_paired, desk, request),
    )
    reply = await _settled(asked, await run_in_threadpool(row.run, asked))
    # A session that is due gets its next cookie, unless the route itself began or ended one
    turned = {SESSION: who.cookie} if who and who.cookie else {}
    return replace(reply, cookies={**turned, **reply.cookies})


async def _settled(asked: Asked, found: Any) -> Reply:
    if isinstance(found, Later):
        found = await asked.desk.work.answer(found.key, found.make, asked.desk.config.patience)
    if isinstance(found, Waiting):
        return Reply(found.facts(), 202)
    return found if isinstance(found, Reply) else Reply(found)


def asking(desk: Desk, request: Request) -> Who | None:
    """Who asks; None when nobody is signed in."""
    local = desk.config.door == LOOPBACK
    # One person, no passwords: this computer is the shop
    if local and _here(request) and people.alone(desk.vault):
        return sessions.AT_HOME
    cookie = request.cookies.get(cookie_name(desk.config))
    return sessions.who(desk.vault, cookie, paired=not local) if cookie else None


def allowed(row: Row, who: Who | None) -> None:
    """WebError when this person may not use the route."""
    if row.needs == ANYONE:
        return
    if who is None:
        raise WebError(401, f"nobody signed in for {row.path}", "somebody of the shop", "sign in, or pair this phone")
    if row.needs == OWNER and not who.is_owner:
        raise WebError(403, f"a {who.role}", "the owner", "ask the owner to do it")


def own_page(desk: Desk, request: Request) -> None:
    """WebError when another site's page asks. Browsers say so in headers that a page cannot set."""
    origin, site = request.headers.get("origin"), request.headers.get("sec-fetch-site")
    ours = [f"{desk.config.scheme}://{host}" for host in desk.config.hosts]
    if (origin is not None and origin not in ours) or site not in (None, "same-origin", "none"):
        raise WebError(403, f"a request from {origin or site}", "requests from our own pages", "open the bench itself")


def own_token(desk: Desk, request: Request, who: Who | None) -> None:
    """WebError when a changing request lacks the token that only our page can read."""
    wanted = sessions.token(desk.vault, who.session if who else STRANGER)
    given = request.headers.get(TOKEN, "")
    if not hmac.compare_digest(given.encode("utf-8", "replace"), wanted.encode()):
        seen = f"a token of {len(given)} letters, not this session's"
        raise WebError(403, seen, "the token of /api/me in X-Tundish-Token", "load the page anew")


def _here(request: Request) -> bool:
    """Whether the request comes straight from this computer."""
    try:
        local = request.client is not None and ipaddress.ip_address(request.client.host).is_loopback
    except ValueError:
        return False
    return local and not any(name in request.headers for name in FORWARDED)


def _paired(desk: Desk, request: Request) -> str | None:
    """The phone that asks, by its own cookie, which outlives the session; None for a forged or revoked one."""
    cookie = request.cookies.get(cookie_name(desk.config, DEVICE), "")
    try:
        device = device_signer(desk).unsign(cookie.encode("utf-8", "replace")).decode()
    except (itsdangerous.BadSignature, UnicodeError):
        return None
    return device if owner_of(desk.vault, device) else None


def device_signer(desk: Desk) -> itsdangerous.Signer:
    """Signs the cookie of a paired phone."""
    return itsdangerous.Signer(
        desk.vault.key, salt="device", key_derivation="hmac", digest_method=hashlib.sha256
    )


async def _body(row: Row, request: Request) -> bytes:
    """The body, counted while it comes in: a length that was announced is only a promise."""
    said, pieces, size = request.headers.get("content-length", "0"), [], 0
    if said.isascii() and said.isdigit() and int(said[:20]) > row.limit:
        raise _too_large(row)
    try:
        async with asyncio.timeout(PATIENT):
            async for piece in request.stream():
                size += len(piece)
                if size > row.limit:
                    raise _too_large(row)
                pieces.append(piece)
    except (TimeoutError, ClientDisconnect) as error:
        raise WebError(408, "a body that did not come in", f"within {PATIENT:.0f} s", "send it again") from error
    return b"".join(pieces)


def _form(row: Row, request: Request, body: bytes) -> Any:
    if row.form is None:
        return None
    if row.form is bytes:
        return body
    if _media_type(request) != "application/json":
        raise WebError(415, f"type {_media_type(request)!r}", "application/json", "send JSON")
    try:
        return msgspec.json.decode(body, type=row.form)
    except RecursionError as error:
        raise WebError(400, f"{len(body)} bytes of JSON, nested too deep", "the fields of docs/web.md", "correct it") from error


def _query(row: Row, request: Request) -> Any:
    """What stands behind the question mark, as the kind that the route names; lists take a name several times."""
    # A name twice where one value is meant is a trick or a slip
    given, kinds = request.query_params, get_type_hints(row.query, include_extras=False)
    found: dict[str, Any] = {}
    for name in given:
        values = given.getlist(name)
        is_list = get_origin(kinds.get(name)) is list
        if len(values) > 1 and not is_list:
            raise WebError(400, f"{name} {len(values)} times", "once", "leave the others out")
        found[name] = values if is_list else values[0]
    return msgspec.convert(found, row.query, strict=False)


def _media_type(request: Request) -> str:
    return request.headers.get("content-type", "").partition(";")[0].strip().lower()[:60]


def _too_large(row: Row) -> WebError:
    return WebError(413, f"more than {row.limit} bytes", f"up to {row.limit} bytes here", "send less at once")
