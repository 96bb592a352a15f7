"""What each way to end a call needs to be there."""

from __future__ import annotations

from tundish.call.deals import ConsentRefused
from tundish.call.errors import MoveError
from tundish.call.fold import CallState


def wanting(state: CallState, as_: str) -> MoveError | None:
    """Why a call may not end so, None when it may. The safety of the machine is asked elsewhere."""
    needs, cure = {
        "proven": _proven(state),
        "unproven": ("", "")
        if state.repairs
        else ("a repair", "end as stopped, or as nothing wrong; nothing was repaired"),
        "nothing wrong": _unrepaired(state, "end as proven, or as unproven"),
        "stopped": _unrepaired(state, "end as unproven; the repair stays on record"),
        "handed over": ("", "")
        if state.handed
        else ("somebody who takes over", "record the hand over first"),
        "refused": ("", "")
        if _refused(state)
        else ("a refusal that says what is owed", "record the refusal first, with what is owed"),
    }.get(as_, ("", ""))
    return MoveError(seen=f"the call ended as {as_}", allowed=needs, do=cure) if needs else None


def _proven(state: CallState) -> tuple[str, str]:
    if not state.repairs:
        return "a repair", "record it, or end with nothing wrong"
    if state.works is False:
        return "a repair whose test was passed", "repair what is left and test again, or end as unproven"
    if not state.readings and not state.works:
        return (
            "a repair with readings taken since",
            "take the readings that prove it, or end as unproven",
        )
    return "", ""


def _unrepaired(state: CallState, cure: str) -> tuple[str, str]:
    return ("no repair", cure) if state.repairs else ("", "")


def _refused(state: CallState) -> bool:
    word = state.job.word
    return word is not None and isinstance(word.body, ConsentRefused)
