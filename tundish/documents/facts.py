"""A diagnosis as plain facts: dicts and lists that print as JSON, and from which every page and table is made."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from tundish.appliance.possible import barred, complaints_of
from tundish.appliance.records import Check, Description
from tundish.call.entry import one_of
from tundish.call.handle import CallHead, handles
from tundish.diagnosis.expect import Expected, after_repair, expected, sample
from tundish.diagnosis.explain import Influence, chance_of, influences
from tundish.diagnosis.notices import asked_for
from tundish.diagnosis.odds import LEAST_EFFECTIVE
from tundish.diagnosis.reading import Reading
from tundish.documents.numbers import expected_text, percent, reading_text
from tundish.population.hypotheses import NOTHING, UNDESCRIBED
from tundish.store.desk import Diagnosis

Facts = dict[str, Any]

# A cause is listed as ruled out when it began at this share and has fallen below that one. Our choice.
BEGAN, FELL = 0.03, 0.02
DEFERENCE = "Local codes and licensed practice come first. Odds are a guide to the next check, never a promise of safety."


def odds_facts(found: Diagnosis, system: str) -> Facts:
    """Odds of every cause after the last reading, the alarm first."""
    now, description = found.now.odds, found.description
    return {
        "family": description.family,
        "market": found.matter.market,
        "complaint": found.matter.complaint,
        "complaint_title": description.complaints[found.matter.complaint].title,
        "age": found.matter.age,
        "told": list(found.matter.told),
        "repaired": list(found.repaired),
        "shares": found.whose.says,
        "misfit": misfit_facts(found),
        "sure": sure(found),
        "effective_machines": round(now.effective, 1),
        "readings": [reading_facts(description, r, system) for r in found.readings],
        "causes": [cause_facts(found, c) for c, _ in now.ranked],
        "nothing_wrong": now.nothing,
        "not_described": now.unknown,
        "together": together(found),
        "ruled_out": ruled_out(found),
        "notices": notices(found),
        "regrown": list(found.now.regrown),
        "deference": DEFERENCE,
    }


def sure(found: Diagnosis) -> bool:
    """Whether enough machines stand behind the odds to act on them: 200, and 3 times the root of those that carry the odds.

    Source: importance sampling practice (Vehtari et al. 2024, pareto smoothed importance sampling), see docs/odds.md.
    """
    # Machines that carry 99 % of the odds; the many that carry next to nothing do not make an answer surer.
    weight = np.exp(found.now.cloud.log_weight - found.now.odds.evidence)
    carrying = np.sort(weight)[::-1].cumsum()
    number = int(np.searchsorted(carrying, 0.99 * carrying[-1])) + 1
    return bool(found.now.odds.effective >= max(LEAST_EFFECTIVE, 3.0 * np.sqrt(number)))


def cause_facts(found: Diagnosis, cause: str) -> Facts:
    """A cause: its odds now and before any reading, and what curing it takes."""
    fault = found.description.faults[cause]
    currency = found.description.markets[found.matter.market].currency
    return {
        "id": cause,
        "part": fault.part,
        "mode": fault.mode,
        "title": fault.title,
        "kind": fault.kind,
        "chance": chance_of(found.now.odds, cause),
        "at_first": chance_of(found.steps[0].odds, cause),
        "part_price": list(fault.price.get(currency, ())),
        "currency": currency,
        "minutes": list(fault.minutes),
        "cures_alone": fault.cure,
        "mistaken_for": list(fault.mistaken_for),
    }


def together(found: Diagnosis) -> list[Facts]:
    """The likeliest pairs of causes, at least 1 % each."""
    odds = found.now.odds
    # A pair is known by what it began with, and a repair cures one of the two
    if found.repaired:
        return []
    pairs = [
        (h, c)
        for h, c in zip(found.now.cloud.population.hypotheses, odds.chance, strict=True)
        if h.kind == "two" and c >= 0.01
    ]
    return [
        {"causes": list(h.roots), "chance": float(c)} for h, c in sorted(pairs, key=lambda item: -item[1])[:5]
    ]


def ruled_out(found: Diagnosis) -> list[Facts]:
    """Causes that the readings speak against, and the reading that did most."""
    facts = []
    for cause, chance in found.now.odds.ranked:
        # What a technician would have bet on, and why he should not now.
        if chance_of(found.steps[0].odds, cause) >= BEGAN and chance < FELL:
            most = min(influences(found.steps, cause), key=lambda i: i.decibans)
            facts.append(
                {
                    "id": cause,
                    "chance": chance,
                    "by": most.reading.check,
                    "decibans": most.decibans,
                    "words": most.words,
                }
            )
    return facts


def reading_facts(description: Description, reading: Reading, system: str) -> Facts:
    """A reading with its check's title and as a technician reads it."""
    check = description.checks[reading.check]
    return {
        "check": check.id,
        "title": check.title,
        "shows": reading_text(check, reading, system),
        "value": _finite(reading.value),
        "over_range": reading.value is not None and not np.isfinite(reading.value),
        "answer": reading.answer,
        "bound": reading.bound,
    }


