"""Settings on disk: old or new after any trouble, nothing lost, and every refusal says what to do."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
from troubles import no_file_longer_than, without_rights

import tundish
from tundish.appliance.records import Market
from tundish.plan.shop import USUAL as PLAN_USUAL
from tundish.plan.shop import shop_for
from tundish.prices.errors import PriceError
from tundish.prices.settings_rules import RULES
from tundish.prices.settings_usual import OWN, usual
from tundish.store.errors import StoreError
from tundish.store.library import load
from tundish.store.settings import (
    NOTHING,
    SUMS,
    BrokenSettings,
    Own,
    change,
    read_own,
    settings_of,
    shop_of,
    with_values,
    without,
)

HERE = Path(__file__).parent
ROOT = Path(tundish.__file__).parents[1]
MINE = {"currency": "EUR", "labour": 9250, "name": "Bright Kettle Repairs", "over_run": "0.10"}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "data" / "settings.json"


def put(path: Path, values: dict[str, Any], sources: dict[str, str] | None = None) -> Own:
    return change(path, lambda own: with_values(own, values, sources))


def market(name: str) -> Market:
    return load("front-load washer").markets[name]


def test_no_file_means_nothing_set_and_none_is_made(path: Path) -> None:
    assert read_own(path) == NOTHING
    assert settings_of(NOTHING, "USD") == usual("USD")
    assert not path.parent.exists()


def test_what_is_set_is_read_back_with_its_source(path: Path) -> None:
    put(path, MINE, {"labour": "price list of May"})
    own = read_own(path)
    settings = settings_of(own)
    assert (settings.labour, settings.name, str(settings.over_run)) == (9250, "Bright Kettle Repairs", "0.10")
    assert [own.source(n, settings) for n in ("labour", "name")] == ["price list of May", OWN]
    assert own.source("callback", settings).startswith("common practice, no source")
    put(path, {"labour": 9300})
    assert read_own(path).source("labour", settings) == OWN


def test_what_a_newer_version_knows_is_kept(path: Path) -> None:
    put(path, MINE)
    found = json.loads(path.read_text())
    found["settings"]["colour"], found["notes"] = {"deep": [1, 2.5, None]}, ["kept"]
    path.write_text(json.dumps(found))
    put(path, {"labour": 9999})
    after = json.loads(path.read_text())
    assert after["settings"].pop("labour") == 9999
    assert after["settings"] == {k: v for k, v in found["settings"].items() if k != "labour"}
    assert after["notes"] == ["kept"]
    assert list(read_own(path).unknown) == ["colour"]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "line 1, column 1: Expecting value"),
        (b"{", "line 1, column 2"),
        (b'{"format": 1,\n "settings": {"labour": 1,}}', "line 2, column"),
        (b"[1]", "allowed: a JSON object"),
        (b"\xff\xfe{}", "row 1: byte 0xff; allowed: UTF-8 text"),
        (b'{"format": 1, "format": 1, "settings": {}}', "'format' stands in this object already"),
        (b'{"format": 1, "settings": {"limit": NaN}}', "NaN is no number"),
        (b'{"format": 1, "settings": {"x": "\\ud800"}}', "surrogates not allowed"),
        (b'{"settings": {}}', "format None"),
        (b'{"format": true, "settings": {}}', "format True"),
        (b'{"format": 1, "settings": []}', "settings list"),
        (b'{"format": 1, "settings": {}, "sources": {"labour": 3}}', "sources {'labour': 3}"),
        (b'{"format": 1, "settings": {"currency": "EUR", "labour": "85"}}', "the setting labour = '85'; allowed: whole minor"),
        (b'{"format": 1, "settings": {"currency": "EUR", "labour": -1}}', "the setting labour = -1"),
        (b'{"format": 1, "settings": {"labour": 8500}}', "labour set while no currency is chosen"),
        (b'{"format": 1, "settings": {"currency": "GBP"}}', "currency 'GBP' without labour"),
        (b'{"format": 1, "settings": {"over_run": 0.15}}', "0.15 in the setting over_run; allowed: decimal text"),
        (b'{"format": 1, "settings": {"letterhead": [1]}}', "the setting letterhead"),
        (b"[" * 100_000, "allowed: JSON"),
    ],
)  # fmt: skip
def test_a_broken_file_is_refused_named_and_left_alone(path: Path, content: bytes, words: str) -> None:
    path.parent.mkdir()
    path.write_bytes(content)
    for attempt in (lambda: read_own(path), lambda: put(path, {"name": "x"})):
        with pytest.raises(StoreError) as error:
            attempt()
        assert words in str(error.value) and str(path) in error.value.seen
    assert path.read_bytes() == content


def test_a_broken_file_is_copied_before_it_is_replaced(path: Path) -> None:
    path.parent.mkdir()
    for content in (b"{broken", b"\xff\x00"):
        path.write_bytes(content)
        change(path, lambda own: with_values(own, MINE), over_broken=True)
        assert read_own(path).values == MINE
    copies = sorted(path.parent.glob("settings.broken-*.json"))
    assert [copy.read_bytes() for copy in copies] == [b"{broken", b"\xff\x00"]


def test_a_file_of_a_newer_form_is_never_replaced(path: Path) -> None:
    path.parent.mkdir()
    path.write_text('{"format": 2, "settings": {}}')
    with pytest.raises(StoreError, match="in form 2; allowed: form 1; update this program") as error:
        change(path, lambda own: with_values(own, MINE), over_broken=True)
    assert not isinstance(error.value, BrokenSettings)
    assert os.listdir(path.parent) == ["settings.json"] or not list(path.parent.glob("*broken*"))
    assert path.read_text() == '{"format": 2, "settings": {}}'


def test_a_full_disk_loses_nothing(path: Path) -> None:
    put(path, MINE)
    before = path.read_bytes()
    with no_file_longer_than(50), pytest.raises(StoreError, match="make room|free space") as error:
        put(path, {"letterhead": ["x" * 100] * 8})
    assert error.value.seen and error.value.allowed and error.value.do
    assert path.read_bytes() == before
    assert not [
        name for name in os.listdir(path.parent) if name not in ("settings.json", ".settings.json.lock")
    ]
    put(path, {"labour": 1})
    assert read_own(path).values["labour"] == 1


def test_a_full_disk_while_the_broken_file_is_copied_leaves_it(path: Path) -> None:
    path.parent.mkdir()
    path.write_bytes(b"{" * 5000)
    with no_file_longer_than(50), pytest.raises(StoreError):
        change(path, lambda own: with_values(own, MINE), over_broken=True)
    assert path.read_bytes() == b"{" * 5000
    assert not list(path.parent.glob("*broken*"))


def test_a_folder_that_may_only_be_read(tmp_path: Path) -> None:
    # Not below tmp_path itself, whose parents another user may not enter
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "settings.json"
        put(path, MINE)
        os.chmod(path, 0o444)
        path.with_name(".settings.json.lock").unlink()
        os.chmod(name, 0o555)
        with without_rights():
            assert read_own(path).values == MINE
            with pytest.raises(StoreError, match="check the path and the permissions|allow writing"):
                put(path, {"labour": 1})
        os.chmod(name, 0o755)
        assert read_own(path).values == MINE


def test_a_step_that_fails_changes_nothing(path: Path) -> None:
    put(path, MINE)
    before = path.read_bytes()
    with pytest.raises(PriceError, match="the setting labour = -5"):
        put(path, {"labour": -5})
    assert path.read_bytes() == before


def writer(path: Path, name: str, count: int) -> subprocess.Popen[str]:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, str(HERE / "settings_writer.py"), str(path), name, str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)


def test_two_programs_at_once_lose_neither_ones_setting(path: Path) -> None:
    names = ("consent_days", "warranty_labour_days")
    writers = [writer(path, name, 40) for name in names]
    for one in writers:
        one.communicate()
        assert one.returncode == 0
    values = read_own(path).values
    assert [values[name] for name in names] == [40, 40]


def test_a_kill_leaves_the_old_or_the_new(path: Path) -> None:
    draw = random.Random(5)
    for _ in range(12):
        with writer(path, "consent_days", 3000) as one:
            assert one.stdout is not None
            said = [one.stdout.readline() for _ in range(draw.randint(1, 5))]
            time.sleep(draw.uniform(0, 0.01))
            one.send_signal(signal.SIGKILL)
            said += one.stdout.readlines()
        last = int([line for line in said if line.endswith("\n")][-1])
        assert read_own(path).values["consent_days"] in (last, last + 1)
    # The next change clears what the killed ones left
    put(path, {"consent_days": 7})
    assert sorted(os.listdir(path.parent)) == [".settings.json.lock", "settings.json"]


@pytest.mark.parametrize(("step", "there"), [("os.fsync", 1), ("os.replace", 1), ("whole._settle", 2)])
def test_a_death_at_each_step_of_writing(path: Path, step: str, there: int) -> None:
    """Before the draft takes the file's place the old one is there, after it the new one."""
    put(path, {"consent_days": 1})
    code = f"""if True:
        import os, sys
        sys.path[:0] = [{str(ROOT)!r}]
        from pathlib import Path
        from tundish.store import whole
        {step} = lambda *given: os._exit(9)
        from tundish.store.settings import change, with_values
        change(Path({str(path)!r}), lambda own: with_values(own, {{"consent_days": 2}}))"""
    done = subprocess.run([sys.executable, "-c", code], check=False)
    assert done.returncode == 9
    assert read_own(path).values == {"consent_days": there}
    assert len(list(path.parent.glob(".settings.json.????????"))) == 2 - there
    put(path, {"consent_days": 3})
    assert sorted(os.listdir(path.parent)) == [".settings.json.lock", "settings.json"]


