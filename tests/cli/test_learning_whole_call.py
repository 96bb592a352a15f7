"""What a whole call by the command line leaves for learning: what followed its repair, and what its part was bought for."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from test_golden_call import DEAD, FEW, HEATER, INTO, OUT, WASHER

pytest.importorskip("ibis")


def close_one(run: Any, name: str, *bought: str) -> None:
    """The heater of a washer: found open, quoted, changed, and proven."""
    run("open", WASHER, "--complaint", "NOHEAT", "--age", "6", "--market", "EU", "--name", name, *FEW)
    for step in INTO:
        run("do", name, step, *FEW)
    run("do", name, "prove dead", *DEAD, *FEW)
    run("do", name, "open BACK", *FEW)
    run("reading", name, "W10", "OL", *FEW)
    run("quote", name, "F17", *bought, "--give", *FEW)
    run("agree", name, "--name", "A. Smith", *FEW)
    run("fix", name, "F17", "--step", "all", "--heeded", "--part", "1", "--repaired", *FEW)
    for step in OUT:
        run("do", name, step, *FEW)
    run("reading", name, "W12", "15.5 K", *FEW)
    run("reading", name, "W05.level", "95 mm", *FEW)
    run("do", name, "tested works", *FEW)
    run("do", name, "return to use", "--proof", "a warm wash watched, dry below", *FEW)
    run("close", name, "--as", "proven", *FEW)


def test_a_price_that_was_paid_is_kept_and_an_estimate_is_not(run: Any, tmp_path: Path) -> None:
    from pyarrow.parquet import read_table

    run("stock", "receive", HEATER, "2")
    close_one(run, "paid", "--bought", "23.00")
    close_one(run, "estimated")
    run("learn", "--try", *FEW)

    def rows(table: str) -> list[dict[str, Any]]:
        files = (tmp_path / "data" / "closed" / table).rglob("*.parquet")
        return [row for file in files for row in read_table(file, partitioning=None).to_pylist()]

    assert sorted(row["paid"] or 0.0 for row in rows("parts")) == [0.0, pytest.approx(23.0, abs=0.01)]
    for row in rows("repairs"):
        # The heater read open, and all that was read after the repair speaks for it
        assert row["fault"] == "F17" and row["before"] > 0.5 and 1.0 < row["lift"] <= 6.0