def misfit_facts(found: Diagnosis) -> Facts:
    """The alarm: whether the readings fit any simulated machine, and which fits least."""
    fits = [{"check": f.check, "chance": f.chance} for f in found.fit.fits]
    return {"alarm": found.fit.alarm, "worst": found.fit.worst, "fits": fits}


def notices(found: Diagnosis) -> list[Facts]:
    """What must be said whatever the complaint."""
    said = asked_for(found.description, found.readings)
    return [{"name": n.name, "say": n.say, "source": found.description.sources.get(n.source, n.source)} for n in said]


def why_facts(found: Diagnosis, cause: str, system: str) -> Facts:
    """What each reading did to one cause, in decibans and in a sentence."""
    title = found.description.faults[cause].title if cause in found.description.faults else cause
    first, now = chance_of(found.steps[0].odds, cause), chance_of(found.now.odds, cause)
    steps = [influence_facts(found, i, system) for i in influences(found.steps, cause)]
    return {
        "cause": cause,
        "title": title,
        "at_first": first,
        "chance": now,
        "influences": steps,
        "sentence": _sentence(title, first, now, steps, since=found.repaired),
        "machines": _machines(found, cause),
        "effective_machines": round(found.now.odds.effective, 1),
    }


def influence_facts(found: Diagnosis, influence: Influence, system: str) -> Facts:
    """One reading's effect on a cause."""
    return {
        **reading_facts(found.description, influence.reading, system),
        "before": influence.before,
        "after": influence.after,
        "decibans": round(influence.decibans, 2),
        "words": influence.words,
    }


def _sentence(title: str, first: float, now: float, steps: Sequence[Facts], *, since: Sequence[str]) -> str:
    was = f"right after the repair of {', '.join(since)}" if since else "before any reading"
    if not steps and since:
        return f"{title}: {percent(now)} {was}; no reading since."
    # Before any reading the odds are what the trade counts, and the sentence says so.
    if not steps:
        return (
            f"{title}: {percent(now)} of calls with this complaint and these circumstances; no reading yet."
        )
    most = max(steps, key=lambda s: abs(s["decibans"]))
    return (
        f"{title}: {percent(now)}, was {percent(first)} {was}. The reading that moved it most is {most['check']} "
        f"({most['title']}: {most['shows']}), which {_said(most['words'])} ({most['decibans']:+.1f} dB)."
    )


def _said(words: str) -> str:
    """What a reading does, with whom it does it to.

    >>> _said("speaks for"), _said("changes little")
    ('speaks for it', 'changes little')
    """
    return words if words.endswith("little") else f"{words} it"


def _machines(found: Diagnosis, cause: str) -> int:
    """Simulated machines with this cause that still carry weight."""
    population = found.now.cloud.population
    weight = np.exp(found.now.cloud.log_weight - found.now.odds.evidence)
    faults = np.array([[fault == cause for fault in slots] for slots in population.faults])
    has = (faults[population.stratum] & population.present).any(axis=1)
    if cause == NOTHING:
        well = np.array([h.kind == "normal" for h in population.hypotheses])[population.stratum]
        has = well | ~population.present.any(axis=1)
    return int((has & (weight > 1e-12)).sum())


