"""The title of a check is shown as it stands, in metric and in US calls: it holds no figure that only one of them reads."""

from __future__ import annotations

import re

import pytest

from tundish.store.library import families, load

# Ohm, volt, minute and second are the same in both.
METRIC = re.compile(r"\d\s?(mm|cm|m|L|mL|ml|l|L/min|kg|g|kPa|Pa|bar|mbar|°C|K|l/min)(?![\w/])")


def test_the_pattern_sees_what_it_should() -> None:
    assert METRIC.search("held 800 mm up") and METRIC.search("at 10 L/min") and METRIC.search("set to 40 °C")
    assert not METRIC.search("insulation to the frame, 500 V") and not METRIC.search("after 15 minutes")


@pytest.mark.parametrize("family", sorted(families()))
def test_no_title_holds_a_metric_figure(family: str) -> None:
    checks = load(family).checks.values()
    assert checks
    assert [one.title for one in checks if METRIC.search(one.title)] == []
