"""The main job on one invented call, from the complaint to what the instruments must read after the repair."""

from __future__ import annotations

from importlib.resources import files

from rich.text import Text

from tundish.call.casefile import read_case
from tundish.call.entry import check_named, reading_of
from tundish.cli import show
from tundish.cli.waiting import waiting
from tundish.documents import facts
from tundish.documents.numbers import percent
from tundish.store.desk import Diagnosis, Matter, diagnose
from tundish.store.folders import cache_folder
from tundish.store.library import load

CALL = "demo.yaml"
# Enough for a steady picture, few enough not to wait on a first run.
MACHINES = 30_000
PROOF = ("C03", "C04", "C05.cold", "C06.cold", "C12.cold")
OWN = """Start your own call:
  tundish families                                               families, complaints, circumstances
  tundish open "front-load washer" --complaint SLOW --age 9      opens a call and shows its odds
  tundish reading CALL C05.cold 43 psi                           writes down what a check showed
  tundish why CALL S04                                           what each reading did to a cause
  tundish expect CALL --repaired S04                             what every check must read after the repair
  tundish handbook "front-load washer" --market NA               healthy readings
(`python3 do.py` puts the command in .venv/bin, or .venv\\Scripts on Windows.)"""


def main() -> None:
    """Play the call on the terminal."""
    console = show.out()
    played = read_case(files("tundish.cli").joinpath(CALL).read_text(encoding="utf-8"), CALL)
    description = load(played.family)
    matter = Matter(played.family, played.market, played.complaint, played.age, played.told)
    readings = tuple(reading_of(check_named(description, t.check), t.typed) for t in played.readings)
    with waiting("Simulating machines (the first time takes a while)") as progress:
        found = diagnose(matter, readings, cache_folder(), size=MACHINES, progress=progress, tell=console.print)
    console.print(Text(played.title, "bold"))
    console.print("An invented call. Odds of every cause after each reading:\n")
    for number in range(len(found.steps)):
        _step(found, number)
    # The proof is planned before the repair: what must be read is said now, so that it can be held against
    # what is read then.
    cause = found.now.odds.ranked[0][0]
    show.odds(facts.odds_facts(found, "metric"))
    console.print()
    show.why(facts.why_facts(found, cause, "metric"))
    console.print(f"\nIf {cause} is cured, the instruments must read:")
    show.expect(facts.expect_facts(found, PROOF, "metric", [cause]))
    console.print(f"\n{OWN}", markup=False)


def _step(found: Diagnosis, number: int) -> None:
    """One line a cause: the strip after this reading."""
    console, step = show.out(), found.steps[number]
    said = "before any reading"
    if step.reading:
        row = facts.reading_facts(found.description, step.reading, "metric")
        said = f"{row['check']} {row['title']}: {row['shows']}"
    console.print(f"{number}. {said}")
    for cause, chance in step.odds.ranked[:3]:
        console.print(f"   {percent(chance):>11} {show.strip(chance)} {cause} {found.description.faults[cause].title}")


if __name__ == "__main__":
    main()
