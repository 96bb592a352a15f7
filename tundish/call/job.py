"""What a call's events say of the customer, the price and the work, apart from readings and the safety state."""

from __future__ import annotations

from dataclasses import dataclass

from tundish.call.asking import CustomerNamed, MachineSeen, PhotoKept, QuestionAnswered
from tundish.call.closing import CallbackOf, FollowUpSet, PaperMade
from tundish.call.deals import ConsentGiven, ConsentRefused, Paid
from tundish.call.fact import Fact
from tundish.call.fixing import PartUsed, StepDone
from tundish.call.quotes import Quoted


@dataclass(frozen=True)
class Job:
    """The customer, the price and the work. Of what replaces another thing the last one stands, by the order of ids.

    customer, machine : as last told. answers : the last to each question. quotes : the last one takes the place of
    those before. word : the customer's last word on a price. work, used : steps made and parts that went in.
    fitted : causes repaired with their part in hand. payments, papers : all. follow_up, callback : as last told.
    unagreed : event ids of repairs, steps and parts used that no consent covered at their place.
    unheld : event ids of parts used that were not in hand.
    """

    customer: Fact[CustomerNamed] | None = None
    machine: Fact[MachineSeen] | None = None
    answers: tuple[Fact[QuestionAnswered], ...] = ()
    photos: tuple[Fact[PhotoKept], ...] = ()
    quotes: tuple[Fact[Quoted], ...] = ()
    word: Fact[ConsentGiven | ConsentRefused] | None = None
    work: tuple[Fact[StepDone], ...] = ()
    used: tuple[Fact[PartUsed], ...] = ()
    fitted: tuple[str, ...] = ()
    payments: tuple[Fact[Paid], ...] = ()
    papers: tuple[Fact[PaperMade], ...] = ()
    follow_up: Fact[FollowUpSet] | None = None
    callback: Fact[CallbackOf] | None = None
    unagreed: tuple[str, ...] = ()
    unheld: tuple[str, ...] = ()
