"""Does a diagnosis meet what a case file demands?"""

from __future__ import annotations

from dataclasses import dataclass

from tundish.call.casefile import Case, Demand
from tundish.call.entry import check_named, reading_of
from tundish.diagnosis.explain import chance_of
from tundish.documents.facts import expect_facts, notices
from tundish.documents.numbers import percent
from tundish.store.desk import Diagnosis


@dataclass(frozen=True)
class Verdict:
    """A demand in words, what was found, and whether it is met."""

    demand: str
    found: str
    met: bool
    line: int


def judge(case: Case, found: Diagnosis, system: str) -> list[Verdict]:
    """A verdict on every demand of a case, in the file's order."""
    return [verdict for demand in case.expect for verdict in _verdicts(demand, found, system)]


def _verdicts(demand: Demand, found: Diagnosis, system: str) -> list[Verdict]:
    if demand.cause:
        return _on_cause(demand, found)
    # A notice must be given whatever the odds say.
    if demand.notice:
        said = [n["name"] for n in notices(found)]
        return [
            Verdict(f"notice {demand.notice}", ", ".join(said) or "none", demand.notice in said, demand.line)
        ]
    if demand.alarm is not None:
        return [
            Verdict(
                f"alarm {demand.alarm}", str(found.fit.alarm), found.fit.alarm == demand.alarm, demand.line
            )
        ]
    return [_on_check(demand, found, system)]


def _on_cause(demand: Demand, found: Diagnosis) -> list[Verdict]:
    step = found.steps[-1 if demand.after is None else demand.after]
    chance = chance_of(step.odds, demand.cause)
    when = "after all readings" if demand.after is None else f"after {demand.after} readings"
    verdicts = []
    if demand.at_least is not None:
        verdicts.append(
            Verdict(
                f"{demand.cause} at least {percent(demand.at_least)} {when}",
                percent(chance),
                chance >= demand.at_least,
                demand.line,
            )
        )
    if demand.at_most is not None:
        verdicts.append(
            Verdict(
                f"{demand.cause} at most {percent(demand.at_most)} {when}",
                percent(chance),
                chance <= demand.at_most,
                demand.line,
            )
        )
    if demand.places is not None:
        place = _place(step.odds.ranked, demand.cause)
        verdicts.append(
            Verdict(
                f"{demand.cause} among the first {demand.places} {when}",
                f"place {place}",
                place <= demand.places,
                demand.line,
            )
        )
    return verdicts


def _place(ranked: list[tuple[str, float]], cause: str) -> int:
    names = [name for name, _ in ranked]
    return names.index(cause) + 1 if cause in names else len(names) + 1


def _on_check(demand: Demand, found: Diagnosis, system: str) -> Verdict:
    check = check_named(found.description, demand.check)
    row = expect_facts(found, [demand.check], system, demand.repaired)[0]
    said = row["after" if demand.repaired else "now"]
    low, high = (reading_of(check, text).value if text else None for text in (demand.low, demand.high))
    middle = said["middle"]
    # The middle of the prediction is judged; its band may well reach outside.
    met = middle is not None and (low is None or middle >= low) and (high is None or middle <= high)
    when = f" once {', '.join(demand.repaired)} is cured" if demand.repaired else ""
    return Verdict(
        f"{demand.check} from {demand.low or '-'} to {demand.high or '-'}{when}",
        said["says"],
        met,
        demand.line,
    )
