"""The trade's tables of the six families, as the tests hold the descriptions to them.

Source of every figure: common practice, no source, or from memory. Shares are percent of calls of a class, start values. Healthy: check,
market, lowest and highest reading of a sound machine in the quantity's unit. Repairs: part in USD and EUR, minutes, chance that it
alone cures.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from family import Family

from tundish.population.machines import Machines

PAGES = Path(__file__).parents[2] / "docs"
WET = {"SLOW": 0.18, "OVER": 0.12, "LEAK": 0.10}
ID = re.compile(r"(.*?)(\d+)$")


@dataclass(frozen=True, eq=False)
class Table:
    """What the trade says of a family.

    faults, checks : ids, `F01..F42` for a row of them; left_out : those not described, each with its reason on the family's page.
    shares : a class and its faults with their percent on a line. ours : classes the trade has no table for.
    extra : percent a class may give to faults that are not in its table; two : chances of two roots where they are not 0.06.
    told : a circumstance, the faults it multiplies and by how much, on a line. no_row : faults without a row of price, minutes and cure.
    masks : for a check, or "" for all, the quantities near 1 (or, with "!", near 0) on the machines that the healthy band is meant for.
    within : share of healthy machines that may lie outside a band.
    """

    family: Family
    faults: str
    checks: str
    left_out: str
    shares: str
    healthy: str
    repairs: str = ""
    ours: str = ""
    extra: float = 0.1
    two: Mapping[str, float] | None = None
    told: str = ""
    no_row: str = ""
    masks: Mapping[str, str] = field(default_factory=dict)
    within: float = 0.04
    normal_shows: bool = False

    @property
    def page(self) -> str:
        """The family's page."""
        name = self.family.name.replace(" ", "-")
        return (PAGES / f"{name}.md").read_text(encoding="utf-8")

    def shares_by_class(self) -> dict[str, dict[str, float]]:
        """Percent by fault and class."""
        rows = (line.split(": ") for line in self.shares.strip().splitlines())
        return {name: pairs(row) for name, row in rows}

    def bands(self, market: str) -> list[tuple[str, float, float]]:
        """Check, low and high of a market."""
        rows = (row.split() for line in self.healthy.strip().splitlines() for row in line.split("|"))
        return [(check, float(low), float(high)) for check, where, low, high in rows if where == market]

    def told_rows(self) -> list[tuple[str, dict[str, float]]]:
        """Circumstance, and the factor of each fault that it multiplies."""
        rows = (re.split(": | x", line) for line in self.told.strip().splitlines())
        return [(name, dict.fromkeys(faults.split(), float(factor))) for name, faults, factor in rows]

    def repair_rows(self) -> list[list[str]]:
        """Fault, USD, EUR, minutes, cure, as words."""
        return [row.split() for line in self.repairs.strip().splitlines() for row in line.split("|")]


def pairs(row: str) -> dict[str, float]:
    """Words and numbers in turn."""
    words = row.split()
    return dict(zip(words[::2], map(float, words[1::2]), strict=True))


def ids(words: str) -> set[str]:
    """Ids, and rows of ids such as F01..F42."""
    found: set[str] = set()
    for word in words.split():
        first, _, last = word.partition("..")
        if not last:
            found.add(first)
            continue
        (letters, low), (_, high) = (ID.fullmatch(each).groups() for each in (first, last))
        found |= {f"{letters}{n:0{len(low)}d}" for n in range(int(low), int(high) + 1)}
    return found


def span(text: str) -> tuple[float, float]:
    """One number, or two with a stroke between."""
    low, _, high = text.partition("-")
    return float(low), float(high or low)


@cache
def healthy(table: Table, market: str) -> Machines:
    """1500 sound machines as come upon."""
    return table.family.many(market, (), 1500, seed=5, found=True)


