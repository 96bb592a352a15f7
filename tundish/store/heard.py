"""What customers said in closed calls, counted by the class of complaint; no sentence is kept."""

from __future__ import annotations

from collections import defaultdict

from tundish.appliance.records import Description
from tundish.call.bodies import NoteAdded
from tundish.call.fold import fold
from tundish.history.errors import HistoryError
from tundish.history.proposed import counted_words, proposed
from tundish.store.errors import StoreError
from tundish.store.events import EventFile
from tundish.store.taught import learned_path, read_learned

# Family -> words by class, calls by class.
Heard = dict[str, tuple[dict[str, dict[str, int]], dict[str, int]]]


def heard(file: EventFile) -> Heard:
    """The words of closed calls, family by family."""
    noted = {row[1] for row in file.base.rows("events", {"kind": (NoteAdded.KIND,)})}
    said: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for call in sorted(noted):
        state = fold(file.events_of(call))
        # The class may have been put right until the call was closed
        if state.opened is not None and state.ended is not None and state.notes:
            body = state.opened.body
            said[body.family].append((body.complaint, " ".join(note.body.text for note in state.notes)))
    return {family: counted_words(pairs) for family, pairs in sorted(said.items())}


def meant(description: Description, market: str, text: str) -> list[tuple[str, float]]:
    """Classes that a customer's words point to, likeliest first, with what was learned where it can be read."""
    try:
        learned = read_learned(learned_path())
    # Odds pages say what is wrong with the file; words are asked about while somebody waits on the phone
    except (HistoryError, StoreError):
        learned = None
    taught = learned.families.get(description.family) if learned else None
    words, calls = (taught.words, taught.said) if taught else ({}, {})
    return proposed(description, market, text, words=words, calls=calls)
