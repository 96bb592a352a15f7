"""The verbs of `tundish`. Each is a few lines over the library; `--json` prints the same facts as JSON."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import click

from tundish.appliance.possible import checks_of
from tundish.appliance.records import Description
from tundish.appliance.refusals import listed
from tundish.call.answering import denied
from tundish.call.bodies import Body, CallOpened, CircumstanceAdded, Corrected, NoteAdded, ReadingTaken
from tundish.call.casefile import read_case
from tundish.call.entry import check_in, complaint_in, market_named, one_of, reading_of
from tundish.call.fold import CallState, fold
from tundish.call.hazards import safety_of
from tundish.call.lawful import before_reading
from tundish.cli import ask, at_hand, ends, mend, money, planning, show, show_ask
from tundish.cli.at_hand import description_of, market_of, tell
from tundish.cli.bench import bench
from tundish.cli.honesty import honesty
from tundish.cli.learn import learn_
from tundish.cli.paper import paper_
from tundish.cli.photo import photo_
from tundish.cli.serve import serve
from tundish.cli.settings import settings
from tundish.cli.share import share
from tundish.cli.stock import stock
from tundish.cli.store import store
from tundish.cli.trial import trial
from tundish.cli.van import van_
from tundish.cli.view import View, with_view
from tundish.cli.waiting import waiting
from tundish.cli.week import week_
from tundish.documents import facts
from tundish.documents.ask_facts import meant_facts
from tundish.documents.judge import judge
from tundish.population.build import healthy, world
from tundish.store.clock import device_name, system
from tundish.store.desk import Diagnosis, Matter, diagnose
from tundish.store.events import record_all
from tundish.store.folders import cache_folder, data_folder
from tundish.store.heard import meant
from tundish.store.library import families as family_files
from tundish.store.library import load
from tundish.store.shelf import SEED
from tundish.store.since import diagnose_now

# Enough for the 5 and 95 % points of a healthy band to stand still in the third figure.
HEALTHY_MACHINES = 4_000


class Refused(click.ClickException):
    """Something asked for that cannot be done; exit code 2, so that 1 is left for a case that ends otherwise than demanded."""

    exit_code = 2


class Plain(click.Group):
    """A group that prints our own errors as plain words, without a stack."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the verb; a ValueError or OSError becomes its message and exit code 2."""
        try:
            return super().invoke(ctx)
        except (ValueError, OSError) as error:
            raise Refused(str(error)) from error


@click.group(cls=Plain)
@click.version_option(package_name="tundish")
def main() -> None:
    """From a complaint and readings to the odds of every cause of a household appliance's trouble."""


@main.command()
@with_view
def families(view: View) -> None:
    """List the families of machines with their markets, complaints and circumstances."""
    view.put([facts.family_facts(load(name)) for name in family_files()], show.families)


@main.command()
@click.argument("family")
@click.option("--market", default=None, help="Market of the machine, such as EU or NA; the first if left out.")
@with_view
def handbook(family: str, market: str | None, view: View) -> None:
    """What every instrument should read on a healthy machine, with the spread."""
    description = load(family)
    chosen = market_named(description, market)
    readings = healthy(world(description, chosen), HEALTHY_MACHINES, SEED)
    system_of_units = view.units or description.markets[chosen].units
    view.put(facts.handbook_facts(description, chosen, readings, system_of_units), show.handbook)


@main.command("open")
@click.argument("family")
@click.option("--complaint", default=None, help="What the machine does, by its class word, such as SLOW.")
@click.option("--said", default="", help="What the customer said; without --complaint it proposes the class and opens nothing.")
@click.option("--market", default=None, help="Market of the machine; the first if left out.")
@click.option("--age", type=float, default=None, help="Age of the machine in years.")
@click.option("--since", "told", multiple=True, help='A circumstance, such as "house move"; may be repeated.')
@click.option("--name", default="", help="A short name for the call.")
@with_view
def open_(
    family: str, complaint: str | None, market: str | None, *, said: str, age: float | None, told: tuple[str, ...],
    name: str, view: View,
) -> None:
    """Open a call and show the odds before any reading. With the customer's words alone, the classes they point to."""
    description = load(family)
    chosen = market_named(description, market)
    if complaint is None:
        if not said:
            raise ValueError(f"open: saw no class of complaint; allowed: {listed(description.complaints)}; name one, or give --said")
        view.put(meant_facts(description, said, meant(description, chosen, said)), show_ask.meant)
        return
    known = complaint_in(description, chosen, complaint)
    body = CallOpened(description.family, chosen, known, age, _told(description, told), name=name)
    with at_hand.calls() as calls:
        event = calls.open_call(body, system(device_name(data_folder())))
        if said:
            record_all(calls, event.call, [NoteAdded(said)], system(device_name(data_folder())))
    _show_odds(event.call, view)


@main.command(context_settings={"ignore_unknown_options": True})
@click.argument("call")
@click.argument("check")
@click.argument("value", nargs=-1, required=True)
@with_view
def reading(call: str, check: str, value: tuple[str, ...], view: View) -> None:
    """Write down what a check showed, such as: reading CALL C05.cold 43 psi."""
    typed = " ".join(value)

    def taken(state: CallState) -> tuple[Body, ...]:
        description = description_of(state)
        named = check_in(description, market_of(state), check)
        found = reading_of(named, typed)
        body = ReadingTaken(found.check, found.value, found.answer, found.bound, typed)
        return *before_reading(description, named, safety_of(description, state), answer=found.answer), body

    # The event is on the disk before any odds are computed, so an interrupted simulation loses nothing.
    _record(call, taken, view)


