"""Every description against the trade's tables: ids, shares, repairs, sound machines, and faults that show."""

from __future__ import annotations

import numpy as np
import pytest
from tables import DISHWASHER, FRIDGE, OVEN, TABLES, TOP_LOADER, WASHER, Table, healthy, ids, span

from tundish.appliance.possible import barred, checks_of, complaints_of
from tundish.population.hypotheses import Hypothesis
from tundish.population.predict import column
from tundish.quantity.units import from_si

every_table = pytest.mark.parametrize("table", TABLES, ids=lambda table: table.family.name)
every_market = pytest.mark.parametrize("market", ["EU", "NA"])


@every_table
def test_every_fault_of_the_tables_is_there_or_left_out(table: Table) -> None:
    described = set(table.family.description.faults)
    out = ids(table.left_out)
    assert described | (out & ids(table.faults)) == ids(table.faults)
    assert not described & out
    assert {f for c in table.family.description.complaints.values() for f in c.shares} == described


@every_table
def test_every_check_of_the_tables_is_there_or_left_out(table: Table) -> None:
    described = {name.split(".")[0] for name in table.family.description.checks}
    out = ids(table.left_out)
    assert described | (out & ids(table.checks)) == ids(table.checks)
    assert not described & out


@every_table
def test_what_is_left_out_has_its_reason_on_the_page(table: Table) -> None:
    assert ids(table.left_out) <= ids(table.faults) | ids(table.checks)
    page = table.page
    assert [name for name in ids(table.left_out) if f"| {name} |" not in page] == []


@every_table
def test_shares_are_those_of_the_table(table: Table) -> None:
    complaints, wanted = table.family.description.complaints, table.shares_by_class()
    assert set(complaints) == set(wanted) | ids(table.ours)
    for name, row in wanted.items():
        given = dict(complaints[name].shares)
        extra = {f: given.pop(f) for f in set(given) - set(row)}
        assert given == row, name
        assert sum(extra.values()) <= table.extra, name
        # So that only a reading can raise it.
        assert all(share <= 0.1 for share in extra.values()), name


wet_tables = pytest.mark.parametrize("table", [WASHER, TOP_LOADER, DISHWASHER], ids=lambda table: table.family.name)


@wet_tables
def test_answers_multiply_as_the_table_says(table: Table) -> None:
    circumstances = table.family.description.circumstances
    for told, times in table.told_rows():
        assert dict(circumstances[told].times) == times, told


@wet_tables
def test_an_old_stop_valve_brings_the_loose_washer_to_the_tables_weight(table: Table) -> None:
    described = table.family.description
    told = described.circumstances["stop valve over 15 years"]
    assert 1 <= described.complaints["SLOW"].shares["S03"] * told.times["S03"] <= 2


@pytest.mark.parametrize("table", [TOP_LOADER, DISHWASHER], ids=lambda table: table.family.name)
def test_a_part_already_replaced_is_less_likely_and_the_repair_more(table: Table) -> None:
    circumstances = table.family.description.circumstances
    replaced = [dict(record.times) for told, record in circumstances.items() if "already replaced" in told]
    assert replaced
    for times in replaced:
        assert times.pop("F42") == 6
        assert set(times.values()) == {0.2}


@wet_tables
def test_chances_of_two_roots(table: Table) -> None:
    complaints = table.family.description.complaints.values()
    assert {c.name: c.two for c in complaints} == {c.name: table.two.get(c.name, 0.06) for c in complaints}


@pytest.mark.parametrize("table", [DISHWASHER, OVEN, FRIDGE], ids=lambda table: table.family.name)
def test_prices_minutes_and_cure_are_those_of_the_table(table: Table) -> None:
    faults, rows = table.family.description.faults, table.repair_rows()
    assert {row[0] for row in rows} | ids(table.no_row) == {f.id for f in faults.values() if f.kind != "normal"} | (
        {row[0] for row in rows if faults[row[0]].kind == "normal"}
    )
    for name, usd, eur, minutes, cure in rows:
        fault = faults[name]
        found = (fault.price["USD"], fault.price["EUR"], fault.minutes, fault.cure)
        assert found == (span(usd), span(eur), span(minutes), float(cure)), name


def meant(table: Table, market: str, check: str) -> np.ndarray:
    """Which of the sound machines a band is meant for."""
    found = healthy(table, market)
    kept = np.ones(1500, dtype=bool)
    for name in (table.masks.get("", "") + " " + table.masks.get(check, "")).split():
        value = found.value(name.lstrip("!"))
        kept &= value < 0.1 if name.startswith("!") else value > 0.9
    return kept


@every_table
@every_market
def test_sound_machines_read_as_the_trade_says(table: Table, market: str) -> None:
    found, outside = healthy(table, market), {}
    assert not found.lost.any()
    for check, low, high in table.bands(market):
        record = table.family.description.checks[check]
        value = from_si(column(found, record), record.unit)[meant(table, market, check)]
        share = float(((value < low) | (value > high)).mean())
        if share > table.within:
            outside[check] = share
    assert outside == {}


