"""Before any reading a population gives back the shares of the trade's table.

Every class of every family: the chances of single causes stand to one another as the table's percent. For the first class of each family
machines are drawn by their weights too, so that a stratum lost or weighed twice would show.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from tables import TABLES, Table

from tundish.diagnosis.odds import start
from tundish.population.build import build
from tundish.population.hypotheses import hypotheses, priors, shares

DRAWN = 20_000
every_table = pytest.mark.parametrize("table", TABLES, ids=lambda table: table.family.name)


@every_table
def test_single_causes_are_weighed_by_the_table(table: Table) -> None:
    described = table.family.description
    for name, row in table.shares_by_class().items():
        record = described.complaints[name]
        kinds = hypotheses(described, record)
        chances = dict(zip(kinds, priors(kinds, record, shares(described, record, None, ())), strict=True))
        assert sum(chances.values()) == pytest.approx(1.0)
        single = {h.roots[0]: p for h, p in chances.items() if len(h.roots) == 1}
        # What we added beside the table, at most a fifth of a percent, is set apart.
        kept, total = sum(single[fault] for fault in row), sum(row.values())
        for fault, percent in row.items():
            assert single[fault] / kept == pytest.approx(percent / total, rel=1e-9), (name, fault)


@every_table
def test_machines_drawn_by_their_weights_have_the_tables_causes(table: Table) -> None:
    """Within 4 standard errors of a binomial for each cause; one of some 75 beyond that by chance has odds of 1 in 200."""
    described = table.family.description
    name, row = next(iter(table.shares_by_class().items()))
    record = described.complaints[name]
    held = build(table.family.place(table.family.home), name, 400, 5)
    cloud = start(held, priors(held.hypotheses, record, shares(described, record, None, ())))
    weight = np.exp(cloud.log_weight)
    drawn = np.random.default_rng(11).choice(held.size, size=DRAWN, p=weight / weight.sum())
    roots = (held.hypotheses[k].roots for k in held.stratum[drawn])
    causes = Counter(found[0] for found in roots if len(found) == 1 and found[0] in row)
    single, total = sum(causes.values()), sum(row.values())
    assert single > DRAWN / 2
    for fault, percent in row.items():
        chance = percent / total
        error = (chance * (1 - chance) / single) ** 0.5
        assert abs(causes[fault] / single - chance) < 4 * error, fault
