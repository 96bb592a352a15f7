"""Answers as HTTP: facts as JSON, errors as JSON, and what nobody foresaw without a word about what was in it."""

from __future__ import annotations

import json
import logging
import secrets
import traceback

from starlette.responses import Response

from tundish.web.asked import Reply
from tundish.web.errors import WebError, refusal, told

JSON = "application/json"
LOG = logging.getLogger("tundish.web")


def response(reply: Reply) -> Response:
    """An answer with its facts or bytes; cookies are set elsewhere."""
    content = reply.content if isinstance(reply.content, bytes) else encoded(reply.content)
    return Response(content, reply.status, dict(reply.headers), reply.media_type)


def encoded(facts: object) -> bytes:
    """Facts as JSON text. ValueError for a number that JSON has no word for."""
    return json.dumps(facts, ensure_ascii=False, allow_nan=False).encode()


def error_response(error: Exception) -> Response:
    """What is said of an error; a fault of ours gets a number, under which the log says where it was."""
    known = refusal(error)
    if known is None:
        known = _fault(error)
    return Response(encoded(told(known)), known.status, known.headers, JSON)


def _fault(error: Exception) -> WebError:
    number = secrets.token_hex(4)
    # Where, not what: an error's words may repeat what somebody typed
    frames = "".join(traceback.format_tb(error.__traceback__))
    LOG.error("fault %s: %s\n%s", number, type(error).__name__, frames)
    return WebError(500, f"a fault of ours, number {number}", "none", "try again; nothing was half-written")
