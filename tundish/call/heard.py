"""Words of danger in what a customer said in his own words."""

from __future__ import annotations

import re
from collections.abc import Iterable

from tundish.appliance.records import Description, StopWord
from tundish.call.fold import CallState


def heard(word: StopWord, talk: str) -> bool:
    """Whether one of its phrases stands in a talk as whole words, harmless phrases left out.

    >>> shock = StopWord("shock", ("shock",), "Do not touch it.", "CP", unless=("shock absorber",))
    >>> heard(shock, "it gave me a shock"), heard(shock, "a shock absorber is broken")
    (True, False)
    """
    # Harmless phrases are taken out first: what is left may still hold the word by itself
    rest = talk.casefold()
    for harmless in word.unless:
        rest = re.sub(_whole(harmless), " ", rest)
    return any(re.search(_whole(phrase), rest) for phrase in word.words)


def heard_in(description: Description, said: Iterable[str]) -> tuple[StopWord, ...]:
    """The stop words that stand in what was said, in the description's order; a phrase may run over two sayings."""
    talk = " ".join(" ".join(said).casefold().split())
    return tuple(word for word in description.stop_words.values() if heard(word, talk))


def said_before(description: Description, state: CallState) -> tuple[str, ...]:
    """What was said in own words before the visit: notes, the words of the opening, answers to open questions.

    From the first step on record a technician is at the machine: he has looked and asked himself, and writes a hazard down as one.
    """
    began = state.steps[0].event if state.steps else None
    free = {id for id, question in description.questions.items() if not question.replies}
    facts = [(note.event, note.body.text) for note in state.notes]
    facts += [(one.event, one.body.answer) for one in state.job.answers if one.body.question in free]
    opening = [state.opened.body.facts] if state.opened else []
    return (*opening, *(text for event, text in facts if began is None or event < began))


def _whole(phrase: str) -> str:
    return r"(?<!\w)" + r"\s+".join(map(re.escape, phrase.casefold().split())) + r"(?!\w)"
