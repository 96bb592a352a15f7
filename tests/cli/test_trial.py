"""`tundish trial` on a few calls: table, JSON and picture from the same facts."""

import json
import xml.etree.ElementTree as ET

from click.testing import CliRunner

from tundish.cli.main import main
from tundish.documents.trial_plot import trial_plot

FEW = ("trial", "front-load washer", "-n", "2", "--complaint", "trip", "--machines", "1000", "--seed", "3")


def ran(*more, code=0):
    result = CliRunner().invoke(main, [*FEW, *more])
    assert result.exit_code == code, result.output
    return result.output


def test_trial_as_json_and_as_a_picture(tmp_path):
    file = tmp_path / "trial.svg"
    facts = json.loads(ran("--json", "--svg", str(file)))
    row = facts["trials"][0]
    assert (row["complaint"], row["calls"], facts["currency"]) == ("TRIP", 2, "EUR")
    assert [w["way"] for w in row["ways"]] == ["ours", "chart", "chart with our odds", "likeliest part", "information a minute"]
    for way in row["ways"]:
        assert way["cost"]["low"] <= way["cost"]["mean"] <= way["cost"]["high"]
    ours, chart = row["ways"][:2]
    assert chart["ratio"] == ours["cost"]["mean"] / chart["cost"]["mean"]
    drawn = ET.fromstring(file.read_text(encoding="utf-8"))
    words = " ".join(t.text or "" for t in drawn.iter("{http://www.w3.org/2000/svg}tspan"))
    assert "ours" in words
    assert f"{chart['cost']['mean']:.0f}" in words
    assert file.read_text(encoding="utf-8") == trial_plot(facts)


def test_trial_refuses_a_complaint_it_does_not_know():
    result = CliRunner().invoke(main, ["trial", "front-load washer", "-n", "2", "--complaint", "BLUE"])
    assert result.exit_code == 2
    assert "allowed" in result.output
