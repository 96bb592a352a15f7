"""The photos of a call as plain facts: what each shows, when it was taken, where it lies."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tundish.appliance.records import Description
from tundish.call.fold import CallState
from tundish.store.clock import day_of
from tundish.store.kept import place_of

Facts = dict[str, Any]
# Stages whose photos show the machine as it was found; the others show the work.
FOUND = frozenset({"ask", "make safe", "find"})


def photo_facts(state: CallState, folder: Path, zone: str) -> Facts:
    """The photos of a call, oldest first. folder : where photos are kept. zone : of the days."""
    return {"call": state.call, "photos": [_photo(one, folder, zone) for one in state.job.photos]}


def _photo(one: Any, folder: Path, zone: str) -> Facts:
    path = place_of(folder, one.body.sha256)
    return {
        "subject": one.body.subject,
        "stage": one.body.stage,
        "date": day_of(one.at, zone).isoformat(),
        "media_type": one.body.media_type,
        "bytes": one.body.bytes,
        "file": str(path),
        "there": path.is_file(),
    }


def said_of(state: CallState, description: Description, *, found: bool) -> list[str]:
    """A sentence for each photo as found, or of the work, for a paper; one for each thing shown."""
    asked = {question.id: question.photo or question.ask for question in description.questions.values()}
    shown = [
        asked.get(one.body.subject, one.body.subject)
        for one in state.job.photos
        if (one.body.stage in FOUND) == found
    ]
    return [f"Photographed: {subject}." for subject in dict.fromkeys(shown)]
