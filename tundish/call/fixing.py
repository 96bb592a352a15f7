"""The repair as it is made: its steps and the parts that go in."""

from __future__ import annotations

from dataclasses import dataclass

from tundish.call.bodies import Body, need_text
from tundish.call.errors import EventError
from tundish.call.fields import need_whole


@dataclass(frozen=True)
class StepDone(Body):
    """A step of a repair was made.

    fault : the cause it cures. step : its words or id. caution : what was to be heeded, "" when there is none.
    seen : that the caution was seen before the step; a caution not seen is refused.
    """

    KIND = "step done"
    fault: str
    step: str
    caution: str = ""
    seen: bool = False

    def __post_init__(self) -> None:
        need_text(self.KIND, "fault", self.fault)
        need_text(self.KIND, "step", self.step)
        if self.caution and not self.seen:
            raise EventError(
                seen=f"step {self.step!r} done, its caution not seen",
                allowed="a step whose caution was seen first",
                do=f"heed it, then say so: {self.caution}",
            )


@dataclass(frozen=True)
class PartUsed(Body):
    """A part went into the machine; stock falls by it. part : its key. fault : the cause it cures. count : how many."""

    KIND = "part used"
    part: str
    fault: str
    count: int = 1

    def __post_init__(self) -> None:
        need_text(self.KIND, "part", self.part)
        need_text(self.KIND, "fault", self.fault)
        need_whole(self.KIND, "count", self.count, least=1)
