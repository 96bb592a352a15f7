"""What verbs need at hand: the calls of this device, a call's family, and somebody to tell of trouble."""

from __future__ import annotations

import click

from tundish.appliance.records import Description
from tundish.call.fold import CallState
from tundish.store.events import EventFile, open_events
from tundish.store.folders import events_path
from tundish.store.library import load


def calls() -> EventFile:
    """The calls of this device; use it in a `with` statement."""
    return open_events(events_path())


def description_of(state: CallState) -> Description:
    """The description of a call's family. Raises ValueError for a call whose opening is missing."""
    if state.opened is None:
        raise ValueError(f"call {state.call}: saw no opening; an opened call is needed; open it first")
    return load(state.opened.body.family)


def tell(words: str) -> None:
    """Say something beside the answer, on the error stream."""
    click.echo(words, err=True)
