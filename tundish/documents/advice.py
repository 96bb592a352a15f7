"""Advice and plans as plain facts, from which the terminal, the drawing and the JSON are made."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

from tundish.appliance.records import Description
from tundish.documents.doings import UNTRACKED, step_facts
from tundish.documents.facts import DEFERENCE, notices
from tundish.documents.fix_facts import unagreed
from tundish.documents.handover import handover_words
from tundish.documents.words import plain
from tundish.plan.advise import PROVEN, Lead, Proposal, causes
from tundish.plan.change import Floats
from tundish.plan.demands import domain_of
from tundish.plan.shop import Shop
from tundish.plan.states import STEPS, Step
from tundish.plan.tree import Branch, Node
from tundish.store.counsel import Counsel

Facts = dict[str, Any]
Tops = Callable[[Floats], tuple[tuple[str, float], ...]]
HANDED, ORDER = "hand over", "order"
LOOK = next(step for step in STEPS if step.name == "look, smell and ask")
PLUG = next(step for step in STEPS if step.name == "pull the plug")
OUT_OF_USE = next(step for step in STEPS if step.name == "put out of use")
WIRING = "house wiring"
RETURN = next(step for step in STEPS if step.name == "return to use")
GIVEN_BACK = (PROVEN, "nothing is wrong")
# Said of every live check that may be proposed: the planner's rule, and the conditions of common practice (GS38).
LIVE = (
    "Live work, for somebody qualified only. Reason: no isolated check saves as much now. Second adult aware, leads clipped on "
    "dead, dry floor, one hand, under 60 s energised, the reason written down."
)


def advice_facts(asked: Counsel) -> Facts:
    """The next action, the others by what they cost, and what is barred."""
    page = {**_head(asked), "action": None, "others": [], "barred": [], "promise": None}
    if asked.halt:
        return page
    advice = asked.advice()
    told = [_as_it_stands(asked, proposal_facts(asked.found.description, p, asked.shop)) for p in advice.options]
    return {
        **page,
        "action": told[0],
        "others": told[1:],
        "barred": [{"name": b.name, "why": b.why} for b in advice.barred],
        "promise": advice.promise,
    }


def plan_facts(asked: Counsel, depth: int) -> Facts:
    """The plan as a tree, so many actions deep."""
    matter = asked.found.matter
    title = f"Plan of call {asked.state.call}: {matter.family}, {matter.complaint}"
    page = {**_head(asked), "title": title, "depth": depth, "tree": None}
    if asked.halt:
        return page
    node, wired = asked.plan(depth)
    tops = partial(causes, wired)
    return {**page, "tree": node_facts(asked.found.description, node, asked.shop, tops)}


def _as_it_stands(asked: Counsel, said: Facts) -> Facts:
    """A proposal as this call stands: what was never looked at, what was not agreed to, what is on order."""
    state, checks = asked.state, asked.found.description.checks
    check = checks.get(said["check"])
    there = bool(said["steps"]) or said["kind"] in ("repair", "test") or (check and check.state != "NONE")
    # The planner reckons with a machine that was looked at; before the first step on record nobody did
    if state.safety is None and there and not asked.asked.phone:
        said["steps"] = [step_facts(LOOK), *(s for s in said["steps"] if s["step"] != LOOK.name)]
    # What works is given back as such before the call may end so
    if said["name"] in GIVEN_BACK and state.safety is not None and state.safety.use == "in hand":
        said["steps"] = [*said["steps"], step_facts(RETURN)]
    if said["kind"] == HANDED:
        said["steps"] = [*said["steps"], *map(step_facts, _made_safe(asked, said["faults"]))]
    mends = said["kind"] in ("repair", ORDER)
    said["consent"] = next(filter(None, (unagreed(state, f) for f in said["faults"])), "") if mends else ""
    waits = said["kind"] == ORDER and set(said["faults"]) <= set(state.ordered)
    return {**said, **_awaited(said["faults"])} if waits else said


def _made_safe(asked: Counsel, faults: Sequence[str]) -> list[Step]:
    """What is done before a machine is left to an electrician: off the outlet, and out of use."""
    known, here = asked.found.description.faults, asked.standing.safety
    if not any(domain_of(known[f]) == WIRING for f in faults):
        return []
    off = [PLUG] if here.power == "on" and here.supply == "plug" else []
    return [*off, *([OUT_OF_USE] if here.use == "in hand" else [])]


def _awaited(faults: Sequence[str]) -> Facts:
    named = "/".join(faults)
    return {
        "label": f"wait for the part for {named}; come back with it",
        "why": f"the part for {named} is on order, and nothing else is worth doing before it is there.",
        "record": f"tundish do CALL take {named}",
        "steps": [],
    }


def _head(asked: Counsel) -> Facts:
    state, matter = asked.state, asked.found.matter
    return {
        "call": state.call,
        "name": (state.opened.body.name if state.opened else "") or state.call,
        "family": matter.family,
        "complaint": matter.complaint,
        "state": state.safety.name if state.safety else UNTRACKED,
        "currency": asked.shop.currency,
        "qualified": asked.shop.qualified,
        "halt": asked.halt,
        "notices": notices(asked.found),
        "deference": DEFERENCE,
    }


def proposal_facts(description: Description, proposal: Proposal, shop: Shop) -> Facts:
    """Something to do now, with all a technician needs for it."""
    check = description.checks.get(proposal.check)
    return {
        "name": proposal.name,
        "label": label_of(description, proposal.name),
        "kind": proposal.kind,
        "check": proposal.check,
        "faults": list(proposal.faults),
        "where": check.where if check else "",
        "instrument": "" if check is None else check.instrument.name if check.instrument else "look",
        "how": check.step if check else "",
        "live": bool(check and check.live),
        "steps": [step_facts(step) for step in proposal.steps],
        "why": proposal.why,
        "cost": proposal.cost,
        "minutes": proposal.minutes,
        "promise": proposal.promise,
        "saves": proposal.saves,
        "currency": shop.currency,
        "cautions": [*_said_first(description, proposal), *map(plain, proposal.cautions)],
        "leads": [lead_facts(description, lead) for lead in proposal.leads],
        "record": _record(description, proposal),
    }


def lead_facts(description: Description, lead: Lead) -> Facts:
    """What an outcome leads to."""
    return {
        "outcome": lead.outcome,
        "chance": lead.chance,
        "then": label_of(description, lead.then) if lead.then else "the call ends",
        "causes": [list(pair) for pair in lead.causes],
    }


def node_facts(description: Description, node: Node, shop: Shop, tops: Tops | None = None) -> Facts:
    """A plan from one of its actions on."""
    return {
        "action": node.action,
        "label": label_of(description, node.action),
        "kind": node.kind,
        "place": node.place,
        "cost": node.cost,
        "currency": shop.currency,
        "reach": node.reach,
        "top": [list(pair) for pair in tops(node.weights)] if tops else [],
        "branches": [_branch_facts(description, branch, shop, tops) for branch in node.branches],
    }


def _branch_facts(description: Description, branch: Branch, shop: Shop, tops: Tops | None) -> Facts:
    then = node_facts(description, branch.then, shop, tops) if branch.then else None
    return {
        "outcome": branch.outcome,
        "chance": branch.chance,
        "reach": branch.reach,
        "ends": branch.ends,
        "then": then,
    }


def label_of(description: Description, name: str) -> str:
    """An action in words: a check with its title, anything else by its own name."""
    check = description.checks.get(name)
    return f"{name} {check.title}" if check else name


def _said_first(description: Description, proposal: Proposal) -> list[str]:
    """What must be said before all other cautions: live work, and where our work ends."""
    check = description.checks.get(proposal.check)
    said = [LIVE] if check and check.live else []
    if proposal.kind == HANDED:
        domains = (domain_of(description.faults[f]) for f in proposal.faults)
        said.append(handover_words(next(domains, "")))
    return said


def _record(description: Description, proposal: Proposal) -> str:
    """How to write down that it was done."""
    if proposal.check:
        answers = [answer.name for answer in description.checks[proposal.check].answers]
        which = f", one of: {', '.join(answers)}" if answers else ""
        return f"tundish reading CALL {proposal.check} VALUE{which}"
    if proposal.kind == "question":
        return f'tundish told CALL "{proposal.name}", with --no for a no'
    if proposal.kind == "test":
        return "tundish do CALL tested works, or: tundish do CALL tested still fails"
    if proposal.kind in DONE:
        return f"tundish do CALL {DONE[proposal.kind]} {'/'.join(proposal.faults)}"
    return f"tundish do CALL {proposal.name}"


# Repairs and hand overs are recorded by their causes; the rest by the name of the action.
DONE: Mapping[str, str] = {"repair": "repair", HANDED: HANDED}