WASHER = Table(
    Family("front-load washer", "EU"),
    faults="S01..S28 F01..F42",
    checks="C01..C26 W01..W31",
    left_out="W22 W23 W24 W25 W28",
    told="""
house move: S06 S08 S02 S20 S26 x8
main works: S04 S19 x8
new disposer: S23 x12
only in the evening: S10 S11 x10
only on cold: S04 F01 x6
only on hot: S05 F02 x6
hard water: F19 F07 S04 x2.5
over 10 years: F25 F28 x2""",
    shares="""
NOFILL: S01 16 S06 7 S04 8 S07 4 S27 2 F01 12 F02 3 F03 3 F04 6 F10 3 F08 2 F11 4 F21 8 F31 8 F32 3 F34 4 F39 4 S24 3
SLOW: S04 22 S06 10 S02 14 S09 7 S10 6 S11 4 S18 4 F04 12 F06 5 F07 3 S20 5 F40 5 S19 3
OVER: F08 22 F09 14 F05 20 F10 12 F31 12 S12 8 F06 5 F36 4 F42 3
NODRAIN: F14 34 F12 18 F13 6 F15 10 F16 6 S22 8 S21 5 F31 4 F36 5 F34 2 F10 2
COLD/HOT: S08 10 S05 10 S14 18 F17 24 F20 12 F02 8 F31 7 S16 3 F40 8
LEAK: F23 22 F07 12 F24 14 S17 10 F14 8 F22 6 S21 8 F25 6 F36 8 F12 6
LOCK: F21 46 F22 22 F31 12 F10 8 F34 6 F39 6
NOSTART: S24 22 F21 16 F31 18 F33 12 F39 10 F32 10 F34 6 S25 3 S28 3
NOSPIN: F14 18 F35 14 F36 8 F28 16 F27 10 F12 6 F30 7 F29 6 F31 5 S26 4 F21 6
NOISE: F25 28 F26 18 F37 14 S26 14 F38 6 F27 5 F12 5 S13 6 F35 4
TRIP: F18 42 F33 14 F12 8 F30 8 F34 8 F29 6 S25 8 F31 6
NOHEAT: F17 36 F31 14 F20 16 F10 8 F19 6 F34 8 F40 8 S24 4
POORWASH: F36 22 F40 14 S14 10 F17 12 F07 8 S20 6 F35 8 S05 6 F41 6 F04 4 F27 4
ENDLESS: S20 34 F09 18 F05 6 F20 8 F17 12 F36 8 F31 6 F14 8
DISPENSE: F07 58 S09 12 F04 14 F42 6 F31 10
SMELL: F36 34 F23 28 F41 14 S21 14 F40 10""",
    healthy="""
C03 EU 80 130 | C04 EU 6 10 | C04.hot NA 6 10 | C13.cold EU 5 25 | C13.hot NA 48 61 | C17.flow EU 0 0.1
C19.idle EU 207 253 | C19.idle NA 114 126 | C20 EU 15 30 | C20 NA 4 6 | C21 EU 0 3.5 | C22.cold EU 10 10000
C22.warm EU 1 10000 | C23 EU 0 0.2 | C24 EU 0 30 | C26 EU 0 0.5 | W01.cold EU 3300 4500 | W01.cold NA 750 1300
W02.cold EU 207 253 | W02.idle EU 0 5 | W02.idle.hiz EU 40 110 | W02.idle.hiz NA 40 110 | W04.step EU 1100 1500
W05 EU 23600 25000 | W05.level EU 60 120 | W06 EU 110 200 | W06 NA 10 25 | W07 EU 0.17 0.3 | W07 NA 0.7 1.3
W09 EU 12 25 | W10 EU 25 31 | W10 NA 14 18 | W13 EU 0.9 1.1 | W14 EU 60 2000 | W16.brushes EU 12 40 | W17 EU 300 340
W18 EU 0 1 | W20.speed EU 800 1600 | W21.stale EU 0.5 2 | W30 EU 20 37 | C16.depth EU 0 150""",
    two=WET,
)

