"""The invented shop: calls in four stages by the tool's own rules, apart from the user's records, kept until it is asked for anew."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from tundish.call.bodies import NoteAdded
from tundish.call.fold import CallState, fold
from tundish.cli import demo_moves, demo_shop
from tundish.cli.demo_shop import Shop, beside, made_ready
from tundish.cli.main import main
from tundish.documents.quote_facts import agreed_facts
from tundish.store.clock import system
from tundish.store.counsel import Asked, counsel
from tundish.store.events import open_events
from tundish.store.folders import EVENTS_FILE, SETTINGS_FILE
from tundish.store.kept import PAPERS
from tundish.store.proving import proving
from tundish.store.settings import read_own, settings_of
from tundish.store.stock import stock_of
from tundish.van.part import key_of

FEW = 2500


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    folder = tmp_path_factory.mktemp("demo")
    made = Shop(beside(folder / "tundish"), folder / "cache", FEW)
    said: list[str] = []
    assert made_ready(made, said.append) and len(said) == 4
    return made


def states(shop: Shop) -> dict[str, CallState]:
    with open_events(shop.folder / EVENTS_FILE, create=False) as file:
        return {head.name: fold(file.events_of(head.call)) for head in file.calls()}


def test_the_calls_stand_in_different_stages(shop: Shop) -> None:
    calls = states(shop)
    assert len({state.opened.body.family for state in calls.values() if state.opened}) == len(calls) == 4
    assert all(not state.problems for state in calls.values())
    phoned, found, mended, closed = (calls[n] for n in ("mill-row", "orchard-lane", "kettle-court", "thimble-lane"))
    assert not phoned.readings and phoned.job.follow_up is not None and phoned.safety is None
    assert [fact.body.check for fact in found.readings] == ["C03", "C04"] and not found.repairs
    assert mended.repairs and mended.ended is None and mended.job.used
    assert closed.ended is not None and closed.ended.body.as_ == "proven"
    assert agreed_facts(closed)["due"] == 0 and agreed_facts(closed)["owed"] > 0


def test_the_dishwasher_waits_for_a_proof_that_its_readings_can_give(shop: Shop) -> None:
    state = states(shop)["kettle-court"]
    asked = counsel(state, shop.cache, Asked(size=FEW, own=read_own(shop.folder / SETTINGS_FILE)))
    found = proving(asked)
    assert not found.proven and found.further.checks and found.further.proven


def test_parts_papers_and_prices_are_those_of_the_shop(shop: Shop) -> None:
    settings = settings_of(read_own(shop.folder / SETTINGS_FILE))
    assert settings.currency == "EUR" and "invented" in settings.name
    with open_events(shop.folder / EVENTS_FILE, create=False) as file:
        levels = stock_of(file).levels
    # Two were bought, one went in
    assert levels[key_of("oven and hob: bake or bottom element")].on_van == 1
    papers = states(shop)["thimble-lane"].job.papers
    assert [one.body.paper.split()[0] for one in papers] == ["report", "invoice"]
    kept = [path for path in (shop.folder / PAPERS).rglob("*") if path.is_file()]
    assert len(kept) == 2 and all(path.read_bytes().startswith(b"%PDF") for path in kept)


def test_it_is_never_the_users_own_folder_and_stays_until_asked_anew(shop: Shop) -> None:
    data = shop.folder.with_name("tundish")
    assert shop.folder == beside(data) != data and not data.exists()
    with open_events(shop.folder / EVENTS_FILE, create=False) as file:
        call = file.resolve("mill-row")
        file.record(call, NoteAdded("the bell does not ring"), system("here"))
    assert not made_ready(shop, pytest.fail)
    assert states(shop)["mill-row"].notes[-1].body.text == "the bell does not ring"


def test_a_start_that_was_broken_off_leaves_no_half_shop(
    tmp_path: Path, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = Shop(tmp_path / "other-demo", shop.cache, FEW)

    def stop(*told: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setitem(demo_moves.PLAYS, "quote", stop)  # type: ignore[arg-type]
        with pytest.raises(KeyboardInterrupt):
            made_ready(other, lambda words: None)
    assert not other.folder.exists()
    # Asked anew while one is there: the old one stays until the new one is whole
    other.folder.mkdir()
    (other.folder / "mine").touch()
    with monkeypatch.context() as broken:
        broken.setattr(demo_shop, "play", stop)
        with pytest.raises(KeyboardInterrupt):
            made_ready(other, lambda words: None, anew=True)
    assert (other.folder / "mine").exists()
    assert made_ready(other, lambda words: None, anew=True)
    assert not (other.folder / "mine").exists() and len(states(other)) == 4


def test_a_real_shop_is_never_made_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TUNDISH_DATA", str(tmp_path / "data"))
    result = CliRunner().invoke(main, ["serve", "--anew"])
    assert result.exit_code == 2 and "--anew with --demo" in result.output
    assert not (tmp_path / "data").exists()
