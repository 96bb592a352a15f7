"""Visits and minutes of a call, from the moments of its events."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from tundish.call.fold import CallState

# A pause longer than this is another visit; our choice, half a working day.
PAUSE = 240.0


def on_site(state: CallState) -> tuple[float, ...]:
    """Minutes of each visit, from the first thing done at the machine to the last, [min].

    Done at the machine are readings, safety steps, repairs, steps and parts used; the ending closes the last visit when it comes
    without a pause. Events typed in later, at home, would count as a visit: the clock is all there is.
    """
    moments = sorted(_moments(state))
    if not moments:
        return ()
    ended = _when(state.ended.at) if state.ended else moments[-1]
    # An ending typed in the evening is no work on site
    if 0 <= _minutes(moments[-1], ended) <= PAUSE:
        moments.append(ended)
    lengths, first = [], moments[0]
    for before, after in zip(moments, [*moments[1:], None], strict=True):
        if after is None or _minutes(before, after) > PAUSE:
            lengths.append(_minutes(first, before))
            first = after or before
    return tuple(lengths)


def repair_minutes(state: CallState) -> tuple[tuple[str, float | None], ...]:
    """Each repair with its minutes: since the last reading, consent or safety step before it; None after a pause, [min]."""
    starts = sorted(
        _when(fact.at)
        for facts in (*state.spells, state.steps, (state.job.word,), state.repairs)
        for fact in facts
        if fact is not None
    )
    found: list[tuple[str, float | None]] = []
    for repair in state.repairs:
        done = _when(repair.at)
        before = [moment for moment in starts if moment < done]
        took = _minutes(before[-1], done) if before else None
        # Over a pause nobody worked
        found.append((repair.body.fault, took if took is not None and took <= PAUSE else None))
    return tuple(found)


def _moments(state: CallState) -> Iterator[datetime]:
    # A photo, an answer or a quote may come from anywhere
    for facts in (*state.spells, state.steps, state.repairs, state.job.work, state.job.used):
        for fact in facts:
            yield _when(fact.at)


def _when(at: str) -> datetime:
    return datetime.fromisoformat(at)


def _minutes(first: datetime, last: datetime) -> float:
    return (last - first).total_seconds() / 60