TOP_LOADER = Table(
    Family("top-load washer", "NA"),
    faults="S01..S28 T01..T25 F16 F33 F34 F36 F39 F42",
    checks="C01..C26 W01..W31",
    left_out="F36 W08 W10 W11 W12 W14 W15 W28 W30",
    told="""
house move: S06 S08 S02 S20 S26 x8
main works: S04 S19 x8
new disposer: S23 x12
only in the evening: S10 S11 x10
only on cold: S04 T01 x6
only on hot: S05 T02 x6
hard water: S04 x2.5
over 10 years: T14 x2""",
    shares="""
NOFILL: S01 15 S06 6 S04 9 S05 5 S07 3 T01 11 T02 6 T03 6 T08 8 T07 3 T09 12 T19 10 S24 2 S27 2 S09 2
SLOW: S04 18 S05 12 S02 12 S09 10 S10 8 S11 5 S18 3 S06 7 T03 12 T05 3 S20 3 T25 4 S19 3
OVER: T06 20 T07 14 T04 20 T08 18 T19 12 S12 9 T05 4 F42 3
NODRAIN: T10 28 T11 24 S22 10 S21 8 T19 6 T09 8 T12 6 T24 4 F16 6
COLD/HOT: S14 28 S05 16 S08 14 T02 14 T01 6 T23 8 S16 4 S15 4 T25 6
LEAK: T22 18 S17 12 S21 14 T18 10 T10 12 T24 12 T06 2 T04 6 T13 4 S12 10
LOCK: T09 62 T19 16 T24 6 T08 10 F34 6
NOSTART: S24 22 T09 26 T19 20 F33 8 F34 6 T16 8 S25 4 F39 6
NOSPIN: T09 16 T12 18 T15 14 T13 8 T14 8 T16 8 T10 12 T24 10 T19 6
NOISE: T17 24 T18 20 T14 14 T12 8 S13 8 T24 14 T10 6 T21 6
TRIP: T16 24 T10 18 F34 18 F33 14 S25 16 T19 10
POORWASH: T24 24 T25 18 S14 14 T20 12 S20 8 T03 8 T13 6 T08 6 S05 4""",
    healthy="""
C04 NA 11 19 | C04.hot EU 10 19 | C09 NA 15 50 | C13.cold EU 5 25 | C13.hot NA 48 61 | C13.tub NA 23 40
C16 EU 860 1070 | C16.depth EU 0 150 | C17.flow EU 0 0.1 | C19.idle EU 207 253 | C19.idle NA 114 126 | C20 EU 15 30
C20 NA 4 6 | C21 EU 0 3.5 | C22.cold EU 10 10000 | C22.warm NA 1 10000 | C23 EU 0 0.2 | C24 EU 0 30 | C26 EU 0 0.5
W01.cold EU 3300 4500 | W01.cold NA 750 1300 | W01.hot NA 750 1300 | W02.cold NA 109 126 | W02.idle EU 0 5
W02.idle.hiz EU 40 120 | W05 NA 21300 24500 | W05.level NA 120 330 | W06 NA 10 40 | W07 NA 0.9 1.8 | W09 EU 20 60
W13 NA 0.9 1.1 | W16 NA 1 15 | W18 EU 0 1 | W20.speed EU 500 1000 | W20.stop NA 0 15 | W22 EU 0 1
W22.coil NA 40 2000 | W23 NA 0.94 1.06 | W24.ohms EU 2000 10000""",
    extra=0.2,
    two=WET,
    within=0.05,
)

