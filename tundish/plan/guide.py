"""Whole courses of checks, looked through to their end: where a plan with few steps ahead would stop too early.

One or two steps ahead see no sense in a cheap check that needs three others beside it. The guide follows every outcome to
the end: at each belief the check that saves most for its cost while one saves more than it costs, then the base policy.
What a belief is worth without checks is first guessed by a formula (remedies by chance over cost, each with its own way,
or an ending), so that thousands of beliefs are weighed at once. The course that looks best is then paid for exactly, with
the base policy at each of its ends: that figure can be kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from tundish.plan.base import worth
from tundish.plan.change import Change, Floats, Ints
from tundish.plan.ends import worths
from tundish.plan.exact import Policy
from tundish.plan.frame import Option, Situation, foresee, reach, usable_now
from tundish.plan.lookahead import Scout
from tundish.plan.lump import gather
from tundish.plan.problem import END, LOOKS

Bools = npt.NDArray[np.bool_]
# Longest course of checks, and the share of the belief below which a branch is not followed further. Our choice.
LONGEST, FOLLOWED = 7, 0.004
FAR = 1e9


@dataclass(frozen=True, eq=False)
class Guide:
    """A problem laid out for guessing in bulk.

    checks : (z,) actions, `rows` (z, 2) where each one's outcomes stand in table (r, n). price : (nodes, z) money of each
    with its way, land : (nodes, z) where it is done, crosses : (nodes, z) whether the machine is moved on the way.
    states : (n,) the hidden states that checks can meet; those that only repairs leave are left out. moving : which of them
    become which when the machine is moved. cures, tolls : (d, n). cost : (nodes, d) of each remedy with its way.
    ends : (e, n) money of each ending.
    """

    scout: Scout
    checks: tuple[int, ...]
    rows: tuple[tuple[int, int], ...]
    table: Floats
    price: Floats
    land: Ints
    crosses: Bools
    states: Ints
    moving: tuple[Ints, Ints]
    cures: Floats
    tolls: Floats
    cost: Floats
    ends: Floats


@dataclass(frozen=True, eq=False)
class Front:
    """Beliefs on the way: joint (m, n) chance x weight, node (m,), done (m, z), course (m,) the course each belongs to."""

    joint: Floats
    node: Ints
    done: Bools
    course: Ints

    def some(self, which: Bools | Ints) -> Front:
        """Those chosen."""
        return Front(self.joint[which], self.node[which], self.done[which], self.course[which])


@dataclass(frozen=True, eq=False)
class Choice:
    """What to do at each belief of a front. check : (m,) place in `checks`, -1 to stop. money : (m,) its cost x chance.
    without : (m,) guessed cost x chance when no more is checked.
    """

    check: Ints
    money: Floats
    without: Floats


def guide(scout: Scout, situation: Situation) -> Guide:
    """Lay a problem out for a situation: what is done stays done, what is held is held."""
    frame = scout.frame
    actions, nodes = frame.problem.actions, range(len(frame.problem.access.names))
    checks = tuple(
        a
        for a, action in enumerate(actions)
        if action.kind in LOOKS and not action.live and usable_now(frame, situation, a)
    )
    remedies = [
        a for a, action in enumerate(actions) if action.cures is not None and not situation.done >> a & 1
    ]
    ways = [[_nearest(scout, node, a) for a in checks] for node in nodes]
    price = np.array(
        [[w.move + frame.cost[a] if w else FAR for a, w in zip(checks, r, strict=True)] for r in ways]
    )
    land = np.array([[w.node if w else n for w in r] for n, r in enumerate(ways)], dtype=np.int64)
    shape = (len(nodes), len(checks))
    changes = frame.problem.access.changes
    crosses = np.array([[(n, int(to)) in changes for to in r] for n, r in enumerate(land)], dtype=np.bool_)
    # Outcome rows of the checks side by side, so that all of them are weighed by one product
    spans = np.array([(frame.first[a], frame.first[a + 1]) for a in checks], dtype=np.int64).reshape(-1, 2)
    taken = np.concatenate([np.arange(a, b) for a, b in spans]) if checks else np.zeros(0, dtype=np.int64)
    starts = np.cumsum([0, *(b - a for a, b in spans)]).tolist()
    works = np.array([actions[a].cures for a in remedies]).reshape(len(remedies), frame.table.shape[1])
    tolls = np.array([_tolled(scout, a) for a in remedies]).reshape(works.shape) * (works > 0)
    source, target = _moved(next(iter(changes.values()), None))
    met = np.flatnonzero((frame.problem.weights > 0) | np.isin(np.arange(works.shape[1]), target))
    place = np.full(works.shape[1], -1, dtype=np.int64)
    place[met] = np.arange(len(met))
    kept = np.isin(source, met)
    return Guide(
        scout,
        checks,
        tuple(pairwise(starts)),
        frame.table[taken.astype(np.int64)][:, met],
        price.reshape(shape),
        land.reshape(shape),
        crosses.reshape(shape),
        met,
        (place[source[kept]], place[target[kept]]),
        works[:, met],
        tolls[:, met],
        np.array([[_remedy_cost(scout, situation, node, a) for a in remedies] for node in nodes]),
        np.array([_ending(scout, a) for a in frame.endings if actions[a].guard is None]).reshape(
            -1, works.shape[1]
        )[:, met],
    )


def choose(lay: Guide, front: Front) -> Choice:
    """The check that saves most for its cost at each belief, while it saves more than it costs."""
    m = len(front.joint)
    check, money = np.full(m, -1, dtype=np.int64), np.zeros(m)
    without = _guessed(lay, front.joint, front.node)
    if not lay.checks:
        return Choice(check, money, without)
    for node in np.unique(front.node).tolist():
        here = np.flatnonzero(front.node == node)
        saved, paid = savings(lay, front.some(here), without[here], node)
        pays = saved > paid * (1.0 + 1e-9)
        # By saving over cost: in a course all that pays is done sooner or later, so the best ratio goes first
        score = np.where(pays, saved / np.maximum(paid, 1e-12), -np.inf)
        best = np.argmax(score, axis=1)
        good = np.take_along_axis(pays, best[:, None], axis=1)[:, 0]
        check[here] = np.where(good, best, -1)
        money[here] = np.where(good, np.take_along_axis(paid, best[:, None], axis=1)[:, 0], 0.0)
    return Choice(check, money, without)


def savings(lay: Guide, front: Front, without: Floats, node: int) -> tuple[Floats, Floats]:
    """What each check saves and what it costs at beliefs in one access state, (m, z) each, x chance."""
    after = np.full((len(front.joint), len(lay.checks)), np.inf)
    for z in np.flatnonzero(lay.price[node] < FAR).tolist():
        rows = _split(lay, front.joint, node, z)
        land = np.full(len(rows), lay.land[node, z], dtype=np.int64)
        after[:, z] = _guessed(lay, rows, land).reshape(len(front.joint), -1).sum(axis=1)
    saved = np.where(front.done, -np.inf, without[:, None] - after)
    return saved, lay.price[node] * front.joint.sum(axis=1)[:, None]


def pays_now(lay: Guide, situation: Situation, weights: Floats) -> dict[int, float]:
    """Actions of the checks that save more than they cost by themselves, guessed -> how many times more."""
    if not lay.checks:
        return {}
    node = np.array([situation.node])
    front = Front(weights[None, lay.states], node, np.zeros((1, len(lay.checks)), dtype=np.bool_), node)
    saved, paid = savings(lay, front, _guessed(lay, front.joint, node), situation.node)
    return {
        a: float(s / max(p, 1e-9)) for a, s, p in zip(lay.checks, saved[0], paid[0], strict=True) if s > p
    }


def courses(
    lay: Guide, front: Front, number: int, *, exact: bool = False, followed: float = FOLLOWED
) -> Floats:
    """Expected cost x chance of `number` courses that go on from a front, (number,).

    exact : ends are paid at the base policy's own cost, not guessed. followed : least share of a belief that is split on.
    """
    total = np.zeros(number)
    whole = front.joint.sum() / max(number, 1)
    for depth in range(LONGEST + 1):
        if not len(front.joint):
            break
        choice = choose(lay, front)
        stops = (choice.check < 0) | (depth == LONGEST) | (front.joint.sum(axis=1) < followed * whole)
        np.add.at(total, front.course[stops], _ends(lay, front.some(stops), choice.without[stops], exact))
        going = np.flatnonzero(~stops)
        np.add.at(total, front.course[going], choice.money[going])
        front = _next(lay, front.some(going), choice.check[going])
    return total


def looked_through(
    lay: Guide,
    situation: Situation,
    weights: Floats,
    options: Sequence[Option],
    *,
    exact: bool = False,
    followed: float = FOLLOWED,
) -> Floats:
    """Expected cost of the whole call for each option, (options,), when it is done first and the guide goes on after it.

    What follows a repair or an order is the base policy, as in one step ahead.
    """
    frame, scout = lay.scout.frame, lay.scout
    total = np.zeros(len(options))
    joint, node, done, course = [], [], [], []
    for i, option in enumerate(options):
        total[i], children = foresee(frame, situation, option, weights)
        looks = option.action in lay.checks
        for child in children:
            if not looks:
                total[i] += (
                    child.chance
                    * worth(scout.base, child.situation, gather(scout.base.lumps, child.weights))[0]
                )
                continue
            joint.append(child.chance * child.weights[lay.states])
            node.append(child.situation.node)
            done.append([bool(child.situation.done >> a & 1) for a in lay.checks])
            course.append(i)
    if joint:
        front = Front(np.array(joint), np.array(node), np.array(done), np.array(course))
        total += courses(lay, front, len(options), exact=exact, followed=followed)
    return total


def after_that(lay: Guide, situation: Situation, weights: Floats) -> Option | None:
    """What the course does at a belief on its way: the guide's check, else the base policy's option."""
    done = np.array([[bool(situation.done >> a & 1) for a in lay.checks]])
    front = Front(weights[None, lay.states], np.array([situation.node]), done, np.zeros(1, dtype=np.int64))
    chosen = int(choose(lay, front).check[0])
    if chosen < 0:
        return worth(lay.scout.base, situation, gather(lay.scout.base.lumps, weights))[1]
    return _nearest(lay.scout, situation.node, lay.checks[chosen])


def guided_policy(scout: Scout) -> Policy:
    """The course itself as a policy: the guide's checks, then the base policy to the end."""
    start = guide(scout, scout.frame.start)
    looks = sum(1 << a for a, action in enumerate(scout.frame.problem.actions) if action.kind in LOOKS)

    def option(situation: Situation, weights: Floats) -> Option | None:
        if situation.done & ~looks or situation.held != scout.frame.start.held:
            return worth(scout.base, situation, gather(scout.base.lumps, weights))[1]
        return after_that(start, situation, weights)

    return option


