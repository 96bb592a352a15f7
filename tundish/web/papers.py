"""Routes of a customer's papers: a paper is kept as it was made, and reached by a signed link that ends."""

from __future__ import annotations

from typing import Annotated, Any

import msgspec

from tundish.call.identity import moment
from tundish.web import links
from tundish.web.asked import ANYONE, Asked, Given, Nothing, Reply, Row, Word
from tundish.web.errors import WebError
from tundish.web.find import CALL
from tundish.web.kept import PAPERS, kept

Facts = dict[str, Any]


class Linked(Given, frozen=True):
    """A paper that was made of the call, by its hash, and how many days the link is good for."""

    sha256: Word
    days: Annotated[int, msgspec.Meta(ge=1, le=links.LONGEST)] = 30


def link(asked: Asked) -> Reply:
    """Make a link to a paper of the call for its customer."""
    state, form = asked.desk.state(asked.call), asked.form
    made = {one.body.sha256: one.body.paper for one in state.job.papers}
    # Only what was made of this call: a slip must not send one customer another's paper
    if form.sha256 not in made:
        raise WebError(
            409, f"paper {form.sha256[:70]!r}", ", ".join(made) or "a paper of this call", "make the paper first"
        )
    kept(asked.desk.config.data / PAPERS, form.sha256)
    token, until = links.link(
        asked.desk.vault, state.call, made[form.sha256], sha256=form.sha256, days=form.days
    )
    return Reply({"path": f"/report/{token}", "until": moment(int(until * 1000))}, 201)


def unlinked(asked: Asked) -> Facts:
    """End all links of a call."""
    call = asked.desk.state(asked.call).call
    return {"call": call, "ended": links.unlink(asked.desk.vault, call)}


def report(asked: Asked) -> Reply:
    """The paper that a link leads to."""
    # The same bytes as on the day it was made, whatever was learned since
    sha256 = links.linked(asked.desk.vault, asked.path["token"])
    content = kept(asked.desk.config.data / PAPERS, sha256)
    # A PDF can hold script: the reader of the browser may run none of ours
    headers = {"Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'; sandbox"}
    return Reply(content, media_type="application/pdf", headers=headers)


ROWS = (
    Row("POST", f"{CALL}/link", "makes a link to a paper for the customer", link, form=Linked),
    Row("POST", f"{CALL}/unlink", "ends all links of a call", unlinked, form=Nothing),
    Row("GET", "/report/{token}", "the paper of a link", report, needs=ANYONE),
)