# What the figures are used for.


@pytest.mark.parametrize(("name", "currency"), [("EU", "EUR"), ("NA", "USD")])
def test_usual_settings_give_the_planners_usual_shop(name: str, currency: str) -> None:
    assert shop_of(NOTHING, market(name)) == shop_for(market(name))
    # By way of minor units: the same figures
    assert shop_of(Own({"name": "x"}), market(name)) == PLAN_USUAL[currency]


def test_own_figures_reach_the_planner() -> None:
    own = Own({**MINE, "qualified": True, "replacement": {"any": 50000, "dishwasher": 40000}})
    shop = shop_of(own, market("EU"), "dishwasher")
    assert (shop.rate, shop.qualified, shop.replace) == (92.5 / 60, True, 400 + 35)
    with pytest.raises(PriceError, match="settings in EUR for the market"):
        shop_of(own, market("NA"))


def test_a_new_currency_leaves_no_sum_of_the_old_one() -> None:
    own = Own(MINE)
    with pytest.raises(StoreError, match="currency 'USD' while labour were set in EUR"):
        with_values(own, {"currency": "USD"})
    assert (
        settings_of(with_values(own, {"currency": "USD", "labour": 12000})).call_out == usual("USD").call_out
    )
    assert settings_of(with_values(without(own, "labour"), {"currency": "USD"})).labour == usual("USD").labour


def test_a_currency_without_usual_figures_needs_every_sum() -> None:
    with pytest.raises(PriceError, match="currency 'GBP' without"):
        settings_of(Own({"currency": "GBP", "labour": 6000}))
    sums = {name: {"any": 7} if name == "replacement" else 7 for name in SUMS}
    assert str(settings_of(Own({"currency": "GBP", **sums})).money("labour")) == "0.07 GBP"


def test_every_sum_is_guarded() -> None:
    """A setting in minor units that is not in SUMS would silently change its worth with the currency."""
    assert {name for name, rule in RULES.items() if rule.unit == "minor"} == set(SUMS)
