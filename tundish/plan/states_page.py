"""The safety table as text for the pages: rows of a table and a diagram, made from `states`, never typed."""

from __future__ import annotations

from collections.abc import Iterable

from tundish.plan.lawful_checks import CODES, LEAST, OTHERS, TOUCHES
from tundish.plan.states import STEPS, Step


def steps_table() -> str:
    """The steps as a Markdown table."""
    # Words, not symbols, since technicians read this page too
    head = "| step | from | to | minutes | needs | proof | who | source |\n|---|---|---|---|---|---|---|---|"
    return "\n".join([head, *map(_row, STEPS)])


def codes_table() -> str:
    """What each state code, touch and foreign domain asks, as a Markdown table."""
    rows = [f"| {code} | {_needs(needs.items())} |" for code, needs in CODES.items()]
    rows += [f"| touches {t} | power {_or(values)}; who: {LEAST[t]} |" for t, values in TOUCHES.items()]
    rows += [f"| {domain} | never: {who} |" for domain, who in OTHERS.items()]
    return "\n".join(["| code or touch | lawful when |", "|---|---|", *rows])


def diagram(facet: str) -> str:
    """The steps of a facet as a Mermaid state diagram."""
    lines = [f"    {_node(s.start)} --> {_node(s.end)}: {s.name}" for s in STEPS if s.facet == facet]
    return "\n".join(["stateDiagram-v2", *lines])


def _row(step: Step) -> str:
    low, high = step.minutes
    minutes = f"{low:g}" if low == high else f"{low:g}-{high:g}"
    cells = [
        step.name,
        f"{step.facet} {step.start}",
        step.end,
        minutes,
        _needs(step.needs.items()),
        step.proof,
    ]
    return "| " + " | ".join([*cells, step.who, step.source]) + " |"


def _needs(needs: Iterable[tuple[str, frozenset[str]]]) -> str:
    return "; ".join(f"{facet} {_or(values)}" for facet, values in needs) or "-"


def _or(values: frozenset[str]) -> str:
    return " or ".join(sorted(values))


def _node(value: str) -> str:
    return value.replace(" ", "_")
