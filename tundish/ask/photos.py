"""Photos to ask the customer for before the visit."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from tundish.appliance.records import Description


@dataclass(frozen=True)
class Photo:
    """A photo to ask for. question : the one it belongs to. what : to be seen on it."""

    question: str
    what: str


def photos(description: Description, complaint: str, *, taken: Collection[str] = ()) -> tuple[Photo, ...]:
    """The photos a complaint asks for, in the file's order. taken : questions whose photo is there."""
    return tuple(
        Photo(q.id, q.photo)
        for q in description.questions.values()
        if q.photo and q.fits(complaint) and q.id not in taken
    )