DISHWASHER = Table(
    Family("dishwasher", "EU"),
    faults="S01..S28 D01..D34 F34 F36 F39 F42",
    checks="C01..C26 D-1..D-24",
    left_out="S05 S08 S16 S20 C10 C17",
    told="""
house move: S06 S02 S26 x8
main works: S04 S19 x8
new disposer: S23 x12
only in the evening: S10 S11 x10
hard water: D29 D02 S04 x2.5
over 10 years: D11 x2""",
    shares="""
NOFILL: S01 14 S04 8 S06 6 S23 3 D01 15 D02 5 D04 14 D05 7 D06 6 D07 9 D19 5 D25 6 S27 2
SLOW: S04 16 S02 12 S06 9 S09 8 S10 6 D02 18 D29 8 D05 8 D06 5 D11 3 S18 4 S11 3
OVER: D03 24 D04 12 D05 14 D06 16 D25 8 S12 8 D29 8 D10 6 D07 4
NODRAIN: D09 28 D08 18 D10 18 S23 12 S21 6 D25 5 S22 7 D07 3 D27 3
LEAK: D20 24 D28 18 D10 12 D03 8 D29 8 S17 10 D13 8 D21 4 D31 8
NOSTART: S24 20 D19 22 D25 20 D26 12 D27 12 F39 8 S25 6
NOISE: D09 26 D11 26 D08 14 S13 10 D13 18 D21 6
TRIP: D15 42 D28 16 D11 10 D08 8 D34 8 S25 10 D25 6
NOHEAT: D14 34 D16 16 D17 10 D11 10 D18 12 D06 6 D25 6 D27 3 D33 3
POORWASH: D31 30 D13 18 D09 12 D12 6 D11 12 D32 6 D14 6 D02 6 D22 4
ENDLESS: D30 20 D33 20 D18 14 D14 18 D07 10 D05 6 D25 6 D10 6
COLD/HOT: D32 30 S14 28 D14 20 D18 12 D16 10
DISPENSE: D22 58 D31 20 D27 12 D25 10
SMELL: D09 34 D30 22 D10 22 D31 12 D24 10
NODRY: D33 22 D23 22 D14 18 D24 14 D16 8 D31 10 S14 6""",
    healthy="""
C03 EU 50 120 | C03 NA 75 165 | C04 EU 2.5 4 | C04 NA 2.5 4 | C13 NA 46 60 | C19.idle EU 207 253 | C19.idle NA 114 126
C20 EU 15 30 | C20 NA 4 6 | C21 EU 0 3.5 | C21 NA 0 3.5 | C22.cold EU 10 10000 | C22.warm EU 1 10000 | C23 EU 0 0.2
C24 EU 0 30 | C25.tub EU 0 180 | C26 EU 0 0.5 | D-2.switch EU 0 1 | D-3 EU -10 8 | D-3 NA -10 8 | D-5 EU 3300 4500
D-5 NA 800 1300 | D-6 EU 207 253 | D-6 NA 114 126 | D-7 EU 8.9 13.3 | D-7.total EU 775 890 | D-8 EU 8 60 | D-8 NA 8 60
D-9 EU 8 14 | D-9.back EU 0 0.7 | D-9.ohms EU 138 250 | D-9.ohms NA 15 40 | D-10 EU 25 29.5 | D-10 NA 12 24
D-10.cutout EU 0 1 | D-11 EU 7.4 9 | D-11.rise EU 3.2 4.8 | D-11.rise NA 0.8 2.1 | D-12 EU 1 10000 | D-13 EU 0.9 1.1
D-14 EU 20 45 | D-14 NA 20 45 | D-14.ohms EU 6 120 | D-16 EU 0 1 | D-18 EU 500 900 | D-20.coil EU 1500 4000
D-20.coil NA 200 1500 | D-21.rinse EU 55 70 | D-21.rinse NA 55 70""",
    repairs="""
D01 25-70 20-60 30 .94 | D02 25-70 20-60 30 .90 | D03 25-70 20-60 30 .85 | D04 0-35 0-25 15 .92
D05 25-70 20-60 40 .90 | D06 20-60 15-50 35 .90 | D07 0-0 0-0 30 .30 | D08 30-90 25-75 40 .92 | D09 0-0 0-0 20 .92
D10 0-35 0-30 25 .90 | D11 120-260 90-220 60 .88 | D12 30-90 25-75 45 .90 | D13 0-35 0-28 15 .92
D14 40-140 30-110 45 .92 | D15 40-140 30-110 45 .90 | D16 100-260 80-220 40 .85 | D17 10-30 8-25 30 .60
D18 15-55 12-45 30 .90 | D19 20-60 15-50 30 .93 | D20 20-60 15-50 30 .90 | D21 20-50 15-40 45 .93
D22 30-90 25-75 35 .92 | D23 0-90 0-75 30 .85 | D24 30-110 25-90 40 .90 | D25 120-300 100-250 40 .82
D26 60-160 50-140 35 .87 | D27 10-60 8-50 60 .87 | D28 10-60 8-50 75 .85 | D29 0-90 0-75 45 .88 | D30 0-15 0-13 20 .93
D31 0-0 0-0 20 .85 | D32 0-0 0-0 10 .85 | D34 5-40 4-35 60 .85 | S01 0-0 0-0 5 .97 | S02 0-40 0-30 5-30 .95
S03 5-30 4-25 20 .90 | S04 0-8 0-6 15 .85 | S06 12-30 10-25 15 .93 | S07 25-60 20-50 20 .93
S09 150-400 120-350 0 .90 | S10 0-0 0-0 0 .70 | S11 250-700 200-600 0 .85 | S12 150-400 120-350 0 .90
S13 15-40 12-35 20 .70 | S14 0-0 0-0 0 .90 | S15 0-0 0-0 0 .90 | S17 12-30 10-25 10 .95 | S18 15-80 12-70 15 .90
S19 0-0 0-0 30 .80 | S21 120-300 100-250 10 .90 | S22 15-30 12-25 15 .90 | S23 0-0 0-0 10 .95 | S24 0-0 0-0 5-10 .90
S25 60-150 50-120 15 .70 | S26 0-0 0-0 15 .95 | S27 0-30 0-25 20 .90 | S28 0-0 0-0 5 .90 | F34 5-30 4-20 45 .85
F36 0-0 0-0 15 .90 | F39 0-0 0-0 5 .97 | F42 0-80 0-70 30 .80""",
    two=WET,
)

