"""Short names."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.call.errors import HandleError
from tundish.call.handle import CallHead, handles, resolve
from tundish.call.identity import LETTERS, call_id


def head(call: str, name: str = "") -> CallHead:
    return CallHead(call, name, "front-load washer", "SLOW", "", "", 1)


HEADS = [head("k7f3q0", "Blue door"), head("k7f4aa", "Blue"), head("m000", "k7f4")]


@pytest.mark.parametrize(
    ("text", "call"),
    [
        ("k7f3", "k7f3q0"),
        ("K7F3", "k7f3q0"),
        ("k7f3q0", "k7f3q0"),
        ("blue d", "k7f3q0"),
        ("blue", "k7f4aa"),
        (" m ", "m000"),
        ("k7f4a", "k7f4aa"),
        ("k7f4", "m000"),
    ],
)
def test_first_letters_find_the_call(text: str, call: str) -> None:
    assert resolve(text, HEADS) == call


def test_too_few_letters_list_the_calls_that_fit() -> None:
    with pytest.raises(
        HandleError, match=r"saw call 'k7f', which fits 3 calls; allowed: k7f3q0 \(Blue door\), .*; type more"
    ):
        resolve("k7f", HEADS)


@pytest.mark.parametrize("text", ["zzz", "", "  "])
def test_no_such_call_lists_the_calls(text: str) -> None:
    with pytest.raises(
        HandleError, match=r"allowed: k7f3q0 \(Blue door\), k7f4aa \(Blue\), m000 \(k7f4\); use the first"
    ):
        resolve(text, HEADS)


def test_no_call_at_all() -> None:
    with pytest.raises(HandleError, match="no call yet; open one"):
        resolve("k", [])


def test_a_long_list_is_cut() -> None:
    with pytest.raises(HandleError, match="12 more"):
        resolve("zzz", [head(f"k{number:03d}") for number in range(20)])


CALLS = st.lists(
    st.tuples(st.text("k7f", min_size=3, max_size=6), st.sampled_from(["", "k7f", "kk", "Seven", "f"])),
    max_size=12,
    unique_by=lambda pair: pair[0],
)


@given(CALLS)
def test_a_handle_leads_to_its_own_call(pairs: list[tuple[str, str]]) -> None:
    heads = [head(call, name) for call, name in pairs]
    names = [name.lower() for _, name in pairs if name]
    for call, handle in handles(heads).items():
        assert call.startswith(handle)
        # An id that is wholly another call's name is named by nobody; ids are random, names are not.
        if len(handle) > 3 and handle not in names:
            others = [
                one
                for one in heads
                if one.call != call and one.call.startswith(handle) and one.call != handle
            ]
            assert not others or handle == call
            assert resolve(handle, heads) == call


def test_handles_of_many_ids_are_short() -> None:
    """Of 1,000 spread ids a few pairs share their first four letters; hardly any share eight."""
    calls = [
        call_id((number * 0x9E3779B97F4A7C15F39C % 2**80).to_bytes(10, "big")) for number in range(1, 1001)
    ]
    lengths = [len(handle) for handle in handles([head(call) for call in calls]).values()]
    assert min(lengths) == 4 and max(lengths) <= 8
    assert set("".join(calls)) <= set(LETTERS)
