"""The checks of a handbook sheet in the order a visit goes: by the state the machine is in, then by what is open."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

# From asking to running: each next state asks for more. The codes are those of docs/description.md.
ORDER = ("NONE", "ISO", "STAT", "PWR", "FILL", "RUN")


def grouped(checks: Sequence[Mapping[str, Any]], labels: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Groups of checks: of one state, and within it of one access, in the order in which they first come.

    checks : the `Expect` of a sheet as plain facts. A code without a label is printed as it is.

    >>> groups = grouped([{"state": "RUN", "access": []}, {"state": "ISO", "access": ["OUT"]}], {})
    >>> [(group["state"], [part["access"] for part in group["parts"]]) for group in groups]
    [('ISO', ['OUT']), ('RUN', [''])]
    """
    states = dict.fromkeys(check["state"] for check in checks)
    rank = {state: place for place, state in enumerate(ORDER)}
    return [
        {
            "state": state,
            "title": labels.get(f"state_{state}", ""),
            "parts": _parts([check for check in checks if check["state"] == state], labels),
        }
        for state in sorted(states, key=lambda state: rank.get(state, len(rank)))
    ]


def _parts(checks: Sequence[Mapping[str, Any]], labels: Mapping[str, Any]) -> list[dict[str, Any]]:
    # Fewest things to open first: nobody takes a panel off to read what can be read without.
    kinds = sorted(dict.fromkeys(tuple(check["access"]) for check in checks), key=len)
    return [
        {
            "access": ", ".join(labels.get(f"access_{word}", word) for word in kind),
            "checks": [check for check in checks if tuple(check["access"]) == kind],
        }
        for kind in kinds
    ]
