"""What is learned before and on arrival: the customer, the machine's plate, answers, photos."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tundish.call.bodies import Body, need_text
from tundish.call.errors import EventError
from tundish.call.fields import need_one_of, need_sha256, need_share, need_whole

TENURES = ("", "owner", "tenant", "agent")
# Where in the call a photo was taken; the words of the design for the stages.
STAGES = ("ask", "make safe", "find", "agree", "fix", "prove", "close")
MEDIA_TYPE = re.compile(r"[a-z]+/[a-z0-9][a-z0-9.+-]*")
# Longest time on one question, [s]: a working day. Our choice; it only catches slips.
LONGEST = 8 * 3600.0


@dataclass(frozen=True)
class CustomerNamed(Body):
    """Who asked for help, and how to reach the machine.

    access : stairs, parking, dog, keys. may_consent : who may say yes to a price. tenure : owner, tenant, agent or "".
    """

    KIND = "customer named"
    name: str
    phone: str = ""
    mail: str = ""
    address: str = ""
    access: str = ""
    may_consent: str = ""
    tenure: str = ""

    def __post_init__(self) -> None:
        need_text(self.KIND, "name", self.name)
        need_one_of(self.KIND, "tenure", self.tenure, TENURES)
        if self.mail and not re.fullmatch(r"\S+@\S+", self.mail):
            raise EventError(
                seen=f"mail {self.mail!r} in a {self.KIND!r} event",
                allowed="a mail address, or none",
                do="write it as name@place",
            )


@dataclass(frozen=True)
class MachineSeen(Body):
    """The plate as it reads. model, serial : the technician's own words; one of them may be missing."""

    KIND = "machine seen"
    model: str = ""
    serial: str = ""

    def __post_init__(self) -> None:
        need_text(self.KIND, "model or serial", self.model + self.serial)


@dataclass(frozen=True)
class QuestionAnswered(Body):
    """A question was asked. question : its id. answer : the word given. seconds : spent on it, [s]."""

    KIND = "question answered"
    question: str
    answer: str
    seconds: float = 0.0

    def __post_init__(self) -> None:
        need_text(self.KIND, "question", self.question)
        need_text(self.KIND, "answer", self.answer)
        # As a share of the longest time, which also refuses what is no number
        need_share(self.KIND, "seconds, in working days,", self.seconds / LONGEST)
        object.__setattr__(self, "seconds", float(self.seconds))


@dataclass(frozen=True)
class PhotoKept(Body):
    """A photo was kept; its content lies elsewhere, under its hash.

    subject : what it shows. stage : one of STAGES. sha256, media_type, bytes : of the content.
    orientation : how the camera was held, as Exif counts it, 1 (upright) to 8; older events have none.
    """

    KIND = "photo kept"
    subject: str
    stage: str
    sha256: str
    media_type: str
    bytes: int
    orientation: int = 1

    def __post_init__(self) -> None:
        need_text(self.KIND, "subject", self.subject)
        need_one_of(self.KIND, "stage", self.stage, STAGES)
        need_sha256(self.KIND, self.sha256)
        need_whole(self.KIND, "bytes", self.bytes, least=1)
        need_whole(self.KIND, "orientation", self.orientation, least=1)
        if self.orientation > 8:
            raise EventError(
                seen=f"orientation {self.orientation!r} in a {self.KIND!r} event",
                allowed="1 to 8, as Exif counts it",
                do="leave it out for a picture that stands upright",
            )
        if not MEDIA_TYPE.fullmatch(self.media_type):
            raise EventError(
                seen=f"media type {self.media_type!r} in a {self.KIND!r} event",
                allowed="a type such as image/jpeg",
                do="give the type of the content",
            )
