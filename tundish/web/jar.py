"""The two cookies: the session, and which phone this is. No script can read them, no other site sends them.

References
----------
RFC 6265bis, Cookies, sections 4.1.3.2 and 5.6.7, https://datatracker.ietf.org/doc/draft-ietf-httpbis-rfc6265bis/
"""

from __future__ import annotations

from starlette.responses import Response

from tundish.web.asked import DEVICE, SESSION
from tundish.web.config import NETWORK, Config
from tundish.web.sessions import WHOLE

# A phone stays paired until it is struck from the list, or for 400 days, the longest a browser keeps a cookie, [s].
PAIRED = 400 * 86_400


def cookie_name(config: Config, what: str = SESSION) -> str:
    """The name of a cookie; over HTTPS the browser itself holds it to this host."""
    return f"__Host-tundish-{what}" if config.door == NETWORK else f"tundish-{what}"


def set_cookie(response: Response, config: Config, what: str, value: str) -> None:
    """Set a cookie, or take it away when the value is empty."""
    response.set_cookie(
        cookie_name(config, what),
        value,
        max_age=(PAIRED if what == DEVICE else int(WHOLE)) if value else 0,
        httponly=True,
        samesite="strict",
        # This computer speaks plain HTTP to itself; there nothing passes over a wire
        secure=config.door == NETWORK,
    )
