"""The app of one door, made from its configuration; nothing is kept outside of it."""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from tundish.web import front
from tundish.web.asked import DEVICE, Row
from tundish.web.config import Config
from tundish.web.desk import Desk
from tundish.web.errors import WebError
from tundish.web.gate import answered, device_signer
from tundish.web.jar import set_cookie
from tundish.web.replies import error_response, response
from tundish.web.shield import ROUTE, Shield
from tundish.web.table import PAGES, ROWS
from tundish.web.vault import open_vault
from tundish.web.work import Work

Endpoint = Callable[[Request], Awaitable[Response]]


def make_app(config: Config) -> Starlette:
    """The app of one door. StoreError when the file of secrets cannot be used."""
    # Two doors over one folder share the files and nothing else
    desk = Desk(config, open_vault(config.data, config.now), Work(config.hands))

    @asynccontextmanager
    async def life(app: Starlette) -> AsyncIterator[None]:
        # Work that is running ends by itself; what waits is dropped, and asked for anew after the start
        yield
        desk.work.close()

    return Starlette(
        routes=[*(_route(row, desk) for row in ROWS), *_front(config)],
        middleware=[Middleware(Shield, config=config)],
        exception_handlers={HTTPException: _unknown},
        lifespan=life,
    )


def _route(row: Row, desk: Desk) -> Route:
    async def endpoint(request: Request) -> Response:
        try:
            reply = await answered(row, desk, request)
            made = response(reply)
            for what, value in reply.cookies.items():
                set_cookie(made, desk.config, what, _signed(desk, what, value))
        except Exception as error:  # noqa: BLE001 - told to the page, the unforeseen logged
            return error_response(error)
        return made

    return Route(row.path, _named(row.path, endpoint), methods=[row.method])


def _signed(desk: Desk, what: str, value: str) -> str:
    return device_signer(desk).sign(value).decode() if what == DEVICE and value else value


def _front(config: Config) -> list[BaseRoute]:
    folder = config.static
    pages = [_plain(path, lambda request: front.shell(folder, request)) for path in PAGES]
    return [
        *pages,
        _plain("/certificate.crt", lambda request: front.root(config.root)),
        _plain("/service-worker.js", lambda request: front.worker(folder, request)),
        _plain("/static/{name:path}", lambda request: front.static(folder, request.path_params["name"], request)),
    ]


def _plain(path: str, make: Callable[[Request], Response]) -> Route:
    async def endpoint(request: Request) -> Response:
        try:
            return make(request)
        except (WebError, OSError) as error:
            return error_response(error)

    return Route(path, _named(path, endpoint), methods=["GET"])


def _named(path: str, endpoint: Endpoint) -> Endpoint:
    async def named(request: Request) -> Response:
        # For the log, which must not hold what stands in the names' places
        request.scope[ROUTE] = path
        return await endpoint(request)

    return named


async def _unknown(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 500
    # The path itself is not repeated: it may hold a link
    what = {404: "an address that leads nowhere", 405: f"method {request.method}"}
    refused = WebError(status, what.get(status, "a bad request"), "the routes of docs/web.md", "check the address")
    return error_response(refused)
