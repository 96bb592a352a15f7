"""Ids and moments against RFC 9562 and the standard library."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.call.errors import EventError
from tundish.call.identity import call_id, check_event_id, check_moment, mint, moment, uuid7

MILLISECONDS = st.integers(0, (1 << 48) - 1)
NOISE = st.binary(min_size=10, max_size=10)


def test_the_published_example() -> None:
    """RFC 9562, appendix A.6: unix_ts_ms 0x017F22E279B0, rand_a 0xCC3, rand_b 0b01, 0x8C4DC0C0C07398F."""
    rand_b = 0b01 << 60 | 0x8C4DC0C0C07398F
    noise = (0xCC3 << 64 | rand_b).to_bytes(10, "big")
    assert uuid7(0x017F22E279B0, noise) == "017F22E2-79B0-7CC3-98C4-DC0C0C07398F".lower()


def test_the_moment_of_the_published_example() -> None:
    """RFC 9562, appendix A.6: 1645557742000 is Tuesday, February 22, 2022 2:22:22.00 PM GMT-05:00."""
    assert moment(0x017F22E279B0) == "2022-02-22T19:22:22.000Z"


@given(MILLISECONDS, NOISE)
def test_fields_are_where_the_rfc_puts_them(milliseconds: int, noise: bytes) -> None:
    made = uuid.UUID(uuid7(milliseconds, noise))
    assert made.version == 7 and made.variant == uuid.RFC_4122
    assert made.int >> 80 == milliseconds
    sent = int.from_bytes(noise, "big")
    assert made.int >> 64 & 0xFFF == sent >> 64 & 0xFFF
    assert made.int & (1 << 62) - 1 == sent & (1 << 62) - 1
    check_event_id(str(made))


@given(MILLISECONDS, MILLISECONDS, NOISE, NOISE)
def test_ids_sort_by_time(one: int, other: int, noise: bytes, more: bytes) -> None:
    if one < other:
        assert uuid7(one, noise) < uuid7(other, more)


@given(st.lists(st.tuples(st.integers(0, 50), NOISE), min_size=2, max_size=40))
def test_minted_ids_rise_whatever_the_clock_does(ticks: list[tuple[int, bytes]]) -> None:
    last, ids = None, []
    for milliseconds, noise in ticks:
        last = mint(last, milliseconds, noise)
        check_event_id(last)
        ids.append(last)
    assert ids == sorted(set(ids))


def test_a_full_counter_carries_into_the_time() -> None:
    full = uuid7(7, b"\xff" * 10)
    assert mint(full, 7, bytes(10)) == uuid7(8, bytes(10))


def test_two_devices_after_the_same_event_do_not_clash() -> None:
    after = uuid7(1000, bytes(10))
    assert mint(after, 0, b"\x00" * 9 + b"\x01") != mint(after, 0, b"\x00" * 9 + b"\x02")


@pytest.mark.parametrize("milliseconds", [-1, 1 << 48])
def test_an_impossible_clock_is_refused(milliseconds: int) -> None:
    with pytest.raises(
        EventError, match=f"saw a moment of {milliseconds} ms; allowed: 0 to .*; set the clock"
    ):
        uuid7(milliseconds, bytes(10))


def test_too_little_noise_is_refused() -> None:
    with pytest.raises(EventError, match="saw 9 random bytes; allowed: exactly 10"):
        uuid7(0, bytes(9))


@given(st.integers(0, 4_000_000_000_000))
def test_moments_are_iso_8601_in_utc(milliseconds: int) -> None:
    text = moment(milliseconds)
    check_moment(text)
    there = datetime.fromisoformat(text)
    assert there.tzinfo == UTC
    assert (there - datetime(1970, 1, 1, tzinfo=UTC)).total_seconds() == pytest.approx(
        milliseconds / 1000, abs=1e-4
    )


@pytest.mark.parametrize(
    "text",
    [
        "",
        "2026-11-25",
        "2026-11-25T09:30:00Z",
        "2026-11-25T09:30:00.000+01:00",
        "2026-13-01T00:00:00.000Z",
        "2026-02-30T00:00:00.000Z",
        "2026-11-25T25:00:00.000Z",
        "2026-11-25T09:30:00.000Z\n",
    ],
)
def test_other_moments_are_refused(text: str) -> None:
    with pytest.raises(EventError, match="ISO 8601"):
        check_moment(text)


def test_call_ids_are_short_plain_and_use_all_the_noise() -> None:
    assert call_id(b"\xff" * 10) == "z" * 16
    assert len({call_id(bytes(9) + bytes([last])) for last in range(256)}) == 256
    assert len({call_id(bytes([first]) + bytes(9)) for first in range(256)}) == 256