DRYER = Table(
    Family("dryer", "NA"),
    faults="D01..D30",
    checks="C1..C8 DC1..DC18",
    masks={"": "vented at_building !no_element"},
    left_out="C4",
    shares="""
NOHEAT240: D01 12 D02 5 D03 22 D05 20 D06 9 D07 3 D08 3 D09 2 D10 4 D11 7 D21 3 D25 5 D30 4 D29 1
NOHEAT230: D03 22 D05 24 D07 4 D08 6 D09 6 D11 12 D12 4 D21 8 D25 8 D30 6
LONG: D12 34 D13 13 D23 7 D14 5 D08 4 D07 4 D09 3 D15 3 D01 1 D02 1 D24 6 D25 17 D21 2
LONG/CLOSED: D26 42 D25 18 D24 8 D09 4 D27 8 D23 4 D15 6 D28 7 D21 3
HOT: D12 36 D13 8 D18 18 D07 7 D04 8 D06 3 D14 5 D11 5 D09 4 D21 3 D16 3
NOSTART: D16 21 D06 19 D17 8 D18 16 D20 14 D01 6 D02 3 D19 3 D21 7 D25 3
NODRUM: D17 66 D18 15 D22 9 D19 6 D14 1 D16 3
TRIP: D04 30 D18 14 D02 14 D03 4 D01 14 D30 10 D11 4 D27 5 D21 5
NOISE: D22 62 D14 14 D17 12 D18 8 D25 4
WATER: D27 62 D26 20 D25 14 D15 4""",
    healthy="""
C1.legs NA 228 252 | C1.1n NA 114 126 | C1.2n NA 114 126 | C1.1n EU 207 253 | C3.off NA 0 0.3 | C3.off EU 0 0.3
C3.leak NA 0 4.05 | C3.leak EU 0 1.8 | C5 EU 1 10000 | C6.frame NA 0 2 | C8.time NA 27 52 | DC2 NA 25 163
DC3 NA 190 290 | DC3 EU 140 190 | DC5 NA 60 75 | DC5 EU 60 75 | DC5.duty NA 0.38 0.68 | DC8 EU 1 10000
DC9.cutout NA 0 0.2 | DC9.fuse NA 0 0.2 | DC9.limit NA 0 0.2 | DC9.cycling NA 0 0.2 | DC10 EU 0.92 1.08
DC13 NA 1.5 3.5 | DC13 EU 15 40 | DC13.capacitor EU 6 10 | DC17 NA 1.05 1.6
DC7 NA 9.6 11.8 | DC7 EU 19.8 24.2 | C3.L1 NA 24.7 30.3 | C3.L2 NA 20 24.5 | C3.N NA 4 7 | C3.meter EU 2200 2900""",
)

