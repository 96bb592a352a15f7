"""What may be said by phone: what the customer can put right, as a chance, up to the stop line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tundish.appliance.records import PhoneFix, StopWord
from tundish.ask.matter import Matter, causes

# Causes told, and the chance from which one is worth a customer's time. Our choice; three are common practice.
TOLD, WORTH_SAYING = 3, 0.02
# What is never asked of a customer. Common practice, no source.
NEVER = (
    "opening a panel or anything held by a screw",
    "anything with the plug in that touches wires, plug or socket",
    "resetting a breaker or residual current device more than once",
    "draining or touching hot water",
    "bridging a switch, lock or cut-out",
)
LINE = "Stop there. If that does not settle it, leave it switched off and book the visit. Local codes and licensed trades come first."
# Ten times the chance -> words.
_SELDOM, _ALWAYS = "less than one time in ten", "nearly always"
_TIMES = ("three", "four", "five", "six", "seven", "eight", "nine")
_COUNTS = ("", "once", "twice", *(f"{n} times" for n in _TIMES))


@dataclass(frozen=True)
class Tip:
    """One thing to say. say : the whole sentence, with its chance. only : on what condition, or ""."""

    fault: str
    chance: float
    say: str
    only: str


@dataclass(frozen=True)
class PhoneAdvice:
    """What may be said. stops : what must be said instead, nothing else then. line : where advice ends. never : not by phone.

    settled : chance that one of the tips is the cause. why_not : why nothing may be advised, "" when something may.
    """

    tips: tuple[Tip, ...]
    stops: tuple[StopWord, ...]
    line: str
    never: tuple[str, ...]
    settled: float
    why_not: str


def phone_advice(call: Matter, found: Sequence[StopWord] = ()) -> PhoneAdvice:
    """What may be said in a call. found : the stop words that apply (`stops`): with any, nothing is advised."""
    # Advice beside a warning would be heard instead of it
    if found:
        return PhoneAdvice(
            (), tuple(found), _say(found), NEVER, 0.0, "stop: " + ", ".join(w.name for w in found)
        )
    chance = causes(call.kinds, call.weight)
    # In the order of chance, so the likeliest is said first
    fixes = call.description.phone
    tips = [_tip(fixes[f], c) for f, c in chance.items() if f in fixes and c >= WORTH_SAYING][:TOLD]
    why = "" if tips else "nothing that a customer can put right is likely: book the visit"
    named = {tip.fault for tip in tips}
    settled = sum(w for kind, w in zip(call.kinds, call.weight[:-1].tolist(), strict=True) if kind & named)
    return PhoneAdvice(tuple(tips), (), LINE, NEVER, settled, why)


def times_in_ten(chance: float) -> str:
    """A chance as it is said on the phone, never as a fact.

    >>> times_in_ten(0.7), times_in_ten(0.04), times_in_ten(0.97)
    ('about seven times in ten', 'less than one time in ten', 'nearly always')
    """
    # Nobody hears a second digit on the phone
    tenth = round(10 * chance)
    if tenth > len(_COUNTS) - 1:
        return _ALWAYS
    return f"about {_COUNTS[tenth]} in ten" if tenth else _SELDOM


def _tip(fix: PhoneFix, chance: float) -> Tip:
    words = times_in_ten(chance)
    said = f"{words[0].upper()}{words[1:]} it is {fix.cause}. {fix.say}"
    return Tip(fix.fault, chance, f"{said} {fix.only}".strip(), fix.only)


def _say(found: Sequence[StopWord]) -> str:
    return " ".join(dict.fromkeys(word.say for word in found))
