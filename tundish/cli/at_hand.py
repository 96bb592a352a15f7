"""What verbs need at hand: this device's calls and settings, a call's family, and somebody to tell of trouble."""

from __future__ import annotations

import click

from tundish.appliance.records import Description
from tundish.call.fold import CallState
from tundish.store.events import EventFile, open_events
from tundish.store.folders import events_path, settings_path
from tundish.store.library import load
from tundish.store.settings import BrokenSettings, Own, read_own, settings_of


def calls() -> EventFile:
    """The calls of this device; use it in a `with` statement."""
    return open_events(events_path())


def own() -> Own:
    """What the shop set itself."""
    return read_own(settings_path())


def who(qualified: bool) -> str:
    """Who works, in the words of the safety table: qualified when said now, or set for the shop."""
    try:
        return "qualified" if qualified or settings_of(own()).qualified else "trained"
    except BrokenSettings as error:
        # A broken file must not keep anybody from recording: the stricter word, and it is said
        tell(f"{error}; taken as not qualified")
        return "trained"


def description_of(state: CallState) -> Description:
    """The description of a call's family. Raises ValueError for a call whose opening is missing."""
    if state.opened is None:
        raise ValueError(f"call {state.call}: saw no opening; an opened call is needed; open it first")
    return load(state.opened.body.family)


def market_of(state: CallState) -> str:
    """The market of a call. Raises ValueError for a call whose opening is missing."""
    description_of(state)
    return state.opened.body.market if state.opened else ""


def tell(words: str) -> None:
    """Say something beside the answer, on the error stream."""
    click.echo(words, err=True)