def _guessed(lay: Guide, joint: Floats, node: Ints) -> Floats:
    """Guessed cost x chance without checks, (m,): remedies by chance over cost, then the cheapest ending."""
    mass = joint.sum(axis=1)
    ends = (joint @ lay.ends.T).min(axis=1) if len(lay.ends) else np.full(len(joint), np.inf)
    if not len(lay.cures):
        return np.asarray(ends)
    share = 1.0 / np.maximum(mass, 1e-300)[:, None]
    p = (joint @ lay.cures.T) * share
    c = lay.cost[node] + (joint @ lay.tolls.T) * share
    order = np.argsort(-p / c, axis=1, kind="stable")
    p, c = np.take_along_axis(p, order, axis=1), np.take_along_axis(c, order, axis=1)
    left = np.maximum(1.0 - np.cumsum(p, axis=1), 0.0)
    before = np.concatenate([np.ones((len(p), 1)), left[:, :-1]], axis=1)
    # An ending that is cheap for a few machines only (nothing is wrong) gets dearer per machine as the others are cured
    each = np.minimum(ends[:, None] * share, lay.ends.max(axis=1).min())
    tried = np.cumsum(c * before, axis=1) + left * each
    return np.asarray(np.minimum(tried.min(axis=1) * mass, ends))


