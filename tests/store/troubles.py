"""Full disks and forbidden folders for tests."""

from __future__ import annotations

import os
import resource
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def no_file_longer_than(size: int) -> Iterator[None]:
    """The system's own limit stands for a full disk: writing beyond it fails."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@contextmanager
def without_rights() -> Iterator[None]:
    """As a user who is not the owner of everything; permissions mean nothing to root."""
    before = os.geteuid()
    if before == 0:
        os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(before)