@every_market
def test_sound_top_loaders_lie_in_the_bands_of_the_checks(market: str) -> None:
    """Of the other families some bands say what a house should have, which not every house has."""
    found, outside = healthy(TOP_LOADER, market), {}
    for record in TOP_LOADER.family.description.checks.values():
        if record.healthy is not None:
            value = column(found, record)
            share = float(((value < record.healthy[0]) | (value > record.healthy[1])).mean())
            if share > 0.05:
                outside[record.id] = share
    assert outside == {}


@every_table
@every_market
def test_sound_machines_show_no_complaint(table: Table, market: str) -> None:
    found = healthy(table, market)
    for complaint in table.family.description.complaints.values():
        met = np.logical_and.reduce([found.holds(c) for c in complaint.when])
        assert met.mean() < 0.003, complaint.name


@every_table
@every_market
def test_every_listed_fault_can_show_its_complaint(table: Table, market: str) -> None:
    """Machines are drawn by rejection: fewer than about 3 in 100 would make a population slow to draw."""
    there, number = table.family.place(market), 500
    z = np.random.default_rng(3).standard_normal((number, there.plan.width))
    rare = {}
    for complaint in complaints_of(there.description, market).values():
        for fault in complaint.shares:
            if table.normal_shows or there.description.faults[fault].kind != "normal":
                shows = there.shows([Hypothesis("root", (fault,))] * number, z, complaint).mean()
                if shows < 0.03:
                    rare[complaint.name, fault] = shows
    assert rare == {}


@every_table
@every_market
def test_no_fault_leaves_the_range_of_the_physics(table: Table, market: str) -> None:
    """A machine outside the range of a law is thrown away, and its cause with it: its odds would be too small."""
    there, number = table.family.place(market), 100
    z = np.random.default_rng(3).standard_normal((number, there.plan.width))
    complaints = complaints_of(there.description, market).values()
    thrown = {}
    for fault in {name for one in complaints for name in one.shares}:
        found = there.machines(there.batch([Hypothesis("root", (fault,))] * number, z, found=False))
        for complaint in complaints:
            for clause in complaint.when:
                found.holds(clause)
        if found.lost.mean() > 0.1:
            thrown[fault] = found.lost.mean()
    assert thrown == {}


@every_table
@every_market
def test_an_open_wire_reads_over_the_meters_range(table: Table, market: str) -> None:
    """Between 2 and 20 Mohm lies no part's resistance; an open one must be over the range (common practice, no source)."""
    there, number = table.family.place(market), 60
    z = np.random.default_rng(3).standard_normal((number, there.plan.width))
    sound, between = healthy(table, market), {}
    ohms = [c for c in checks_of(there.description, market).values() if c.instrument and c.instrument.name == "ohmmeter"]
    parts = [c for c in ohms if np.nanmedian(column(sound, c)) < 1e6]
    for fault in {name for one in complaints_of(there.description, market).values() for name in one.shares}:
        found = there.machines(there.batch([Hypothesis("root", (fault,))] * number, z, found=True))
        for check in parts:
            value = column(found, check)
            share = float(((value > 2e6) & (value < 2e7)).mean())
            if share > 0.05:
                between[fault, check.id] = share
    assert parts
    assert between == {}


# What a market has no machine for: needs of 240 V on two legs, of 230 V on one, of a gas train, of a plug-in coil.
NOT_THERE = {
    ("dryer", "EU"): ({"NOHEAT240"}, {"C1.legs", "C1.2n", "C1.2n.hiz", "C2.legs", "C2.2n", "C2.2n.hiz", "C3.L2", "C3.N", "C7.plug"}),
    ("dryer", "NA"): ({"NOHEAT230"}, {"C3.meter"}),
    ("oven and hob", "EU"): (
        set(), {"C1.L1N", "C1.L2N", "C1.L2N.hiz", "C2.L2N", "C2.L2N.off", "C3.N", "C8.hob", "OC11"},
    ),
}  # fmt: skip


@every_table
@every_market
def test_what_makes_no_sense_in_a_market_is_not_offered_there(table: Table, market: str) -> None:
    described = table.family.description
    classes = set(described.complaints) - set(complaints_of(described, market))
    checks = set(described.checks) - set(checks_of(described, market))
    assert (classes, checks) == NOT_THERE.get((table.family.name, market), (set(), set()))


@every_table
@every_market
def test_no_sound_machine_of_a_market_has_what_is_barred_there(table: Table, market: str) -> None:
    """Drawn machines and the description's choices agree on what a market has."""
    described, found = table.family.description, healthy(table, market)
    for needs in [c.requires for c in (*described.complaints.values(), *described.checks.values())]:
        for name, kind in needs.items():
            has = (found.value(name) == described.parameters[name].names.index(kind)).any()
            assert has == (not barred(described, market, {name: kind})), (name, kind)
