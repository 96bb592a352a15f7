"""Settings as a table: what goes out comes back the same; every bad row is named and nothing is taken in."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from troubles import no_file_longer_than

from tundish.prices.settings import Settings
from tundish.prices.settings_plain import plain
from tundish.prices.settings_rules import RULES
from tundish.prices.settings_usual import OWN, usual
from tundish.prices.tax import KINDS
from tundish.store.errors import StoreError
from tundish.store.settings import (
    NOTHING,
    SUMS,
    Own,
    change,
    checked,
    from_json,
    full_json,
    read_own,
    settings_of,
    with_values,
)
from tundish.store.settings_change import put, put_back
from tundish.store.settings_table import (
    export_settings,
    from_table,
    import_settings,
    settings_facts,
    to_csv,
)
from tundish.store.settings_text import keys, merged, read_value, unit_of, written

LINE = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs")), max_size=20).filter(
    lambda text: not text or text.isprintable()
)
HOSTILE = st.builds("".join, st.tuples(st.sampled_from(["", "=", "+", "-", "@", "'", '"', ";", "%"]), LINE))
# A name in one line of a cell: printable, no blanks around it.
NAME = HOSTILE.map(str.strip).filter(bool)
SUM = st.integers(0, 10_000_000)


def decimals(low: str, high: str) -> st.SearchStrategy[str]:
    return st.decimals(low, high, allow_nan=False, allow_infinity=False, places=4).map(lambda d: f"{d:f}")


@st.composite
def taxes(draw: st.DrawFn) -> list[dict[str, Any]]:
    """Up to four taxes that share out the kinds of lines."""
    kinds = draw(st.permutations(KINDS))
    cuts = sorted(draw(st.sets(st.integers(1, 4), max_size=4)))
    parts = [kinds[low:high] for low, high in zip([0, *cuts], cuts, strict=False)]
    return [
        {"name": draw(NAME), "rate": draw(decimals("0", "1")), "on": list(part)} for part in parts if part
    ]


VALUES: dict[str, st.SearchStrategy[Any]] = {
    **dict.fromkeys(SUMS, SUM),
    "name": HOSTILE,
    # One empty line alone is no letterhead
    "letterhead": st.lists(HOSTILE, max_size=8).filter(lambda lines: lines != [""]),
    "market": NAME,
    "units": st.sampled_from(["metric", "US"]),
    "paper": st.sampled_from(["A4", "Letter"]),
    "language": st.sampled_from(["en", "de"]),
    "zone": st.sampled_from(["Europe/Vienna", "America/Argentina/Buenos_Aires", "Etc/GMT+5"]),
    "labour_step": st.integers(1, 120),
    "taxes": taxes(),
    "rounding": st.sampled_from(["line", "total"]),
    "prices": st.sampled_from(["net", "gross"]),
    "limit": st.floats(0.001, 0.5),
    "qualified": st.booleans(),
    "over_run": decimals("0", "1"),
    "mark_up_cheap": decimals("2", "5"),
    "mark_up_dear": decimals("1", "1.5"),
    "consent_days": st.integers(1, 3650),
    "warranty_labour_days": st.integers(1, 3650),
    "warranty_part_days": st.integers(1, 3650),
    "replacement": st.dictionaries(NAME, SUM, max_size=3).map(lambda prices: {"any": 5, **prices}),
    "discount_rate": decimals("0", "1"),
    "van_space": st.floats(0, 20_000),
}


@st.composite
def owns(draw: st.DrawFn) -> Own:
    """What a shop set, any of it."""
    currency = draw(st.sampled_from(["EUR", "USD"]))
    names = draw(st.sets(st.sampled_from(sorted(VALUES))))
    values = {name: draw(VALUES[name]) for name in RULES if name in names}
    sources = draw(st.dictionaries(st.sampled_from(sorted(values)), NAME)) if values else {}
    sources = {name: source for name, source in sources.items() if source != OWN}
    return Own({"currency": currency, **values}, sources)


def test_every_setting_is_drawn() -> None:
    assert set(VALUES) == set(RULES) - {"currency"}


def same(one: Own, other: Own) -> bool:
    """Whether two say the same of every setting and its source."""
    mine, theirs = settings_of(one), settings_of(other)
    sources = [(one.source(name, mine), other.source(name, theirs)) for name in RULES]
    return mine == theirs and all(a == b for a, b in sources)


@given(owns())
def test_a_table_comes_back_the_same(own: Own) -> None:
    checked(own)
    again = from_table(to_csv(own), NOTHING, "t")
    assert same(own, again)
    # What was usual stays usual, so a later change of what is usual reaches the shop
    assert set(again.values) <= {*own.values, "currency"}
    assert same(from_table(to_csv(own), again, "t"), again)


@given(owns(), owns())
def test_a_full_table_replaces_whatever_was_there(own: Own, before: Own) -> None:
    again = from_table(to_csv(own), before, "t")
    new, families = settings_of(again), settings_of(own).replacement
    old = settings_of(before).replacement
    # Families that the table does not name stay, unless the currency is another
    kept = {f: p for f, p in old.items() if f not in families} if own.currency == before.currency else {}
    assert dict(new.replacement) == {**kept, **families}
    assert plain(new) | {"replacement": 0} == plain(settings_of(own)) | {"replacement": 0}


@given(owns())
def test_json_comes_back_the_same(own: Own) -> None:
    text = full_json(own)
    assert json.loads(text)["settings"] == plain(settings_of(own))
    again = from_json(text, "t")
    assert settings_of(again) == settings_of(own)
    assert {name: source for name, source in again.sources.items() if source != OWN} == own.sources


@given(owns())
def test_files_come_back_the_same(tmp_path_factory: pytest.TempPathFactory, own: Own) -> None:
    folder = tmp_path_factory.mktemp("round")
    first = change(folder / "settings.json", lambda _: own)
    assert read_own(folder / "settings.json") == first
    for end in (".csv", ".json"):
        export_settings(folder / "settings.json", folder / f"out{end}")
        assert same(own, import_settings(folder / f"new{end}", folder / f"out{end}"))


@given(owns())
def test_each_setting_comes_back_from_its_text(own: Own) -> None:
    settings = settings_of(own)
    for key in keys(settings):
        unit = unit_of(key, settings.currency)
        value = read_value(key, written(settings, key), unit, settings)
        name, given_ = next(iter(merged({key: value}, settings).items()))
        assert settings_of(with_values(own, {name: given_})) == settings


def settings(**values: Any) -> Settings:
    return settings_of(Own({"currency": "EUR", **values}))


@pytest.mark.parametrize(
    ("key", "text", "value"),
    [
        ("labour", "92.50", 9250),
        ("labour", " 92,5 EUR/h", 9250),
        ("call_out", "80 EUR", 8000),
        ("replacement.dryer", "480", 48000),
        ("over_run", "15 %", "0.15"),
        ("over_run", "12.5%", "0.125"),
        ("over_run", "0,125", "0.125"),
        ("limit", "5 %", 0.05),
        ("qualified", "Yes", True),
        ("labour_step", "15", 15),
        ("van_space", "350,5", 350.5),
        ("taxes", "21 % VAT", [{"name": "VAT", "rate": "0.21", "on": list(KINDS)}]),
        ("taxes", "7% sales tax on part", [{"name": "sales tax", "rate": "0.07", "on": ["part"]}]),
        ("taxes", "", []),
        ("letterhead", "One\nTwo", ["One", "Two"]),
    ],
)
def test_how_a_person_may_write_it(key: str, text: str, value: object) -> None:
    assert read_value(key, text, "", settings()) == value


@pytest.mark.parametrize(
    ("key", "text", "words"),
    [
        ("labuor", "1", "saw setting 'labuor'; allowed: name, "),
        ("replacement", "1", "replacement.any"),
        ("labour", "1,200", "reads in one way"),
        ("labour", "12.345", "at most 2 decimals"),
        ("labour", "90 USD", "allowed: a sum in EUR/h"),
        ("call_out", "90 EUR/h", "allowed: a sum in EUR"),
        ("labour", "", "saw labour ''"),
        ("labour", "1e3", "saw labour '1e3'"),
        ("labour", "٣", "saw labour"),
        ("labour_step", "15 %", "leave out the %"),
        ("qualified", "maybe", "allowed: yes or no"),
        ("taxes", "VAT 21", "saw tax 'VAT 21'"),
        ("taxes", "21 % VAT on coffee\n", None),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_cure(key: str, text: str, words: str | None) -> None:
    if words is None:
        # Not a kind of line: so it is part of the tax's name
        assert read_value(key, text, "", settings())[0]["name"] == "VAT on coffee"
        return
    with pytest.raises((StoreError, ValueError)) as error:
        read_value(key, text, "", settings())
    assert words in str(error.value)


HEAD = "key;value;unit;source\n"


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        (["labour;x"], ["row 2: saw labour 'x'"]),
        (["name;ok", "labuor;1", "limit;7", "call_out;90;USD"], ["row 3:", "row 4: saw the setting limit", "row 5:"]),
        (["labour;90", "labour;91"], ["row 3: 'labour' stands in row 2 already"]),
        (["mark_up_cheap;1.1", "mark_up_dear;1.5"], ["mark_up_dear 1.5 above mark_up_cheap 1.1"]),
        (["over_run;15;day"], ["row 2: saw over_run in 'day'"]),
        (["currency;USD"], ["currency 'USD' while labour were set in EUR"]),
        (["currency;GBP", "labour;60"], ["currency 'GBP'"]),
        (["currency;XXX"], ["the setting currency = 'XXX'"]),
        (["replacement. ;5"], ["row 2: saw the setting replacement"]),
        (['"taxes";"21 % a on part\n9 % b on part"'], ["'a' and 'b' on part"]),
    ],
)  # fmt: skip
def test_bad_rows_are_named_and_nothing_is_set(tmp_path: Path, rows: list[str], words: list[str]) -> None:
    path, source = tmp_path / "settings.json", tmp_path / "in.csv"
    change(path, lambda own: with_values(own, {"currency": "EUR", "labour": 9000}))
    before = path.read_bytes()
    source.write_text(HEAD + "".join(row + "\n" for row in rows), encoding="utf-8")
    with pytest.raises((StoreError, ValueError)) as error:
        import_settings(path, source)
    assert [word for word in words if word not in str(error.value)] == []
    assert path.read_bytes() == before


def test_all_bad_rows_are_counted(tmp_path: Path) -> None:
    source = tmp_path / "in.csv"
    source.write_text(HEAD + "".join(f"x{number};1\n" for number in range(30)), encoding="utf-8")
    with pytest.raises(StoreError, match="and 22 more"):
        import_settings(tmp_path / "settings.json", source)


def test_a_table_in_another_currency_takes_over_when_it_names_every_sum(tmp_path: Path) -> None:
    path = tmp_path / "settings.json"
    change(path, lambda own: with_values(own, {"currency": "EUR", "labour": 9000, "name": "Kettle"}))
    (tmp_path / "in.csv").write_text(
        HEAD + "currency;USD\nlabour;125;USD/h\n" + "labour_step;15\n", encoding="utf-8"
    )
    found = settings_of(import_settings(path, tmp_path / "in.csv"))
    assert (found.currency, found.labour, found.labour_step, found.name) == ("USD", 12500, 15, "Kettle")
    assert found.call_out == usual("USD").call_out


def test_unknown_settings_of_a_json_file_are_kept_and_told(tmp_path: Path) -> None:
    path, source = tmp_path / "settings.json", tmp_path / "in.json"
    source.write_text('{"format": 1, "settings": {"colour": 3, "name": "Kettle"}, "later": [1]}')
    own = import_settings(path, source)
    assert settings_facts(own, "x")["not_understood"] == ["colour"]
    export_settings(path, tmp_path / "out.json")
    found = json.loads((tmp_path / "out.json").read_text())
    assert (found["settings"]["colour"], found["later"]) == (3, [1])


def test_an_export_is_whole_or_what_it_was(tmp_path: Path) -> None:
    out = tmp_path / "out.csv"
    out.write_text("older")
    with no_file_longer_than(200), pytest.raises(StoreError, match="free space"):
        export_settings(tmp_path / "settings.json", out)
    assert out.read_text() == "older"
    with pytest.raises(StoreError, match=r"saw file 'out.xls'; allowed: .csv or .json"):
        export_settings(tmp_path / "settings.json", tmp_path / "out.xls")


def test_a_setting_goes_back_to_usual() -> None:
    own = put(Own({"currency": "EUR"}), "labour", "90", "my list")
    assert own.sources == {"labour": "my list"}
    assert put_back(own, "labour") == Own({"currency": "EUR"})
    own = put(put(own, "replacement.dryer", "400"), "replacement.any", "500")
    one = put_back(own, "replacement.any")
    assert dict(settings_of(one).replacement) == {"any": 55000, "dryer": 40000}
    assert "replacement" not in put_back(one, "replacement.dryer").values
    for key in ("call_out", "replacement.oven"):
        with pytest.raises(StoreError, match=f"saw setting '{key}'"):
            put_back(own, key)


def test_money_never_becomes_a_float() -> None:
    """Each of these is off by one cent when it goes through a float: 0.29 * 100 is 28.999..."""
    for text, minor in (("0.29", 29), ("1.15", 115), ("8.20", 820), ("99999.99", 9999999)):
        assert read_value("labour", text, "", settings()) == minor
        assert Decimal(written(settings(labour=minor), "labour")) * 100 == minor
