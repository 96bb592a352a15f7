"""The next action in the pocket: every option with the guessed cost of the whole call, best first.

Checks are followed through whole courses as `guide` guesses them; what is without checks is guessed by remedies by chance over
cost, or an ending. Ways share the safety state they lead to. The base policy's exact cost is left to the server: the pocket's
figures are guesses, and only their order is acted on.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tundish.plan.advise import CONFIRMED, HARDLY, LIKELY_ANSWER
from tundish.plan.candidates import Trying, bands, chosen
from tundish.plan.change import Floats
from tundish.plan.choice import FOLLOWED, LOOK_FIRST, STANDS, TIE
from tundish.plan.guide import FAR, Front, Guide, choose, courses, savings
from tundish.plan.outcomes import merged
from tundish.plan.pocket_kernel import Weighed, dangers
from tundish.plan.pocket_tables import Left, Table, left, tables
from tundish.plan.pocket_walk import Ints, Walk, at_state, walk
from tundish.plan.wired import LIKELY

# Ends are guessed here, so nobody asks the base policy.
NOBODY: Any = None
HALTED = "this state of the machine is not in the pocket: end the call, or ask the server"


@dataclass(frozen=True)
class Place:
    """Where the call stands on the phone. state : name of the safety state, "" for where the call began.

    parts : faults whose part is in hand.
    """

    state: str = ""
    parts: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Way:
    """An option. kind : check, repair, hand over, order or end. what : id of the check, name of the remedy or ending.

    at : number of the state in which it is done. own : its money, with the way. promise : guessed money of the whole call.
    """

    kind: str
    what: str
    at: int
    own: float
    promise: float
    pays: float = 0.0


@dataclass(frozen=True, eq=False)
class Board:
    """Options best first, with what they were reckoned from. halt : why there are none."""

    options: tuple[Way, ...]
    here: int
    walk: Walk
    lay: Guide | None = None
    joint: Floats | None = None
    asked: tuple[Table, ...] = ()
    halt: str = ""


def board(weighed: Weighed, place: Place) -> Board:
    """All options of a call, none of them unlawful: each is done where its demands are met, after lawful steps only."""
    found = walk(weighed.pocket)
    read = [r for group in weighed.groups.values() for r in group]
    stops = [d["say"] for d in dangers(weighed.pocket, read) if d["halts"]]
    if stops:
        return Board((), -1, found, halt=stops[0])
    here = at_state(found, place.state, int(weighed.pocket.head["start"]))
    if here is None:
        return Board((), -1, found, halt=HALTED)
    kept = left(weighed)
    cures = _likely(weighed, kept)
    picked, lay = _laid(weighed, found, kept, cures, here=here, parts=place.parts)
    joint = _joint(kept, out=bool(found.outside[here]))
    options = [*_looks(lay, joint, picked, here), *_deeds(weighed, found, lay, cures, joint=joint, here=here, parts=place.parts)]
    ranked = _confirmed(weighed, lay, picked, cures, joint=joint, ranked=_ranked(options, found, here))
    return Board(tuple(ranked), here, found, lay, joint, tuple(picked))


def lead(shown: Board, weighed: Weighed, option: Way) -> list[tuple[float, str, Floats]]:
    """Outcomes of a check: chance, what comes next by the guess, and the weights of the states then."""
    assert shown.lay is not None and shown.joint is not None
    z = [t.shown.record.id for t in shown.asked].index(option.what)
    out = []
    for joint in _children(shown.lay, shown.joint, shown.here, z):
        chance = float(joint.sum())
        front = Front(joint[None], np.array([option.at]), np.zeros((1, len(shown.asked)), dtype=np.bool_), np.zeros(1, dtype=np.int64))
        front.done[0, z] = True
        then = int(choose(shown.lay, front).check[0]) if chance > 0 else -1
        out.append((chance, shown.asked[then].shown.record.id if then >= 0 else "", joint / max(chance, 1e-300)))
    return out


def _likely(weighed: Weighed, kept: Left) -> list[int]:
    """Remedies of which some fault is likely enough."""
    head = weighed.pocket.head
    chance = np.zeros(len(head["causes"]))
    for kind, mass in zip(kept.kinds, kept.mass, strict=True):
        chance[head["kinds"][kind]["left"]] += mass
    number = {c["id"]: i for i, c in enumerate(head["causes"])}
    return [i for i, r in enumerate(head["remedies"]) if any(chance[number[f]] > LIKELY for f in r["faults"])]


def _laid(
    weighed: Weighed, found: Walk, kept: Left, cures: Sequence[int], *, here: int, parts: Collection[str]
) -> tuple[list[Table], Guide]:
    """The checks worth following, and the problem laid out for guessing."""
    head = weighed.pocket.head
    works, tolls = (_by_state(weighed, kept, cures, name) for name in ("cures", "tolls"))
    land = [found.nearest(head["remedies"][i]["demand"], here) for i in cures]
    cost = np.array([_cost(found, head, i, at, parts) for i, at in zip(cures, land, strict=True)]).reshape(
        len(cures), len(found.names)
    )
    picked = _picked(weighed, found, kept, works, here=here, cost=cost[:, here])
    places = [found.nearest(t.shown.facts["demand"], here) for t in picked]
    walked = [found.money[np.arange(len(at)), at] for at in places]
    price = [np.where(a >= 0, w + t.shown.facts["cost"], FAR) for a, w, t in zip(places, walked, picked, strict=True)]
    shape = (len(picked), len(found.names))
    goes, at = np.array(price).reshape(shape).T, np.array(places, dtype=np.int64).reshape(shape).T
    starts = np.cumsum([0, *(len(t.chances) for t in picked)])
    n = len(kept.kinds) + len(kept.moved) + 1
    lay = Guide(
        NOBODY,
        tuple(range(len(picked))),
        tuple(zip(starts[:-1].tolist(), starts[1:].tolist(), strict=True)),
        np.vstack([np.zeros((0, n)), *(t.chances for t in picked)]),
        goes,
        at,
        ~found.outside[:, None] & found.outside[np.maximum(at, 0)],
        np.arange(n),
        (kept.moved.astype(np.int64), len(kept.kinds) + np.arange(len(kept.moved))),
        works,
        tolls * (works > 0),
        cost.T,
        _ends(weighed, kept),
    )
    return picked, lay


def _by_state(weighed: Weighed, kept: Left, cures: Sequence[int], name: str) -> Floats:
    """What remedies do, (d, n): kinds, twins as their kinds, nothing for what is not described."""
    whole = weighed.pocket.arrays[name].reshape(-1, len(weighed.pocket.head["kinds"])).astype(np.float64)
    each = whole[np.asarray(cures, dtype=np.intp)][:, kept.kinds]
    return np.column_stack([each, each[:, kept.moved], np.zeros(len(cures))])


def _cost(found: Walk, head: dict[str, Any], cure: int, at: Ints, parts: Collection[str]) -> Floats:
    """(s,) money of a remedy from each state, with its way and its order."""
    remedy = head["remedies"][cure]
    order = head["money"]["trip"] if _missing(remedy, parts) else 0.0
    walked = found.money[np.arange(len(at)), at]
    return np.where(at >= 0, np.maximum(walked + remedy["cost"] + order, 1e-6), FAR)


def _missing(remedy: dict[str, Any], parts: Collection[str]) -> bool:
    return bool(remedy["order"]) and not set(parts) & set(remedy["faults"])


def _ends(weighed: Weighed, kept: Left) -> Floats:
    """(3, n) money of the endings: another machine, stopping, nothing is wrong."""
    money, sick = weighed.pocket.head["money"], _sick(weighed, kept)
    alike = np.ones(len(sick))
    return np.array([money["replace"] * alike, money["stop"] * alike, money["explain"] + money["missed"] * sick])


ENDINGS = ("advise another machine", "stop, unrepaired", "nothing is wrong")


def _sick(weighed: Weighed, kept: Left) -> Floats:
    """(n,) whether anything is wrong."""
    there = np.array([bool(weighed.pocket.head["kinds"][k]["left"]) for k in kept.kinds], dtype=np.float64)
    return np.concatenate([there, there[kept.moved], [1.0]])


def _picked(weighed: Weighed, found: Walk, kept: Left, works: Floats, *, here: int, cost: Floats) -> list[Table]:
    """The checks worth following, their bands joined to a few."""
    head, k, t = weighed.pocket.head, len(kept.kinds), len(kept.moved)
    open_ = [s for n, s in weighed.pocket.checks.items() if n not in weighed.groups and s.facts["demand"] >= 0]
    near = {s.facts["id"]: int(found.nearest(s.facts["demand"], here)[here]) for s in open_}
    every = tables(kept, [s for s in open_ if near[s.facts["id"]] >= 0])
    seen = [*range(k), k + t]
    sound = 1.0 - _sick(weighed, kept)[seen]
    tried = Trying(
        np.vstack([works[:, seen], sound]), np.append(cost, head["money"]["explain"]),
        min(head["money"]["replace"], head["money"]["stop"]),
    )  # fmt: skip
    weight = np.append(kept.mass, kept.unknown)
    own = [found.money[here, near[t.shown.facts["id"]]] + t.shown.facts["cost"] for t in every]
    eased = float(kept.mass[kept.moved].sum())
    going = [i for i, t in enumerate(every) if eased > LIKELY and t.shown.facts["goes"]]
    best = chosen(tried, [t.chances[:, seen] for t in every], weight, np.array(own), perishable=going)
    return [_joined(tried, every[i], seen, weight) for i in best]


def _joined(tried: Trying, one: Table, seen: list[int], weight: Floats) -> Table:
    if not len(one.edges):
        return one
    keep = bands(tried, one.chances[: one.fine, seen], weight)
    whole = np.vstack([merged(one.chances[: one.fine], keep), one.chances[one.fine :]])
    return replace(one, chances=whole, edges=one.edges[keep[:-1]], fine=len(keep))


def _joint(kept: Left, *, out: bool) -> Floats:
    """(n,) weights of the states. out : the machine stands outside already, so what moving changes is changed."""
    k, moved = len(kept.kinds), kept.moved
    joint = np.concatenate([kept.mass, np.zeros(len(moved)), [kept.unknown]])
    if out:
        joint[k : k + len(moved)] = joint[moved]
        joint[moved] = 0.0
    return joint


def _children(lay: Guide, joint: Floats, here: int, z: int) -> Floats:
    """Weights after each outcome of a check, (r, n)."""
    a, b = lay.rows[z]
    there = joint.copy()
    if lay.crosses[here, z]:
        source, target = lay.moving
        there[target] += joint[source]
        there[source] = 0.0
    return np.asarray(lay.table[a:b] * there)


def _looks(lay: Guide, joint: Floats, picked: Sequence[Table], here: int) -> list[Way]:
    """Checks, each followed by the course that the guess would go."""
    if not picked:
        return []
    parts = [_children(lay, joint, here, z) for z in range(len(picked))]
    course = np.repeat(np.arange(len(picked)), [len(p) for p in parts])
    done = np.eye(len(picked), dtype=np.bool_)[course]
    front = Front(np.concatenate(parts), lay.land[here, course], done, course)
    money = courses(lay, front.some(front.joint.sum(axis=1) > 0), len(picked), followed=FOLLOWED)
    now = Front(joint[None], np.array([here]), np.zeros((1, len(picked)), dtype=np.bool_), np.zeros(1, dtype=np.int64))
    saved, paid = savings(lay, now, _without(lay, joint, here), here)
    out = []
    for z, one in enumerate(picked):
        own, at = float(lay.price[here, z]), int(lay.land[here, z])
        pays = float(saved[0, z] / max(paid[0, z], 1e-9)) if saved[0, z] > paid[0, z] else 0.0
        out.append(Way("check", one.shown.record.id, at, own, own + float(money[z]), pays))
    return out


def _without(lay: Guide, joint: Floats, node: int) -> Floats:
    """(1,) guessed cost of a belief without any check."""
    bare = replace(lay, checks=())
    place = np.array([node])
    return choose(bare, Front(joint[None], place, np.zeros((1, 0), dtype=np.bool_), place)).without


def _deeds(
    weighed: Weighed, found: Walk, lay: Guide, cures: Sequence[int], *, joint: Floats, here: int, parts: Collection[str]
) -> list[Way]:
    """Repairs, hand overs, orders and endings, each followed by the guess."""
    head, home, out = weighed.pocket.head, found.home, list[Way]()
    works = lay.cures
    for d, cure in enumerate(cures):
        remedy = head["remedies"][cure]
        if _missing(remedy, parts):
            own = float(found.money[here, home]) + head["money"]["trip"]
            held = lay.cost.copy()
            held[:, d] -= head["money"]["trip"]
            later = float(_without(replace(lay, cost=held), joint, home)[0])
            out.append(Way("order", remedy["name"], home, own, own + later))
            continue
        own, at = float(lay.cost[here, d]), int(found.nearest(remedy["demand"], here)[here])
        if at < 0:
            continue
        rest = (1.0 - works[d]) * joint
        others = [i for i in range(len(cures)) if i != d]
        bare = replace(lay, cures=lay.cures[others], tolls=lay.tolls[others], cost=lay.cost[:, others])
        toll = float((works[d] * lay.tolls[d]) @ joint) + remedy["again"] * float(rest.sum())
        later = float(_without(bare, rest, home)[0])
        out.append(Way(remedy["kind"], remedy["name"], at, own, own + toll + later))
    way = float(found.money[here, home])
    if np.isfinite(way):
        money = lay.ends @ joint
        out += [Way("end", n, home, way, way + float(m)) for n, m in zip(ENDINGS, money, strict=True)]
    return out


def _ranked(options: Sequence[Way], found: Walk, here: int) -> list[Way]:
    """By promise; of checks as good as the best those first that pay by themselves and leave the machine where it is."""
    best = min(options, key=lambda o: o.promise)
    moves = {id(o): bool(not found.outside[here] and found.outside[o.at]) for o in options}
    limit = best.promise * (1.0 + TIE) if best.pays else -np.inf
    looked = best.promise * (1.0 + LOOK_FIRST) if moves[id(best)] else -np.inf

    def key(option: Way) -> tuple[bool, bool, float]:
        stays = not moves[id(option)]
        near = option.promise <= limit or (stays and option.pays >= STANDS and option.promise <= looked)
        first = option.pays > 0 and near
        return not first, first and not stays, round(-option.pays if first else option.promise, 6)

    return sorted(options, key=key)


def _confirmed(
    weighed: Weighed, lay: Guide, picked: Sequence[Table], cures: Sequence[int], *, joint: Floats, ranked: list[Way]
) -> list[Way]:
    """The check that would confirm the cause goes before its repair where it costs hardly more."""
    best, remedies = ranked[0], weighed.pocket.head["remedies"]
    names = [remedies[i]["name"] for i in cures]
    if best.what not in names:
        return ranked
    there = joint * (lay.cures[names.index(best.what)] > 0)
    if there.sum() >= CONFIRMED:
        return ranked
    asked = [t.shown.record.id for t in picked]
    for option in ranked[1:]:
        if option.kind == "check" and option.promise <= best.promise * (1.0 + HARDLY):
            a, b = lay.rows[asked.index(option.what)]
            chance, cause = lay.table[a:b] @ joint, lay.table[a:b] @ there
            if bool(((chance >= LIKELY_ANSWER) & (cause >= CONFIRMED * chance)).any()):
                return [option, *(o for o in ranked if o is not option)]
    return ranked
