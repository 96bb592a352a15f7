"""What follows the work: papers, a later look, and the link to an earlier call."""

from __future__ import annotations

from dataclasses import dataclass

from tundish.call.bodies import Body, need_text
from tundish.call.events import check_call
from tundish.call.fields import need_date, need_sha256


@dataclass(frozen=True)
class FollowUpSet(Body):
    """Somebody is to look at this call again. date : the day, ISO 8601. why : in words. The last one counts."""

    KIND = "follow-up set"
    date: str
    why: str

    def __post_init__(self) -> None:
        need_date(self.KIND, "date", self.date)
        need_text(self.KIND, "why", self.why)


@dataclass(frozen=True)
class CallbackOf(Body):
    """This call came back from an earlier one. earlier : its id. why : in words. The last one counts."""

    KIND = "callback of"
    earlier: str
    why: str = ""

    def __post_init__(self) -> None:
        check_call(self.earlier)


@dataclass(frozen=True)
class PaperMade(Body):
    """A paper was made for the customer or the shop. paper : which, such as invoice. sha256 : of the file."""

    KIND = "paper made"
    paper: str
    sha256: str

    def __post_init__(self) -> None:
        need_text(self.KIND, "paper", self.paper)
        need_sha256(self.KIND, self.sha256)