def _split(lay: Guide, joint: Floats, node: int, z: int) -> Floats:
    """Beliefs x outcomes of a check, (m x outcomes, n)."""
    a, b = lay.rows[z]
    there = joint
    if lay.crosses[node, z] and len(lay.moving[0]):
        source, target = lay.moving
        there = joint.copy()
        there[:, target] += joint[:, source]
        there[:, source] = 0.0
    return np.asarray((there[:, None, :] * lay.table[a:b]).reshape(-1, joint.shape[1]))


def _next(lay: Guide, front: Front, check: Ints) -> Front:
    parts = []
    for node in np.unique(front.node).tolist():
        for z in np.unique(check[front.node == node]).tolist():
            here = np.flatnonzero((front.node == node) & (check == z))
            a, b = lay.rows[z]
            joint = _split(lay, front.joint[here], node, z)
            done = front.done[here].copy()
            # Its error would only repeat, so a check is asked once
            done[:, z] = True
            parts.append(
                Front(
                    joint,
                    np.full(len(joint), lay.land[node, z], dtype=np.int64),
                    np.repeat(done, b - a, axis=0),
                    np.repeat(front.course[here], b - a),
                )
            )
    if not parts:
        return front
    whole = Front(
        *(np.concatenate([getattr(p, f) for p in parts]) for f in ("joint", "node", "done", "course"))
    )
    return whole.some(whole.joint.sum(axis=1) > 1e-12)


