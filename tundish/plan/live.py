"""Live work comes last: a live check is lawful only when no isolated check of the same or better value is
left.

Value is what a check saves before its own cost: expected cost of the base policy now, less the same after the
answer. So minutes saved never buy a live reading. Rule: isolated first, live only where the reading cannot be
had dead (HSE GS38, 4th ed. 2015; 29 CFR 1910.333(a)(1)). Who is not qualified gets no live check at all.
"""

from __future__ import annotations

from tundish.plan.base import Base, worth
from tundish.plan.change import Floats
from tundish.plan.frame import NEVER, Frame, Option, Situation, arrive, options, within_guard
from tundish.plan.lump import gather
from tundish.plan.problem import LOOKS

SAME = 1e-9


def lawful(frame: Frame, base: Base, situation: Situation, weights: Floats) -> tuple[Option, ...]:
    """Options lawful in this situation at this belief: guards kept, live checks only as the last resort."""
    found = options(frame, situation)
    actions = frame.problem.actions
    # Guards are judged on the belief on arrival, since moving may have changed the machine
    if any(actions[o.action].guard for o in found):
        found = tuple(
            o for o in found if within_guard(actions[o.action], arrive(frame, situation, o, weights))
        )
    if not any(actions[o.action].live for o in found):
        return found
    barred = barred_live(frame, base, situation, weights)
    return tuple(o for o in found if o.action not in barred)


def barred_live(frame: Frame, base: Base, situation: Situation, weights: Floats) -> frozenset[int]:
    """Live checks that may not be done now, because an isolated one is as good."""
    looks = {o.action for o in options(frame, situation) if frame.problem.actions[o.action].kind in LOOKS}
    live = {a for a in looks if frame.problem.actions[a].live}
    # Nothing is the least rival: a live reading that saves nothing is a risk for nothing
    best = max([0.0, *(saving(frame, base, situation, weights, action=a) for a in looks - live)])
    worst = {a: saving(frame, base, situation, weights, action=a) for a in live}
    return frozenset(a for a, gain in worst.items() if best >= gain - SAME)


def saving(frame: Frame, base: Base, situation: Situation, weights: Floats, *, action: int) -> float:
    """Expected money a check saves before its own cost and moves, under the base policy."""
    # Same place before and after: moves and minutes are kept out of the comparison
    known = Situation(situation.node, situation.done | 1 << action, situation.held)
    later = 0.0
    for row in range(frame.first[action], frame.first[action + 1]):
        joint = frame.table[row] * weights
        p = float(joint.sum())
        if p > NEVER:
            later += p * worth(base, known, gather(base.lumps, joint / p))[0]
    return worth(base, situation, gather(base.lumps, weights))[0] - later