OVEN = Table(
    Family("oven and hob", "NA"),
    faults="O01..O18 H01..H07 M01..M04",
    checks="C1..C8 OC1..OC15 MW",
    ours="MICROWAVE",
    no_row="M01 M02 M03 M04",
    masks={"OC4.ring": "ring_fitted"},
    left_out="C4",
    shares="""
NOHEAT: O03 27 O05 10 O10 13 O11 9 O01 8 O09 8 O07 5 O18 6 O16 4 O08 4 O02 3 O04 3
TEMP: O07 26 O17 24 O08 17 O12 12 O03 7 O10 5 O13 6 O01 3
ZONE: H01 42 H03 24 H02 13 H04 9 H05 6 O18 4 H07 2
TRIP: O06 55 O02 9 O18 8 H01 8 O01 6 O14 4 H05 5 O13 5
DEAD: O01 22 O11 12 O09 20 O10 22 O02 10 O18 8 O14 6
OVERHEAT: O10 20 O07 24 O08 16 O14 24 O12 10 O15 6
NOISE: O13 48 O14 48 O17 4""",
    healthy="""
C1.LL EU 207 253 | C1.L1N NA 114 126 | C1.L2N NA 114 126 | C1.NG NA 0 2 | C2.sag NA 0 0.03 | C2.sag EU 0 0.03
C2.lug NA 0 0.15 | C3.off NA 0 0.05 | C5 EU 1 10000 | C6 EU 0 0.1 | OC3.bake NA 7.6 13.2 | OC4.bake NA 17.3 25.3
OC4.broil NA 15.2 22 | OC4.ring EU 19 31 | OC4.bake EU 36 58 | OC5.cold EU 1 10000 | OC6.gap NA 0 5 | OC7 NA 163 191
OC7 EU 163 191 | OC7.preheat NA 2 25 | OC10 EU 0 0.2 | OC10.fascia EU 35 60 | OC12.duty NA 0.03 0.15 | OC13 EU 0 0.2""",
    repairs="""
O01 0-60 0-60 20 0.95 | O02 25-70 20-60 45 0.93 | O03 30-90 30-90 35 0.96 | O04 35-100 30-100 35 0.96
O05 60-110 30-90 40 0.96 | O06 30-110 30-100 45 0.92 | O07 15-60 20-60 25 0.88 | O08 50-150 40-110 50 0.9
O09 10-50 15-45 45 0.9 | O10 130-350 130-350 45 0.88 | O11 0-0 0-0 10 0.97 | O12 25-90 25-90 30-50 0.92
O13 50-150 40-120 45 0.94 | O14 40-120 35-90 50 0.93 | O15 40-120 40-120 60 0.88 | O16 40-120 35-100 50 0.93
O18 5-20 5-20 45 0.92 | H01 20-90 30-90 30 0.96 | H02 12-30 12-30 30 0.93 | H03 25-70 25-60 35 0.95
H04 20-90 30-90 35 0.94 | H05 120-350 130-350 50 0.85 | H06 150-400 150-400 60 0.97 | H07 0-400 0-350 30-60 0.85""",
    extra=0.2,
)

