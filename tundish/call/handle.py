"""Short names of calls: the first letters of the id, or of the name the call was given."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise, takewhile

from tundish.call.errors import HandleError

# Letters shown at least, so that a handle stays good when more calls come. Our choice.
SHORTEST = 4
LISTED = 8


@dataclass(frozen=True)
class CallHead:
    """A call in a list.

    call : id. name, family, complaint : of the opening as corrected, "" while the opening is missing.
    opened, last : moments of the opening and of the latest event. events : how many. ended : how, "" while it is open.
    """

    call: str
    name: str
    family: str
    complaint: str
    opened: str
    last: str
    events: int
    ended: str = ""


def resolve(text: str, heads: Sequence[CallHead]) -> str:
    """The id of the call meant by the first letters of its id or name; capitals do not matter.

    A name or id given in full wins over longer ones that begin alike. HandleError when no call or several
    fit.
    """
    asked = text.strip().lower()
    # Names may be the first letters of other names, so a full match must win or such a call has no name.
    whole = [head for head in heads if asked and asked in _keys(head)]
    found = whole or [head for head in heads if asked and any(key.startswith(asked) for key in _keys(head))]
    if len(found) == 1:
        return found[0].call
    if not found:
        raise HandleError(
            seen=f"call {text!r}", allowed=_listed(heads), do="use the first letters of one of these"
        )
    raise HandleError(
        seen=f"call {text!r}, which fits {len(found)} calls", allowed=_listed(found), do="type more letters"
    )


def handles(heads: Sequence[CallHead]) -> Mapping[str, str]:
    """The shortest first letters of each call's id that mean no other call: id to handle.

    >>> handles([CallHead("k7f3q0aa", "", "", "", "", "", 1), CallHead("k7f3qzaa", "", "", "", "", "", 1)])
    {'k7f3q0aa': 'k7f3q0', 'k7f3qzaa': 'k7f3qz'}
    """
    keys = sorted(key for head in heads for key in _keys(head))
    shared = dict.fromkeys(keys, 0)
    # A key shares the most letters with a neighbour in sorted order.
    for one, next_one in pairwise(keys):
        same = _same(one, next_one)
        shared[one], shared[next_one] = max(shared[one], same), max(shared[next_one], same)
    return {head.call: head.call[: max(SHORTEST, shared[head.call] + 1)] for head in heads}


def _keys(head: CallHead) -> tuple[str, ...]:
    return (head.call, head.name.lower()) if head.name else (head.call,)


def _same(one: str, other: str) -> int:
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(one, other, strict=False)))


def _listed(heads: Sequence[CallHead]) -> str:
    names = [f"{head.call} ({head.name or head.complaint})" for head in heads[:LISTED]]
    more = [f"{len(heads) - LISTED} more"] if len(heads) > LISTED else []
    return ", ".join(names + more) or "no call yet; open one"