def expect_facts(
    found: Diagnosis, checks: Sequence[str], system: str, repaired: Sequence[str] = ()
) -> list[Facts]:
    """Predicted readings: on a healthy machine, on this one as known, and once the named causes are cured."""
    cured = (
        after_repair(found.place, found.now.cloud, tuple(repaired), tuple(checks), _rng(found))
        if repaired
        else {}
    )
    population = found.now.cloud.population
    picked = sample(found.now.cloud, _rng(found))
    rows = []
    for name in checks:
        check, index = found.description.checks[name], population.checks.index(name)
        row = {
            "check": name,
            "title": check.title,
            "where": check.where,
            "shows": _shows(check),
            "healthy": _expected_facts(
                check, expected(check, population.healthy[index], _rng(found)), system
            ),
            "now": _expected_facts(
                check, expected(check, population.predicted[index][picked], _rng(found)), system
            ),
        }
        if repaired:
            row["after"] = _expected_facts(check, expected(check, cured[name], _rng(found)), system)
        rows.append(row)
    return rows


def _shows(check: Check) -> Facts:
    """What its instrument can show at all, SI, for who types a reading. may_lack : some machines have not what it needs."""
    tool, infinite = check.instrument, math.inf
    return {
        "unit": check.unit,
        "instrument": tool.name if tool else "look",
        "low": tool.low if tool and tool.low > -infinite else None,
        "high": tool.high if tool and tool.high < infinite else None,
        "may_lack": bool(check.requires),
    }


def handbook_facts(
    description: Description, market: str, healthy: np.ndarray[Any, np.dtype[np.float32]], system: str
) -> Facts:
    """What every instrument should read on a healthy machine of a market; checks that make no sense there are left out."""
    rows = []
    for index, check in enumerate(description.checks.values()):
        if barred(description, market, check.requires):
            continue
        said = _expected_facts(check, expected(check, healthy[index], np.random.default_rng(0)), system)
        rows.append(
            {
                "check": check.id,
                "title": check.title,
                "where": check.where,
                "instrument": check.instrument.name if check.instrument else "look",
                "state": check.state,
                "access": list(check.access),
                "minutes": check.minutes,
                "live": check.live,
                "cautions": list(check.cautions),
                "step": check.step,
                "healthy": said,
            }
        )
    return {
        "family": description.family,
        "market": market,
        "title": description.markets[market].title,
        "checks": rows,
        "deference": DEFERENCE,
    }


def _expected_facts(check: Check, said: Expected, system: str) -> Facts:
    facts = asdict(said)
    facts.update({k: _finite(facts[k]) for k in ("low", "middle", "high")})
    return {**facts, "says": expected_text(check, said, system)}


def _finite(value: float | None) -> float | None:
    return value if value is not None and np.isfinite(value) else None


def _rng(found: Diagnosis) -> np.random.Generator:
    """The same numbers whenever the same number of readings is asked about: predictions must not flicker."""
    return np.random.default_rng(len(found.readings))


def cause_named(description: Description, named: str) -> str:
    """A fault id (capitals do not matter) or the words for nothing wrong or something not described.

    Raises ValueError with near matches.
    """
    return one_of(named, [*description.faults, NOTHING, UNDESCRIBED], "cause")


def family_facts(description: Description) -> Facts:
    """A family with its markets, complaints and circumstances."""
    return {
        "family": description.family,
        "markets": {m.name: m.title for m in description.markets.values()},
        "currencies": {m.name: m.currency for m in description.markets.values()},
        "complaints": {c.name: c.title for c in description.complaints.values()},
        "complaints_in": {m: [*complaints_of(description, m)] for m in description.markets},
        "circumstances": {c.name: c.ask for c in description.circumstances.values()},
        "faults": {f.id: f.title for f in description.faults.values()},
        "checks": {c.id: c.title for c in description.checks.values()},
    }


def calls_facts(heads: Sequence[CallHead]) -> list[Facts]:
    """Calls with the short handle by which each can be named."""
    short = handles(heads)
    return [{"handle": short[h.call], **asdict(h)} for h in heads]


def case_facts(title: str, found: Diagnosis, verdicts: Sequence[Any], system: str) -> Facts:
    """A played case: odds after each reading and the verdicts on the file's demands."""
    steps = []
    for step in found.steps:
        shows = (
            reading_facts(found.description, step.reading, system)
            if step.reading
            else {"check": "", "shows": "before any reading"}
        )
        steps.append(
            {
                "check": shows["check"],
                "shows": shows["shows"],
                "top": step.odds.ranked[:4],
                "effective": step.odds.effective,
            }
        )
    return {
        "title": title,
        "steps": steps,
        "verdicts": [asdict(v) for v in verdicts],
        "odds": odds_facts(found, system),
    }
