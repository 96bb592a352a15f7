"""The head of a packed call: words, constants of likelihoods, money and steps."""

from __future__ import annotations

from typing import Any

from tundish.appliance.records import Check, Description
from tundish.diagnosis.likelihood import Span
from tundish.plan.demands import demands_of_check
from tundish.plan.hidden import cost_of
from tundish.plan.pocket_kinds import Kinds
from tundish.plan.pocket_left import Left
from tundish.plan.pocket_scale import Scale
from tundish.plan.pocket_ways import Ways
from tundish.plan.proof import taken_as_used
from tundish.plan.remedies import Remedy, check_minutes
from tundish.plan.shop import Shop
from tundish.plan.states import Safety
from tundish.plan.wired import EXPLAIN_MINUTES
from tundish.population.build import World

Facts = dict[str, Any]
# Demand of a check that is never proposed in the pocket: live work takes the full plan's weighing of what else there is.
NEVER = -1


def matter(place: World, complaint: str, shop: Shop) -> Facts:
    """What the call is about, and the shop's money."""
    return {
        "family": place.description.family,
        "market": place.market,
        "complaint": complaint,
        "money": {
            "currency": shop.currency,
            "rate": shop.rate,
            "trip": shop.trip,
            "replace": shop.replace,
            "stop": shop.stop_value,
            "explain": EXPLAIN_MINUTES * shop.rate,
            "missed": shop.callback + shop.stop_value,
        },
    }


def dangers(description: Description) -> list[Facts]:
    """What readings ask to be said at once. halts : whether no work goes on below it."""
    rows = [
        {
            "checks": list(n.checks), "above": n.above, "below": n.below, "answers": list(n.answers), "say": n.say,
            "halts": bool(n.halts), "refer": n.refer,
        }
        for n in description.notices.values()
    ]  # fmt: skip
    # An answer that stops the call on the phone stops it at the machine as well
    told = [
        (q.check, reply.name, description.stop_words[reply.stop])
        for q in description.questions.values()
        for reply in q.replies
        if reply.stop and q.check
    ]
    return rows + [
        {
            "checks": [check], "above": None, "below": None, "answers": [answer], "say": word.say, "halts": True,
            "refer": word.refer,
        }
        for check, answer, word in told
    ]  # fmt: skip


def causes(description: Description, held: Kinds) -> Facts:
    """Causes by number, and the kinds of machine by theirs."""
    ids = sorted({f for there in held.causes for f in there})
    number = {f: i for i, f in enumerate(ids)}
    faults = description.faults
    return {
        "causes": [{"id": f, "title": faults[f].title, "kind": faults[f].kind} for f in ids],
        "kinds": [
            {"causes": sorted(number[f] for f in c), "left": sorted(number[f] for f in rest), "sound": bool(s), "eased": bool(e)}
            for c, rest, s, e in zip(held.causes, held.left, held.sound, held.eased, strict=True)
        ],
    }  # fmt: skip


def check(record: Check, reach: Span, scale: Scale) -> Facts:
    """A check with all that its likelihood needs; numbers SI."""
    tool = record.instrument
    errors = ("absolute", "relative", "resolution", "persistent", "low", "high", "log")
    names = [a.name for a in record.answers]
    return {
        "id": record.id,
        "title": record.title,
        "where": record.where,
        "how": record.step,
        "cautions": list(record.cautions),
        "unit": record.unit,
        "live": record.live,
        "minutes": check_minutes(record.minutes, record.access),
        "instrument": tool.name if tool else "look",
        "errors": {name: getattr(tool, name) for name in errors} if tool else None,
        # What it needs of the machine: checks that need the same lack it together
        "needs": ", ".join(f"{name} {kind}" for name, kind in sorted(record.requires.items())),
        "answers": names,
        "chances": [_named(record, true, names) for true in names],
        "model": record.model,
        "misdone": record.misdone,
        "reach": [reach.low, reach.high],
        "scale": {
            "kind": scale.kind, "levels": scale.levels, "first": scale.first, "step": scale.step, "curve": scale.curve,
            "floor": scale.floor, "top": scale.top,
        },
    }  # fmt: skip


def money(record: Check, shop: Shop) -> float:
    """What a check costs once it can be reached."""
    return check_minutes(record.minutes, record.access) * shop.rate


def demand(way: Ways, record: Check) -> int:
    """Number of the list of states in which a check is lawful."""
    return NEVER if record.live else way.meeting(demands_of_check(record))


def remedy(description: Description, shop: Shop, cure: Remedy, where: int) -> Facts:
    """A remedy with its money. where : number of the list of states in which it is lawful."""
    after = (line for f in cure.faults for line in description.faults[f].after)
    return {
        "name": cure.name,
        "kind": cure.kind,
        "faults": list(cure.faults),
        "part": cure.part,
        "order": cure.order,
        "minutes": cure.minutes,
        "cost": cost_of(shop, cure),
        "again": 0.0 if cure.seen else shop.trip,
        "cautions": list(dict.fromkeys(after)),
        "demand": where,
    }


def proof(description: Description, left: Left | None) -> Facts | None:
    """What proves the repair that left these machines; None before any repair.

    used : checks as the customer uses the machine, each with whether it tells only of a machine that is on.
    """
    if left is None:
        return None
    checks = [c for c in description.checks.values() if taken_as_used(c)]
    return {
        "repaired": list(left.repaired),
        "titles": {f: description.faults[f].title for f in left.repaired},
        "limit": left.limit,
        "at_repair": left.at_repair,
        "used": {c.id: c.state == "NONE" for c in checks},
        "showing": list(left.showing),
        "settle": list(left.settle),
        "wanted": list(left.wanted),
    }


def walks(way: Ways, shop: Shop, safety: Safety) -> Facts:
    """States, and the steps between them with their money. start : where the call stands."""
    names = list(way.states)
    return {
        "states": names,
        "outside": [i for i, s in enumerate(way.states.values()) if s.place == "pulled out"],
        "lawful": [len(listed) for listed in way.lawful],
        "home": way.home,
        "start": names.index(safety.name),
        "steps": [
            {
                "step": s.name, "minutes": list(s.minutes), "proof": s.proof, "who": s.who, "source": s.source,
                "money": shop.rate * s.usual,
            }
            for s in way.steps
        ],
    }  # fmt: skip


def _named(record: Check, true: str, names: list[str]) -> list[float]:
    wrong = record.mistakes.get(true, {})
    return [1.0 - sum(wrong.values()) if n == true else wrong.get(n, 0.0) for n in names]
