"""`tundish photo`: a photo kept with a call, under the step or question it belongs to."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from tundish.appliance.records import Description
from tundish.call import agreed
from tundish.call.asking import STAGES, PhotoKept
from tundish.call.errors import MoveError
from tundish.call.fold import CallState
from tundish.cli.at_hand import description_of, market_of
from tundish.cli.show import out
from tundish.cli.view import View, with_view
from tundish.cli.writing import record, settings_now, state_of
from tundish.documents.fix_facts import numbered
from tundish.documents.photo_facts import photo_facts
from tundish.documents.quote_facts import agreed_facts
from tundish.store.errors import clear_errors
from tundish.store.folders import data_folder
from tundish.store.kept import PHOTOS, keep
from tundish.store.mending import part_for
from tundish.store.orientation import orientation_of
from tundish.store.pictures import plain_picture

Facts = dict[str, Any]


@click.command("photo")
@click.argument("call")
@click.argument("file", required=False, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--of", "what", default="", help="What it shows: a question's id, the number of a repair step, or words."
)
@click.option("--cause", default="", help="The cause whose repair step it is; the one agreed to if left out.")
@click.option("--stage", type=click.Choice(STAGES), default=None, help="When it was taken; now if left out.")
@with_view
def photo_(call: str, file: Path | None, *, what: str, cause: str, stage: str | None, view: View) -> None:
    """Keep a photo with a call, without its notes on place and camera; without a FILE, list the photos kept.

    Such as: photo CALL plate.jpg --of Q18; photo CALL hoses.jpg --of 1; photo CALL frame.jpg --of "scorched socket".
    """
    if file is not None:
        state = state_of(call)
        subject, when = subject_of(description_of(state), state, what, cause)
        with clear_errors(file):
            content = file.read_bytes()
        # The content first: an event that names what is not there would be worse than a file nobody names
        kind, plain = plain_picture(content)
        sha256 = keep(data_folder() / PHOTOS, plain)
        body = PhotoKept(subject, stage or when, sha256, kind, len(plain), orientation_of(content))
        record(call, lambda now: [body])
    now = state_of(call)
    view.put(photo_facts(now, data_folder() / PHOTOS, settings_now(now).zone), show)


def subject_of(description: Description, state: CallState, what: str, cause: str) -> tuple[str, str]:
    """What a photo shows and the stage it belongs to: as the question, the step or the words say. MoveError for nothing named."""
    asked = {id.casefold(): id for id in description.questions}
    if what.casefold() in asked:
        return asked[what.casefold()], "ask"
    if what.isascii() and what.isdecimal():
        return _step(description, state, int(what), cause), "fix"
    if not what.strip():
        raise MoveError(
            seen=f"a photo of {what!r}",
            allowed="a question's id, the number of a repair step, or words",
            do="say what it shows with --of",
        )
    return " ".join(what.split()), stage_of(state)


def stage_of(state: CallState) -> str:
    """The stage a call is in, for a photo that does not say its own."""
    if state.ended is not None:
        return "close"
    if state.repairs:
        return "prove"
    if agreed.consent(state.job) is not None:
        return "fix"
    return "find" if state.safety is not None else "ask"


def _step(description: Description, state: CallState, number: int, cause: str) -> str:
    faults = [cause.upper()] if cause else agreed_facts(state)["covers"]
    if len(faults) != 1 or faults[0] not in description.faults:
        raise MoveError(
            seen=f"step {number} of {', '.join(faults) or 'no repair'}",
            allowed="a step of one repair",
            do="name the cause with --cause, or say in words what the photo shows",
        )
    fault = description.faults[faults[0]]
    part = part_for(description, fault, description.markets[market_of(state)].currency)
    steps = numbered(fault, part=part is not None)
    if number not in steps:
        raise MoveError(
            seen=f"step {number} of {fault.id}",
            allowed=f"1 to {len(steps)}",
            do=f"see the steps: tundish fix CALL {fault.id}",
        )
    return steps[number].photo or steps[number].step


def show(page: Facts) -> None:
    """The photos of a call."""
    console = out()
    console.print(f"Call {page['call']}: {len(page['photos'])} kept", style="bold", markup=False)
    for row in page["photos"]:
        there = "" if row["there"] else "; the file is on another device"
        console.print(
            f"  {row['date']} {row['stage']}: {row['subject']} ({row['bytes'] // 1024 + 1} KiB, {row['file']}{there})",
            markup=False,
        )
