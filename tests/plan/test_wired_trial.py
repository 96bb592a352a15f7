"""Simulated calls of the toy family: every way ends every call, on one bill, and the same way twice gives the same."""

import numpy as np
import pytest

from tundish.plan.chart import chart_lines, printed
from tundish.plan.demands import demands_of_check
from tundish.plan.errors import PlanError
from tundish.plan.rivals import chart_with_odds, informed, likeliest, ours
from tundish.plan.shop import shop_for
from tundish.plan.simulated import start_job
from tundish.plan.trial import MOST_STEPS, WAYS, bench, figure, trial


@pytest.fixture(scope="module")
def made(place, toy):
    return bench(place, "SLOW", shop_for(toy.markets["EU"]), size=2_000, seed=51)


@pytest.fixture(scope="module")
def ran(made):
    return trial(made, 12)


def test_every_way_meets_the_same_calls_and_ends_them(ran):
    assert [r.way for r in ran.results] == list(WAYS)
    for result in ran.results:
        assert len(result.bills) == 12
        for bill in result.bills:
            assert bill.end
            assert bill.cost > 0
            assert bill.minutes >= 0


def test_the_ways_do_what_their_names_say(ran):
    by_way = {r.way: r for r in ran.results}
    assert by_way["likeliest part"].checks.mean == 0
    assert by_way["chart"].checks.mean >= 1
    assert by_way["chart with our odds"].checks.mean >= 1
    assert by_way["ours"].cost.mean < by_way["likeliest part"].cost.mean
    assert by_way["ours"].wrong.mean < by_way["likeliest part"].wrong.mean


def test_a_trial_can_be_repeated(made, ran):
    again = trial(made, 3, ways=("ours", "chart"))
    for new, old in zip(again.results, ran.results[:2], strict=True):
        assert new.bills == old.bills[:3]


def test_paired_differences_are_differences(ran):
    bills = {r.way: np.array([b.cost for b in r.bills]) for r in ran.results}
    saved = ran.saved["chart"]
    assert saved.mean == pytest.approx(bills["chart"].mean() - bills["ours"].mean())
    # Normal interval by hand
    error = (bills["chart"] - bills["ours"]).std(ddof=1) / np.sqrt(12)
    assert saved.high - saved.mean == pytest.approx(1.96 * error, rel=1e-3)
    assert ran.ratio["chart"] == pytest.approx(bills["ours"].mean() / bills["chart"].mean())


def test_figure_of_known_numbers():
    found = figure([2.0, 4.0, 6.0, 8.0])
    # Standard deviation 2.582, standard error 1.291
    assert (found.mean, round(found.high - found.mean, 2)) == (5.0, 2.53)


@pytest.mark.parametrize("way", [ours(), printed, chart_with_odds, likeliest, informed])
def test_no_way_takes_a_live_check_or_stays_for_ever(made, way):
    step = way if way.__name__ == "step" else way(made)
    for number in range(20, 24):
        job = start_job(made, number)
        for _ in range(MOST_STEPS):
            if job.over:
                break
            step(job)
        assert job.over
        assert not [c for c in job.read if made.description.checks[c].live]


def test_a_chart_reads_its_lines_in_one_order_and_names_parts_when_printed(made):
    lines = chart_lines(made)
    job = start_job(made, 3)
    step, asked = printed(made), []
    while not job.over:
        before = set(job.read)
        step(job)
        asked += [line.check.id for line in lines if line.check.id in job.read - before]
    order = [line.check.id for line in lines]
    assert asked == [c for c in order if c in asked]
    # Whatever a line names is one of the remedies of this complaint, and some line names one
    named = {r for line in lines for r in line.names.values() if r is not None}
    assert named and named <= set(made.remedies)


def test_a_chart_that_names_nothing_goes_through_all_its_lines_first(made):
    job = start_job(made, 3)
    step = printed(made, named=2.0)
    while not job.tried and not job.over:
        step(job)
    lawful = {line.check.id for line in chart_lines(made)}
    assert lawful <= job.read | {c for c in lawful if not np.isfinite(job.way(_demands(made, c))[0])}


def _demands(made, check):
    return demands_of_check(made.description.checks[check])


def test_wrong_words_are_refused(made):
    with pytest.raises(PlanError, match="allowed: ours, chart"):
        trial(made, 2, ways=("guessing",))
    with pytest.raises(PlanError, match="2 or more"):
        trial(made, 1)
