"""A customer's wording to the class of complaint: counts of words by class, drawn towards those of all classes.

Multinomial naive Bayes: Manning, Raghavan and Schutze 2008, Introduction to Information Retrieval, section 13.2,
https://nlp.stanford.edu/IR-book/html/htmledition/naive-bayes-text-classification-1.html . The word chances of a class are
shrunk to a base (Dirichlet prior smoothing, Zhai and Lafferty 2004, https://doi.org/10.1145/984321.984322 ), and how far is learned
from the words themselves. Words are not independent, so chances near 0 and 1 are bolder than they should be: take the order, and ask.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tundish.history.errors import HistoryError
from tundish.history.partial import trust
from tundish.history.posterior import Floats

WORD = re.compile(r"[^\W\d_]+")
# Words that the base counts as in each class, before the words themselves are heard; our choice.
WORTH = 10.0


@dataclass(frozen=True)
class Wording:
    """What words tell of the class.

    classes : (c,) names. words : word -> its place. log_word : (c, w) logarithms of the words' chances. share : (c,) of the classes.
    """

    classes: tuple[str, ...]
    words: Mapping[str, int]
    log_word: Floats
    share: Floats

    def chances(self, text: str) -> dict[str, float]:
        """Chance of each class, summing to 1. Words never met say nothing."""
        places = [self.words[word] for word in words_of(text) if word in self.words]
        with np.errstate(divide="ignore"):
            log_weight = np.log(self.share) + self.log_word[:, places].sum(axis=1)
        # Against the likeliest, as a long text has small chances
        weight = np.exp(log_weight - log_weight.max())
        return dict(zip(self.classes, (weight / weight.sum()).tolist(), strict=True))


def words_of(text: str) -> list[str]:
    """The words of a text in lower case.

    >>> words_of("Won't fill: 2 Schläuche!")
    ['won', 't', 'fill', 'schläuche']
    """
    return WORD.findall(text.lower())


def wording(
    texts: Sequence[str],
    classes: Sequence[str],
    *,
    base: Mapping[str, float] | None = None,
    weight: float | None = None,
) -> Wording:
    """Learn from texts and the class each turned out to be.

    base : chance of each word in any class, for words that count; when left out, as often as in all texts.
    weight : words that the base counts as in each class; when left out, learned.

    >>> told = ["it will not fill", "no water comes in", "it does not drain", "water stays in the drum"]
    >>> found = wording(told, ["NOFILL", "NOFILL", "NODRAIN", "NODRAIN"]).chances("does not drain any more")
    >>> max(found, key=found.__getitem__)
    'NODRAIN'
    """
    if len(texts) != len(classes) or not any(map(words_of, texts)):
        raise HistoryError(
            seen=f"{len(texts)} texts, {len(classes)} classes",
            allowed="a class for each text, at least one word",
            do="leave out calls whose wording was not kept",
        )
    by_class: dict[str, Counter[str]] = {name: Counter() for name in classes}
    for text, name in zip(texts, classes, strict=True):
        by_class[name].update(words_of(text))
    return from_counts(by_class, Counter(classes), base=base, weight=weight)


def from_counts(
    by_class: Mapping[str, Mapping[str, float]],
    calls: Mapping[str, float],
    *,
    base: Mapping[str, float] | None = None,
    weight: float | None = None,
) -> Wording:
    """Learn from counts of words by class, and calls by class; `base` and `weight` as in `wording`. At least one word is counted.

    >>> counts = {"NOFILL": {"no": 3.0, "water": 3.0}, "LEAK": {"water": 3.0, "floor": 3.0}}
    >>> found = from_counts(counts, {"NOFILL": 1.0, "LEAK": 1.0}).chances("water on the floor")
    >>> found["LEAK"] > 0.6
    True
    """
    # Sorted, so that the same counts give the same record
    names = tuple(sorted(by_class))
    pooled: Counter[str] = Counter()
    for held in by_class.values():
        for word, count in held.items():
            # Counts may be parts of a call
            pooled[word] += count  # type: ignore[assignment]
    chance = {word: count / pooled.total() for word, count in pooled.items()} if base is None else dict(base)
    words = {word: place for place, word in enumerate(sorted(chance))}
    counts = np.array([[float(by_class[name].get(word, 0.0)) for word in words] for name in names])
    expected = np.array([chance[word] for word in words])
    # How alike the classes are in their words says how far each may be drawn to the base
    worth = trust(counts, expected / expected.sum(), expected=WORTH).mean if weight is None else weight
    smooth = (counts + worth * expected) / (counts.sum(axis=1, keepdims=True) + worth)
    share = np.array([calls[name] for name in names], float)
    return Wording(names, words, np.log(smooth), share / share.sum())
