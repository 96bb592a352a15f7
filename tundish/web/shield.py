"""Around everything: the name we are called by, the headers that keep browsers strict, and a log without secrets.

References
----------
Content Security Policy Level 3, https://www.w3.org/TR/CSP3/ ; OWASP Secure Headers, https://owasp.org/www-project-secure-headers/
"""

from __future__ import annotations

import logging
import time
from dataclasses import dataclass

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from tundish.web.config import Config
from tundish.web.errors import WebError
from tundish.web.replies import error_response

# Where the route's path is put, {names} and all, for the log.
ROUTE = "tundish.route"
# Longest address with its query, [letter]; our choice.
LONGEST = 4000
LOG = logging.getLogger("tundish.web")

POLICY = "; ".join((
    "default-src 'none'", "script-src 'self'", "style-src 'self'", "img-src 'self' blob: data:", "font-src 'self'",
    "connect-src 'self'", "manifest-src 'self'", "worker-src 'self'", "base-uri 'none'", "form-action 'self'",
    "frame-ancestors 'none'",
))  # fmt: skip
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), geolocation=(), microphone=()",
}


@dataclass(frozen=True)
class Shield:
    """An ASGI layer around the app of one door."""

    app: ASGIApp
    config: Config

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or refuse it by its name."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        # There are no web sockets here
        if scope["type"] != "http":
            return
        begun, status = time.monotonic(), [0]

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                status[0] = message["status"]
                _strict(MutableHeaders(scope=message), scope["path"])
            await send(message)

        # Refused outside of the routes: no route may forget it
        refused = self._refused(scope)
        app = error_response(refused) if refused else self.app
        await app(scope, receive, guarded)
        # The pattern, not the path: an address may hold a customer's link
        LOG.info(
            "%s %s %d %.0f ms",
            scope["method"] if scope["method"].isalpha() else "?",
            scope.get(ROUTE, "(no route)"),
            status[0],
            1e3 * (time.monotonic() - begun),
        )

    def _refused(self, scope: Scope) -> WebError | None:
        # A name of somebody else's that leads to this computer would make their page ours (DNS rebinding)
        hosts = Headers(scope=scope).getlist("host")
        if len(hosts) != 1 or hosts[0].lower() not in self.config.hosts:
            return WebError(
                421, "an address that is not ours", ", ".join(self.config.hosts), "open one of these addresses"
            )
        if len(scope.get("raw_path") or b"") + len(scope.get("query_string", b"")) > LONGEST:
            return WebError(414, "a very long address", f"up to {LONGEST} letters", "ask for less at once")
        return None


def _strict(headers: MutableHeaders, path: str) -> None:
    for name, value in HEADERS.items():
        headers.setdefault(name, value)
    # Facts of a customer stay in no cache; the front's files are asked for each time, and mostly not sent again
    headers.setdefault("cache-control", "no-store" if path.startswith(("/api/", "/report/")) else "no-cache")
