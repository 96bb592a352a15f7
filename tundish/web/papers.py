"""Routes of papers: made from the call as it stands, kept as it was made, and reached by a signed link that ends."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import msgspec

from tundish.call.handle import handles
from tundish.call.identity import moment
from tundish.documents.paper_case import Case, case_of
from tundish.documents.paper_kinds import kind_named
from tundish.documents.paper_making import Ordered, make
from tundish.store.counsel import counsel
from tundish.store.pricing import settings_for
from tundish.web import links
from tundish.web.asked import ANYONE, Asked, Given, Nothing, Reply, Row, Word
from tundish.web.desk import description_of, opened
from tundish.web.errors import WebError
from tundish.web.find import CALL
from tundish.web.job import today
from tundish.web.kept import PAPERS, kept

Facts = dict[str, Any]


class Wanted(Given, frozen=True):
    """A paper that is wanted, as `tundish paper` takes it. size : the shop's own if left out."""

    kind: Word
    size: Literal["", "A4", "Letter"] = ""
    number: Word = ""
    due_by: Word = ""


class Linked(Given, frozen=True):
    """A paper that was made of the call, by its hash, and how many days the link is good for."""

    sha256: Word
    days: Annotated[int, msgspec.Meta(ge=1, le=links.LONGEST)] = 30


def made(asked: Asked) -> Reply:
    """Make a paper of the call, keep it, and record it. The answer tells where the PDF is."""
    form: Wanted = asked.form
    # A wrong kind is refused before machines are simulated
    ordered = Ordered(kind_named(form.kind), form.size, form.number, form.due_by)
    case = _case(asked)
    with asked.desk.calls() as file:
        found = make(file, asked.desk.config.data, case, ordered, source=asked.desk.source(asked.device))
    path = CALL.replace("{call}", found.call)
    return Reply({**found.told(), "path": f"{path}/paper/{found.sha256}"}, 201)


def pdf(asked: Asked) -> Reply:
    """A paper of the call as it was made."""
    sha256 = asked.path["sha256"]
    _made_here(asked, sha256, 404)
    return as_pdf(kept(asked.desk.config.data / PAPERS, sha256))


def _case(asked: Asked) -> Case:
    state, own = asked.desk.state(asked.call), asked.desk.own()
    description, market = description_of(state), opened(state).market
    settings = settings_for(own, description, market)
    asking = counsel(state, asked.desk.config.cache, asked.desk.question(asked.machines))
    units = asked.query.units or description.markets[market].units
    with asked.desk.calls() as file:
        handle = handles(file.calls())[state.call]
    return case_of(asking, settings, system=units, day=today(asked), handle=handle)


def link(asked: Asked) -> Reply:
    """Make a link to a paper of the call for its customer."""
    state, form = asked.desk.state(asked.call), asked.form
    name = _made_here(asked, form.sha256, 409)
    kept(asked.desk.config.data / PAPERS, form.sha256)
    token, until = links.link(
        asked.desk.vault, state.call, name, sha256=form.sha256, days=form.days
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
    return as_pdf(kept(asked.desk.config.data / PAPERS, sha256))


def _made_here(asked: Asked, sha256: str, status: int) -> str:
    """The name of a paper that was made of the call. WebError for another one."""
    made = {one.body.sha256: one.body.paper for one in asked.desk.state(asked.call).job.papers}
    # Only what was made of this call: a slip must not send one customer another's paper
    if sha256 not in made:
        raise WebError(status, f"paper {sha256[:70]!r}", ", ".join(made) or "a paper of this call", "make the paper first")
    return made[sha256]


def as_pdf(content: bytes) -> Reply:
    """A PDF as an answer."""
    # A PDF can hold script: the reader of the browser may run none of ours
    headers = {"Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'; sandbox"}
    return Reply(content, media_type="application/pdf", headers=headers)


ROWS = (
    Row("POST", f"{CALL}/paper", "makes a paper of the call, keeps and records it", made, form=Wanted),
    Row("GET", f"{CALL}/paper/{{sha256}}", "a paper of the call as PDF", pdf),
    Row("POST", f"{CALL}/link", "makes a link to a paper for the customer", link, form=Linked),
    Row("POST", f"{CALL}/unlink", "ends all links of a call", unlinked, form=Nothing),
    Row("GET", "/report/{token}", "the paper of a link", report, needs=ANYONE),
)