def _ends(lay: Guide, front: Front, without: Floats, exact: bool) -> Floats:
    if not exact or not len(without):
        return without
    base, start = lay.scout.base, lay.scout.frame.start
    mass = front.joint.sum(axis=1)
    weights = np.zeros((len(mass), lay.scout.frame.table.shape[1]))
    weights[:, lay.states] = front.joint / mass[:, None]
    done = [start.done | sum(1 << a for a, d in zip(lay.checks, row, strict=True) if d) for row in front.done]
    at = [Situation(n, d, start.held) for n, d in zip(front.node.tolist(), done, strict=True)]
    merged = np.array([gather(base.lumps, w) for w in weights])
    return np.asarray(mass * worths(base, at, merged))


def _nearest(scout: Scout, node: int, action: int) -> Option | None:
    return min(reach(scout.frame, node, action), key=lambda o: o.move, default=None)


def _remedy_cost(scout: Scout, situation: Situation, node: int, action: int) -> float:
    """Money of a remedy from a node: its way, its own cost, and the order when its part is not in hand."""
    frame = scout.frame
    near = _nearest(scout, node, action)
    missing = frame.needs[action] & ~situation.held
    order = min(
        (frame.cost[a] for a in range(len(frame.cost)) if missing and _grants(scout, a) & missing),
        default=0.0,
    )
    return FAR if near is None else max(near.move + frame.cost[action] + order, 1e-6)


def _grants(scout: Scout, action: int) -> int:
    return sum(
        {scout.frame.grants[r] for r in range(scout.frame.first[action], scout.frame.first[action + 1])}
    )


def _tolled(scout: Scout, action: int) -> Floats:
    frame = scout.frame
    rows = range(frame.first[action], frame.first[action + 1])
    paid = [frame.tolled[frame.paying[r]] for r in rows if r in frame.paying]
    return np.asarray(np.sum([np.zeros(frame.table.shape[1]), *paid], axis=0), dtype=np.float64)


def _ending(scout: Scout, action: int) -> Floats:
    """(n,) money of an ending by state."""
    what = scout.frame.problem.actions[action]
    assert what.kind == END
    return np.asarray(what.cost + _tolled(scout, action), dtype=np.float64)


def _moved(change: Change | None) -> tuple[Ints, Ints]:
    """States that surely become another one, and which."""
    if change is None:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    sure = (change.chance > 0.5) & (change.source != change.target)
    return change.source[sure], change.target[sure]
