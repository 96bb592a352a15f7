"""A customer's own words to the class of complaint: shipped words at first, counted words of closed calls later, and never a name."""

from __future__ import annotations

import numpy as np
import pytest

from tundish.history.proposed import FEWEST, counted_words, proposed
from tundish.store.library import families, load

FAMILY = load("front-load washer")
# How people put it, beside the words that shipped; invented.
PHRASES = {
    "NODRAIN": ("pump", "standing", "suds", "emptying"),
    "LEAK": ("puddle", "drips", "kitchen", "tiles"),
    "NOISE": ("rattles", "banging", "screams", "bearing"),
    "NOSTART": ("lights", "nothing", "button", "lamp"),
}
FILLER = ("the", "machine", "since", "yesterday", "it", "my", "washing")


def a_call(name: str, rng: np.random.Generator) -> tuple[str, str]:
    """Five words of filler, two that point to the class, and one that points elsewhere in every third call."""
    words = [*rng.choice(FILLER, 5), *rng.choice(PHRASES[name], 2)]
    if rng.random() < 1 / 3:
        words.append(str(rng.choice(PHRASES[str(rng.choice(list(PHRASES)))])))
    rng.shuffle(words)
    return name, " ".join(words)


@pytest.mark.parametrize("family", families())
def test_a_title_that_shipped_proposes_its_own_class(family: str) -> None:
    described = load(family)
    market = next(iter(described.markets))
    right = 0
    names = [name for name, _ in proposed(described, market, " ".join(one.title for one in described.complaints.values()))]
    for name in names:
        right += proposed(described, market, described.complaints[name].title)[0][0] == name
    # Some titles hold nothing but words of another one
    assert right >= 0.8 * len(names)


def test_words_of_closed_calls_teach_what_did_not_ship() -> None:
    rng = np.random.default_rng(1)
    names = list(PHRASES)
    taught = [a_call(names[rng.integers(4)], rng) for _ in range(400)]
    asked = [a_call(names[rng.integers(4)], rng) for _ in range(300)]
    words, calls = counted_words(taught)

    def hits(**known: object) -> float:
        found = [(proposed(FAMILY, "EU", text, **known) or [("", 0.0)])[0][0] for _, text in asked]
        return float(np.mean([name == one for name, (one, _) in zip(found, asked, strict=True)]))

    before, after = hits(), hits(words=words, calls=calls)
    assert after > 0.85 > before + 0.3


def test_a_word_of_few_calls_is_not_kept() -> None:
    said = [("LEAK", "a puddle here")] * FEWEST + [("LEAK", "Zebedee Quill of Nowhere Lane says puddle puddle")] * (FEWEST - 1)
    words, calls = counted_words(said)
    assert words == {"LEAK": {"a": FEWEST, "here": FEWEST, "puddle": 2 * FEWEST - 1}}
    assert calls == {"LEAK": 2 * FEWEST - 1}
    # The same word in many classes, in few calls of each
    spread = [(name, "zebedee") for name in PHRASES for _ in range(FEWEST - 1)]
    assert not any(counted_words(spread)[0].values())


def test_chances_sum_to_one_and_unknown_words_propose_nothing() -> None:
    found = proposed(FAMILY, "EU", "Water on the FLOOR!")
    assert found[0][0] == "LEAK" and sum(chance for _, chance in found) == pytest.approx(1)
    assert proposed(FAMILY, "EU", "zzz 123") == []