FRIDGE = Table(
    Family("refrigerator-freezer", "EU"),
    faults="R01..R24",
    checks="C1..C8 RC1..RC18",
    no_row="R04 R05",
    normal_shows=True,
    left_out="C2 C4",
    shares="""
NOTCOLD: R02 16 R08 12 R09 9 R12 6 R05 13 R04 9 R06 8 R15 5 R20 7 R01 4 R14 3 R07 4 R21 4
FRIDGEWARM: R09 26 R10 9 R11 5 R12 10 R08 15 R13 14 R14 6 R21 8 R16 4 R17 3
FROST: R16 30 R09 20 R10 8 R12 9 R11 3 R18 10 R21 12 R14 3 R08 3 R13 2
RUNS: R06 21 R16 18 R05 13 R21 18 R14 6 R17 5 R07 7 R15 4 R09 8
WATER: R18 62 R19 16 R16 8 R21 8 R23 3 R12 3
NOISY: R22 44 R08 18 R07 14 R04 6 R21 12 R02 6
TRIP: R24 38 R04 24 R23 12 R01 14 R19 5 R02 7
SILENT: R01 16 R12 14 R15 16 R20 22 R03 8 R04 10 R02 10 R14 4""",
    healthy="""
C1 EU 207 253 | C1 NA 114 126 | C6 EU 0 0.15 | RC1.fresh EU 2 5.7 | RC1.freezer EU -21 -16.5 | RC2 EU 70 140
RC2 NA 90 168 | C3 EU 0.35 1 | C3 NA 0.8 1.6 | RC2.day EU 0.5 2.2 | RC2.day NA 1 2.6 | RC3.shell EU 45 76
RC4 EU 8 15 | RC7 NA 2.6 4.6 | RC8.heater NA 26 45 | RC8.heater EU 119 323 | RC8.terminator EU 0 0.5 | RC9 NA 200 600
RC9 EU 700 2500 | RC11.fresh EU 0.92 1.08 | RC12.device NA 3 12 | RC12.device EU 12 35 | RC12.overload EU 0 1
RC12.CR NA 3 9.1 | RC12.CR EU 10 30.3 | RC12.CS NA 4 16.5 | RC12.CS EU 12 55 | RC14 EU 1 10000 | C5 EU 1 10000""",
    repairs="""
R01 0-20 0-20 10 0.95 | R02 15-60 15-50 25 0.8 | R03 10-30 10-30 25 0.75 | R06 0-0 0-0 30 0.88
R07 30-90 25-80 40 0.94 | R08 40-110 30-90 50 0.92 | R09 30-90 30-90 70 0.93 | R10 15-50 15-45 60 0.92
R11 10-40 10-35 60 0.9 | R12 20-250 20-220 35 0.9 | R13 40-140 35-120 50 0.92 | R14 12-50 12-45 35 0.88
R15 25-80 25-70 35 0.92 | R16 40-120 40-110 40 0.9 | R17 8-40 8-40 20 0.95 | R18 0-25 0-20 45 0.88
R19 25-90 25-80 45 0.9 | R20 120-300 110-280 45 0.82 | R21 0-0 0-0 20 0.85 | R22 0-30 0-30 25 0.9
R23 20-60 20-60 60 0.7 | R24 30-90 30-90 70 0.92""",
    extra=0.0,
)

TABLES = (WASHER, TOP_LOADER, DISHWASHER, DRYER, OVEN, FRIDGE)