@main.command()
@click.argument("call")
@click.argument("circumstance")
@click.option("--no", is_flag=True, help="The customer was asked and said no; told before, it is taken back.")
@with_view
def told(call: str, circumstance: str, *, no: bool, view: View) -> None:
    """Write down one more circumstance the customer told, or denied."""

    def said(state: CallState) -> Iterable[Body]:
        description = description_of(state)
        (name,) = _told(description, [circumstance])
        return denied(description, state, name) if no else (CircumstanceAdded(name),)

    _record(call, said, view)


@main.command()
@click.argument("call")
@click.argument("check")
@click.option("--because", "why", default="", help="Why the reading is withdrawn.")
@with_view
def withdraw(call: str, check: str, why: str, view: View) -> None:
    """Withdraw the last reading of a check. Nothing is erased: a correction is added."""

    def withdrawn(state: CallState) -> list[Body]:
        taken = [fact.event for fact in state.readings if fact.body.check == check]
        if not taken:
            read = listed(dict.fromkeys(fact.body.check for fact in state.readings)) or "none was read yet"
            raise ValueError(f"withdraw: saw check {check!r}; allowed: {read}; name one of these")
        return [Corrected(taken[-1], None, why)]

    _record(call, withdrawn, view)


@main.command()
@click.argument("call")
@with_view
def odds(call: str, view: View) -> None:
    """Odds of every cause from all readings so far."""
    with at_hand.calls() as calls:
        id = calls.resolve(call)
    _show_odds(id, view)


@main.command()
@click.argument("call")
@click.argument("cause")
@with_view
def why(call: str, cause: str, view: View) -> None:
    """What each reading did to the odds of one cause."""
    found = _diagnosis(call, view)
    named = facts.cause_named(found.description, cause)
    view.put(facts.why_facts(found, named, view.units_for(found)), show.why)


@main.command()
@click.argument("call")
@click.argument("checks", nargs=-1)
@click.option("--repaired", multiple=True, help="A cause taken as cured; may be given more than once.")
@with_view
def expect(call: str, checks: tuple[str, ...], repaired: tuple[str, ...], view: View) -> None:
    """What checks should read: healthy, on this machine as known, and after a repair. All checks if none is named."""
    found = _diagnosis(call, view)
    market = found.matter.market
    named = [check_in(found.description, market, c).id for c in checks] or list(checks_of(found.description, market))
    cured = [facts.cause_named(found.description, c) for c in repaired]
    view.put(facts.expect_facts(found, named, view.units_for(found), cured), show.expect)


@main.command()
@with_view
def calls(view: View) -> None:
    """List the calls on this device."""
    with at_hand.calls() as events:
        view.put(facts.calls_facts(events.calls()), show.calls)


@main.command()
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@with_view
def case(file: Path, view: View) -> None:
    """Play a whole call from a file; exit code 1 when it does not end as the file demands."""
    played = read_case(file.read_text(encoding="utf-8"), file.name)
    description = load(played.family)
    market, circumstances = market_named(description, played.market), _told(description, played.told)
    readings = tuple(reading_of(check_in(description, market, t.check), t.typed) for t in played.readings)
    complaint = complaint_in(description, market, played.complaint)
    matter = Matter(description.family, market, complaint, played.age, circumstances)
    with waiting("Simulating machines") as progress:
        found = diagnose(matter, readings, cache_folder(), size=view.machines, progress=progress, tell=tell)
    verdicts = judge(played, found, view.units_for(found))
    view.put(facts.case_facts(played.title, found, verdicts, view.units_for(found)), show.case)
    # A script that plays cases needs the exit code, a reader needs the table; both get theirs.
    if not all(v.met for v in verdicts):
        sys.exit(1)


def _diagnosis(call: str, view: View) -> Diagnosis:
    with at_hand.calls() as calls, waiting("Simulating machines") as progress:
        state = fold(calls.events_of(calls.resolve(call)))
        return diagnose_now(state, cache_folder(), size=view.machines, progress=progress, tell=tell)


def _record(call: str, bodies_of: Callable[[CallState], Iterable[Body]], view: View) -> None:
    """Write events and show the odds after them. bodies_of : the events' bodies from the call's state."""
    with at_hand.calls() as calls:
        id = calls.resolve(call)
        bodies = bodies_of(fold(calls.events_of(id)))
        record_all(calls, id, bodies, system(device_name(data_folder())))
    _show_odds(id, view)


def _show_odds(call: str, view: View) -> None:
    found = _diagnosis(call, view)
    view.put({"call": call, **facts.odds_facts(found, view.units_for(found))}, show.odds)


def _told(description: Description, names: Iterable[str]) -> tuple[str, ...]:
    return tuple(one_of(name, description.circumstances, "circumstance") for name in names)


WHOLE_CALL = (*ask.VERBS, *money.VERBS, mend.fix, photo_, *ends.VERBS, paper_, van_)

for _verb in (*planning.VERBS, *WHOLE_CALL, trial, bench, serve, settings, stock, store, learn_, week_, honesty, share):
    main.add_command(_verb)

if __name__ == "__main__":
    main()
