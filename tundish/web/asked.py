"""What a route is: a row of a table, and what the function behind it is given and may answer."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Literal

import msgspec

from tundish.web.desk import Desk
from tundish.web.errors import WebError
from tundish.web.sessions import Who
from tundish.web.work import Make

# Who may: anybody, somebody signed in, or the owner only.
ANYONE, PERSON, OWNER = "anyone", "person", "owner"
# Most bytes of a body, [byte]; our choice: a form, a phone's day of events, a photo.
FORM, DAY, PHOTO = 64_000, 4_000_000, 12_000_000

# Machines to simulate, as `--machines` has them.
FEWEST, MOST = 1_000, 200_000
SESSION, DEVICE = "session", "device"

Word = Annotated[str, msgspec.Meta(max_length=200)]
Text = Annotated[str, msgspec.Meta(max_length=4000)]


class Given(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Fields of a request, a body or what stands behind the question mark; an unknown one is refused."""


class Nothing(Given, frozen=True):
    """A form without fields."""


class View(Given, frozen=True):
    """How facts are shown. units : metric, US, or None for the market's own. machines : simulated, 0 as configured."""

    units: Literal["metric", "US"] | None = None
    machines: Annotated[int, msgspec.Meta(ge=0, le=MOST)] = 0


@dataclass(frozen=True)
class Asked:
    """A request that was let in.

    route : its path in the table. who : None when nobody is signed in. path, query, form : of the kinds the route names.
    place : where it is from. media_type : of a body of bytes. paired : the phone it comes from, signed in or not.
    """

    desk: Desk
    route: str
    who: Who | None
    path: Mapping[str, str]
    query: Any
    form: Any
    place: str
    media_type: str = ""
    paired: str | None = None

    @property
    def call(self) -> str:
        """The call in the path, as it was named."""
        return self.path["call"]

    @property
    def key(self) -> tuple[Hashable, ...]:
        """All of the question itself; what it is asked about must be added."""
        return self.route, *sorted(self.path.items()), msgspec.json.encode(self.query)

    @property
    def device(self) -> str | None:
        """The paired phone that asks; None at this computer."""
        return self.who.device if self.who else None

    @property
    def machines(self) -> int:
        """How many machines to simulate. WebError for so few that the odds would mostly be regrown ones."""
        asked = self.query.machines
        if 0 < asked < FEWEST:
            raise WebError(400, f"{asked} machines", f"{FEWEST} to {MOST}, or 0 for the usual", "ask for more")
        return int(asked or self.desk.config.machines)


@dataclass(frozen=True)
class Reply:
    """An answer that is not just facts with status 200. content : facts, or bytes with their own type."""

    content: Any
    status: int = 200
    media_type: str = "application/json"
    headers: Mapping[str, str] = field(default_factory=dict)
    # Cookies to set, by SESSION or DEVICE; "" takes one away
    cookies: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Later:
    """An answer that takes long. key : all that decides it."""

    key: Hashable
    make: Make


Run = Callable[[Asked], Any]


@dataclass(frozen=True)
class Row:
    """A route.

    path : under the root, with {names}. says : what it answers, for the page of routes. run : gives facts, a Reply or
    Later; it works in a thread of its own. needs : ANYONE, PERSON or OWNER. form : the kind of the JSON body, or bytes.
    limit : most bytes of the body.
    """

    method: str
    path: str
    says: str
    run: Run
    needs: str = PERSON
    form: type[Any] | None = None
    query: type[Given] = View
    limit: int = FORM
