"""The stock as a table: out and in again changes nothing; a changed cell becomes one line of the ledger."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from store_maker import source

from tundish.store.errors import StoreError
from tundish.store.events import open_events
from tundish.store.stock import lines_of, record_moves, stock_of, take_lines
from tundish.store.stock_table import export_stock, import_stock, stock_facts, table_rows
from tundish.van.errors import VanError
from tundish.van.part import PartKey
from tundish.van.stock import Level, Movement

HOSE, PUMP = PartKey("any", "fill hose"), PartKey("dishwasher", "drain pump")
NAME = (
    st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S")), min_size=1, max_size=12)
    | st.sampled_from(["=1+1", "+x", "-x", "@x", "'x", '"x"', "a;b", "a,b"])
).filter(lambda name: name.isprintable() and ":" not in name)
LEVEL = st.tuples(st.integers(0, 9), st.integers(0, 9), st.integers(0, 9)).filter(any)
LEVELS = st.dictionaries(st.builds(PartKey, NAME, NAME), LEVEL, max_size=5)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "calls.sqlite"


@given(LEVELS)
def test_out_and_in_again(
    tmp_path_factory: pytest.TempPathFactory, wanted: dict[PartKey, tuple[int, int, int]]
) -> None:
    folder = tmp_path_factory.mktemp("stock")
    moves = [
        Movement(kind, part, count)
        for part, counts in wanted.items()
        for kind, count in zip(("count", "order", "minimum"), counts, strict=True)
        if count
    ]
    with open_events(folder / "a.sqlite") as file:
        record_moves(file, moves, source(1))
        before = lines_of(file)
        for end in (".csv", ".json"):
            export_stock(file, folder / f"t{end}")
            assert import_stock(file, folder / f"t{end}", source(2)) == ()
            with open_events(folder / f"new{end}.sqlite") as new:
                import_stock(new, folder / f"t{end}", source(3))
                assert stock_of(new).levels == {p: Level(*counts) for p, counts in wanted.items()}
                assert import_stock(new, folder / f"t{end}", source(4)) == ()
        assert lines_of(file) == before


def test_a_changed_cell_is_one_line(path: Path, tmp_path: Path) -> None:
    table = tmp_path / "in.csv"
    with open_events(path) as file:
        record_moves(file, [Movement("receive", HOSE, 4), Movement("order", PUMP, 3)], source(1))
        table.write_text(
            "part;on_van;on_order;minimum\nany: fill hose;3;;2\ndishwasher: drain pump;;1;\nany: grease;;5;\n"
        )
        lines = import_stock(file, table, source(2))
        assert [(line.kind, line.part, line.count) for line in lines] == [
            ("count", "any: fill hose", 3),
            ("minimum", "any: fill hose", 2),
            ("cancel", "dishwasher: drain pump", 2),
            ("order", "any: grease", 5),
        ]
        assert stock_of(file).levels[HOSE] == Level(3, 0, 2)


def test_a_short_part_is_blank_until_somebody_counts(path: Path, tmp_path: Path) -> None:
    with open_events(path) as file, open_events(tmp_path / "other.sqlite") as other:
        record_moves(other, [Movement("receive", HOSE, 1), Movement("take", HOSE, 1)], source(1))
        take_lines(file, lines_of(other)[1:])
        assert table_rows(stock_of(file).levels)[0]["on_van"] is None
        assert stock_facts(stock_of(file))["stock"][0]["short"] == 1
        export_stock(file, tmp_path / "t.csv")
        assert import_stock(file, tmp_path / "t.csv", source(2)) == ()
        (tmp_path / "t.csv").write_text("part;on_van\nany: fill hose;0\n")
        assert [line.kind for line in import_stock(file, tmp_path / "t.csv", source(3))] == ["count"]
        assert stock_of(file).levels[HOSE] == Level(0)


def test_below_minimum_counts_what_is_on_order() -> None:
    from tundish.store.stock import Stock

    facts = stock_facts(Stock({HOSE: Level(1, 0, 2), PUMP: Level(1, 1, 2)}))
    assert [row["below_minimum"] for row in facts["stock"]] == [True, False]


@pytest.mark.parametrize(
    ("end", "content", "words"),
    [
        (".csv", "part;on_van\nhose;1\nany: x;-1\nany: y;1.5\n", ["row 2: saw part 'hose'", "row 3:", "row 4:"]),
        (".csv", "part;on_van\nany: x;1\nany: x;2\n", ["row 3: 'any: x' stands in row 2 already"]),
        (".csv", "part;colour\nany: x;1\n", ["row 1:", "part;on_van;on_order;minimum"]),
        (".csv", "on_van\n1\n", ["row 1:"]),
        (".json", '{"stock": [{"part": "any: x", "on_van": true}, 3]}', ["part 1: saw on_van True", "part 2:"]),
        (".json", '{"stock": [{"part": "any: x", "van": 3}]}', ["part 1:", "on_van, on_order, minimum"]),
        (".json", '{"parts": []}', ["saw", "allowed: a list of parts"]),
        (".json", "[]", ["allowed: a JSON object"]),
        (".json", '{"stock": [}', ["line 1, column 12"]),
        (".txt", "", ["allowed: .csv or .json"]),
    ],
)  # fmt: skip
def test_bad_rows_are_named_and_nothing_is_taken_in(
    path: Path, tmp_path: Path, end: str, content: str, words: list[str]
) -> None:
    table = tmp_path / f"in{end}"
    table.write_text(content)
    with open_events(path) as file:
        with pytest.raises((StoreError, VanError)) as error:
            import_stock(file, table, source(1))
        assert [word for word in words if word not in str(error.value)] == []
        assert lines_of(file) == ()


def test_the_table_of_a_known_stock(path: Path, tmp_path: Path) -> None:
    with open_events(path) as file:
        record_moves(file, [Movement("receive", HOSE, 4), Movement("order", PUMP, 1)], source(1))
        export_stock(file, tmp_path / "t.csv")
        export_stock(file, tmp_path / "t.json")
    assert (tmp_path / "t.csv").read_bytes().decode() == (
        '\ufeff"part";"on_van";"on_order";"minimum"\r\n"any: fill hose";"4";"0";"0"\r\n'
        '"dishwasher: drain pump";"0";"1";"0"\r\n'
    )
    assert json.loads((tmp_path / "t.json").read_text())["stock"][0] == {
        "part": "any: fill hose", "on_van": 4, "on_order": 0, "minimum": 0,
    }  # fmt: skip
