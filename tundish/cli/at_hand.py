"""What verbs need at hand: this device's calls and settings, a call's family, and somebody to tell of trouble."""

from __future__ import annotations

import click

from tundish.appliance.records import Description
from tundish.call.fold import CallState
from tundish.store.events import EventFile
from tundish.store.folders import data_folder, settings_path
from tundish.store.library import load
from tundish.store.opening import open_calls
from tundish.store.settings import BrokenSettings, Own, read_own, settings_of
from tundish.store.stock import stock_of
from tundish.van.stock import Levels


def calls() -> EventFile:
    """The calls of this device; use it in a `with` statement."""
    return open_calls(data_folder())


def own() -> Own:
    """What the shop set itself."""
    return read_own(settings_path())


def levels() -> Levels:
    """What is on the van and on order, of the parts that are counted."""
    with calls() as file:
        return stock_of(file).levels


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
