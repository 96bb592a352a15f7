"""What ends all advice: words of danger in what was said, and answers that mean one."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from tundish.appliance.records import Description, StopWord
from tundish.call.heard import heard_in


def stops(
    description: Description,
    *,
    said: Iterable[str] = (),
    told: Iterable[str] = (),
    answers: Mapping[str, str] | None = None,
) -> tuple[StopWord, ...]:
    """The stop words that apply, in the description's order.

    said : what the customer said, in his words. told : circumstances recorded. answers : look or question id -> answer.
    A phrase stops wherever it stands, also in "no smell of gas": to ask once more costs seconds.
    """
    spoken = {word.name for word in heard_in(description, said)}
    meant = _meant(description, set(told), answers or {})
    return tuple(w for w in description.stop_words.values() if w.name in meant | spoken)


def _meant(description: Description, told: set[str], answers: Mapping[str, str]) -> set[str]:
    """Names of the stop words that recorded answers stand for."""
    # Asked by id or by look: the call may have recorded either
    found = set()
    for question in description.questions.values():
        given = {answers.get(question.id), answers.get(question.check) if question.check else None}
        found |= {r.stop for r in question.replies if r.stop and (r.name in given or told & set(r.told))}
    return found
