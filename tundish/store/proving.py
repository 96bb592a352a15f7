"""Whether a call's repair is proven: the verdict on its last repair, or on one that is planned."""

from __future__ import annotations

from tundish.call.errors import MoveError
from tundish.call.readings import stages
from tundish.diagnosis.explain import chance_of
from tundish.store.counsel import Counsel, after_repair
from tundish.store.verdict import Repaired, Verdict, judge

__all__ = ["Verdict", "check_proven", "proving"]


def proving(asked: Counsel, faults: tuple[str, ...] = ()) -> Verdict:
    """The verdict on a call's last repair; before any repair, on the repair of `faults` or of the likeliest cause."""
    last, place = stages(asked.state)[-1], asked.found.place
    if last.repaired:
        repair = Repaired(last.repaired, asked.left, asked.start)
    else:
        cured = faults or _likeliest(asked)
        start = after_repair(place, asked.start, cured)
        repair = Repaired(cured, start, start, planned=True)
    return judge(place, asked.state, repair, asked.shop, asked.standing)


def check_proven(asked: Counsel) -> None:
    """MoveError while a call may not be ended as proven; it names what is missing and what to read."""
    found = proving(asked)
    if not found.proven:
        checks = ", ".join(found.wanted or found.further.checks)
        raise MoveError(
            seen=f"the call ended as proven, UNPROVEN: {'; '.join(found.missing)}",
            allowed=f"a chance of at most {asked.shop.limit:.0%} that a cause is left, by readings as used",
            do=f"read {checks}, or end it in another way" if checks else _cure(asked),
        )


def _cure(asked: Counsel) -> str:
    if asked.state.repairs and asked.state.works is None:
        return "test it as the customer uses it and record: tested works, or tested still fails"
    return "hand over, or end it in another way"


def _likeliest(asked: Counsel) -> tuple[str, ...]:
    faults = asked.found.description.faults
    found = max(faults, key=lambda fault: chance_of(asked.found.now.odds, fault))
    return (found,)
