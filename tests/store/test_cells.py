"""Tables for spreadsheets: no formula gets in, every cell comes back, every bad row is named."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tundish.store.cells import FORMULA, bare, from_csv, guarded, to_csv
from tundish.store.errors import StoreError

TEXT = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=30)
HOSTILE = st.sampled_from("=+-@'\t\r\n;\",") | TEXT
CELL = st.builds("".join, st.lists(HOSTILE, max_size=4))
NAMES = ("key", "value")


@given(CELL)
@example("=HYPERLINK(1)")
@example("'=1")
@example("''")
@example("\r")
def test_a_guarded_cell_is_no_formula_and_comes_back(cell: str) -> None:
    assert guarded(cell)[:1] not in FORMULA
    assert bare(guarded(cell)) == cell


@given(st.lists(st.tuples(CELL, CELL).filter(lambda row: any(cell.strip() for cell in row)), max_size=6))
def test_a_table_comes_back_cell_by_cell(rows: list[tuple[str, str]]) -> None:
    text = to_csv(NAMES, rows)
    assert [tuple(row.cells.values()) for row in from_csv(text, NAMES, NAMES)] == rows


@given(st.lists(st.tuples(CELL, CELL), max_size=6))
def test_another_reader_of_the_same_standard_sees_no_formula(rows: list[tuple[str, str]]) -> None:
    text = to_csv(NAMES, rows).removeprefix("\ufeff")
    seen = list(csv.reader(io.StringIO(text, newline=""), delimiter=";"))
    assert len(seen) == len(rows) + 1
    assert not [cell for row in seen for cell in row if cell[:1] in FORMULA]


@pytest.mark.parametrize("mark", [";", ",", "\t"])
def test_what_a_spreadsheet_saves_anew_is_read(mark: str) -> None:
    text = f'KEY{mark}Value\r\n\r\nlabour{mark}"a{mark}b"\r\nname\r\n'
    rows = list(from_csv(text, NAMES, NAMES))
    assert [(row.number, row.cells) for row in rows] == [
        (3, {"key": "labour", "value": f"a{mark}b"}),
        (4, {"key": "name", "value": ""}),
    ]


def test_a_row_after_one_of_several_lines_has_its_line_in_the_file() -> None:
    rows = list(from_csv('key;value\n"a";"1\n2\n3"\nb;4\n', NAMES, NAMES))
    assert [row.number for row in rows] == [2, 5]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "saw 0 letters and no row; allowed: a first row key;value"),
        ("key\nlabour\n", "saw row 1: ['key']"),
        ("key;value;colour\n", "allowed: a first row key;value"),
        ("key;value;key\n", "saw row 1"),
        ("key;value\na;1;2\n", "saw row 2: 3 cells; allowed: 2"),
        ('key;value\na;1\nb;"2\n', "saw row 3: unexpected end of data"),
        ('key;value\na;"1"2\n', "saw row 2:"),
    ],
)
def test_what_is_no_such_table_is_refused_by_its_row(text: str, words: str) -> None:
    with pytest.raises(StoreError) as error:
        list(from_csv(text, NAMES, NAMES))
    assert words in str(error.value)
