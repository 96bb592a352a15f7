"""The class of complaint that a customer's own words point to: shipped words first, then those counted in closed calls.

Only counts are kept, of words said in calls of a class, one a call, and none of fewer than `FEWEST` calls: a name or a street that
slipped into a sentence never gets that far. The arithmetic is that of `words`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from tundish.appliance.possible import complaints_of
from tundish.appliance.records import Description
from tundish.history.giving import LEAST
from tundish.history.words import from_counts, words_of

# Fewest calls of a word in a class, as for counts that leave the shop.
FEWEST = LEAST
# Times that a word of a shipped title or answer counts as said; and calls that a class counts as. Our choice.
SHIPPED_WORD, SHIPPED_CALLS = 3.0, 5.0
Words = Mapping[str, Mapping[str, int]]


def counted_words(said: Iterable[tuple[str, str]]) -> tuple[dict[str, dict[str, int]], dict[str, int]]:
    """Class -> word -> calls, and class -> calls; from (class, all that was said in one call).

    >>> words, calls = counted_words([("LEAK", "a puddle, a puddle")] * 5 + [("LEAK", "I am Zebedee")])
    >>> words, calls
    ({'LEAK': {'a': 5, 'puddle': 5}}, {'LEAK': 6})
    """
    counts: dict[str, Counter[str]] = {}
    calls: Counter[str] = Counter()
    for name, text in said:
        # A word said twice is no second witness
        counts.setdefault(name, Counter()).update(sorted(set(words_of(text))))
        calls[name] += 1
    kept = {
        name: {word: count for word, count in sorted(held.items()) if count >= FEWEST} for name, held in sorted(counts.items())
    }
    return kept, dict(sorted(calls.items()))


def proposed(
    description: Description, market: str, text: str, *, words: Words | None = None, calls: Mapping[str, int] | None = None
) -> list[tuple[str, float]]:
    """Classes of a market by the chance that they are meant, likeliest first; empty when no word of the text was ever met.

    words, calls : as learned. The chances are bolder than they should be, since words hang together: take the order, and ask.
    """
    names = list(complaints_of(description, market))
    by_class = {name: Counter(_shipped(description, name)) for name in names}
    for name, held in (words or {}).items():
        for word, count in held.items() if name in by_class else ():
            by_class[name][word] += float(count)  # type: ignore[assignment]
    known = from_counts(by_class, {name: SHIPPED_CALLS + (calls or {}).get(name, 0) for name in names})
    heard = " ".join(dict.fromkeys(word for word in words_of(text) if word in known.words))
    if not heard:
        return []
    return sorted(known.chances(heard).items(), key=lambda pair: (-pair[1], pair[0]))


def _shipped(description: Description, name: str) -> dict[str, float]:
    """The words of a class's title and of the answers that stand for it."""
    replies = [reply.name for asked in description.questions.values() for reply in asked.replies if reply.complaint == name]
    return dict.fromkeys(words_of(" ".join([description.complaints[name].title, *replies])), SHIPPED_WORD)
