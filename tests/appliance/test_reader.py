"""A valid description read into records. Expected SI values are worked out here from the file's units."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

import pytest

from tundish.appliance.reader import read
from tundish.appliance.records import (
    Answer,
    Change,
    Circumstance,
    Clause,
    Description,
    Distribution,
    Effect,
    Instrument,
    Notice,
    PhoneFix,
    Quantity,
    Question,
    Reply,
    Setup,
    StopWord,
)

TEXT = (Path(__file__).parent / "small.yaml").read_text(encoding="utf-8")
LITRE_A_MINUTE = 1e-3 / 60


def near(value: float) -> Any:
    """A float that may differ by a last digit, wherever a float is expected."""
    return pytest.approx(value)


@pytest.fixture(scope="module")
def small() -> Description:
    """The small description."""
    return read(TEXT, "small.yaml")


def test_the_top(small: Description) -> None:
    assert (small.family, small.format) == ("bucket filler", 1)
    assert small.sources == {"TOY": "invented for the test"}
    assert small.digest == hashlib.sha256(TEXT.encode("utf-8")).hexdigest()


def test_distributions_keep_the_numbers_of_the_file(small: Description) -> None:
    drawn = {name: parameter.distribution for name, parameter in small.parameters.items()}
    # 1.5 bar is 150 of the parameter's own kPa.
    assert drawn["static"] == Distribution("normal", (350.0, 80.0), clip=(150.0, 550.0))
    assert drawn["hot_static"] == Distribution("uniform", (0.93, 1.0))
    assert drawn["coil"] == Distribution("lognormal", (3900.0, 1.05))
    assert drawn["blocked"] == Distribution("beta", (2.0, 8.0))
    assert drawn["bucket"] == Distribution("constant", (9.5,))
    assert drawn["called"] == Distribution("constant", (1.0,))


def test_units_and_partners(small: Description) -> None:
    assert {name: parameter.unit for name, parameter in small.parameters.items()} == {
        "static": "kPa",
        "hot_static": "kPa",
        "supply": "V",
        "tap_kind": "",
        "tap_open": "-",
        "blocked": "-",
        "called": "-",
        "coil": "ohm",
        "broken": "ohm",
        "water": "°C",
        "bucket": "L",
        "mat": "",
    }
    assert small.parameters["hot_static"].times == "static"
    assert small.parameters["coil"].note == "cold, at 20 °C"


def test_names_that_yaml_takes_for_truths_stay_names(small: Description) -> None:
    assert small.parameters["mat"].names == ("no", "yes")
    assert small.checks["L01"].answers == (Answer("no"), Answer("yes"))
    assert small.checks["L01"].requires == {"mat": "no"}
    assert small.checks["W01"].live is False


def test_a_distribution_by_choice_follows_the_order_of_the_choice(small: Description) -> None:
    drawn = small.parameters["tap_open"].distribution
    one = Distribution("constant", (1.0,))
    assert drawn == Distribution("by", key="tap_kind", cases=(Distribution("uniform", (0.9, 1.0)), one, one))


def test_markets_replace_in_the_order_of_the_parameter(small: Description) -> None:
    assert small.markets["EU"].parameters == {"supply": Distribution("normal", (230.0, 5.0))}
    names = ("lever", "globe", "gate")
    assert small.markets["NA"].parameters == {"tap_kind": Distribution("choice", (0.3, 0.7, 0.0), names)}
    assert (small.markets["NA"].currency, small.markets["NA"].units) == ("USD", "US")


def test_links_are_bound_in_si(small: Description) -> None:
    water = small.networks["water"]
    by_name = {link.name: link for link in water.links}
    assert water.hold == {"main": "static", "air": 0.0}
    assert (by_name["tap"].law, by_name["tap"].start, by_name["tap"].end) == ("stop valve", "main", "tap_end")
    assert by_name["tap"].inputs == {"bore": near(0.0127), "kind": "tap_kind", "open": "tap_open"}
    assert by_name["valve"].inputs == {"flow_at": near(12 * LITRE_A_MINUTE), "called": "called"}
    assert by_name["valve"].lift == near(2000.0)


def test_a_kind_by_name_becomes_its_code() -> None:
    made = read(
        TEXT.replace("kind: tap_kind, open: tap_open", "kind: gate, open: tap_open").replace(
            ", tap_kind: lever", ""
        ),
        "f",
    )
    assert made.networks["water"].links[0].inputs["kind"] == 2.0


def test_setups(small: Description) -> None:
    assert small.setups["fill"] == Setup("fill", "water", "filling", {"called": Change("to", 1.0)})
    assert small.setups["eased"].set == {
        "called": Change("to", 1.0),
        "tap_open": Change("at_least", 0.5),
        "tap_kind": Change("to", 0.0),
        "static": Change("to", near(3e5)),
    }
    bucket = small.setups["bucket"]
    assert (bucket.set, bucket.hold, bucket.free) == (
        {"blocked": Change("times", 0.0)},
        {"inlet": 0.0},
        ("air",),
    )
    # Left out, the title is the name.
    assert bucket.title == "bucket"


def test_a_plain_number_in_a_setup_is_in_the_parameters_unit() -> None:
    made = read(TEXT.replace("static: 3 bar}", "static: 300}"), "f")
    assert made.setups["eased"].set["static"] == Change("to", near(3e5))


def test_quantities(small: Description) -> None:
    assert small.quantities["coil_volts"] == Quantity(
        "coil_volts", "V", "voltage", "energised", ("coil_end", "neutral"), near(3000.0)
    )
    assert small.quantities["fill_flow"].where == ("valve",)
    assert small.quantities["tap_flowing"].where == ("tap_end",)
    time = small.quantities["fill_time"]
    assert (time.form, time.take) == ("fill time", "")
    assert time.inputs == {
        "volume": "bucket",
        "inflow": "fill_flow",
        "outflow": near(0.1 * LITRE_A_MINUTE),
    }
    assert small.quantities["coil_now"].of == ("coil", "broken", 2.0)


def test_plain_numbers_of_a_sum_are_in_the_unit_of_the_sum() -> None:
    made = read(TEXT.replace("of: [coil, broken, 2], unit: ohm", "of: [coil, broken, 2], unit: kohm"), "f")
    assert made.quantities["coil_now"].of == ("coil", "broken", 2000.0)


def test_a_fault(small: Description) -> None:
    fault = small.faults["S04"]
    (mode,) = fault.modes
    # A rise of 1.8 °F is one of 1 °C: no offset.
    assert mode.effects == (
        Effect("set", "blocked", Distribution("beta", (16.0, 2.0))),
        Effect("plus", "water", Distribution("normal", (0.0, near(1.0)))),
        Effect("set", "mat", Distribution("name", names=("yes",))),
    )
    assert (fault.age, fault.minutes, fault.access, fault.cure) == (
        (4.0, 12.0),
        (15.0, 15.0),
        ("OUT", "EXT"),
        0.85,
    )
    assert fault.price == {"USD": (0.0, 8.0), "EUR": (6.0, 6.0)}
    assert (fault.acts, fault.drags, fault.mistaken_for) == (1.0, {"F01": 0.1}, ("inlet valve",))


def test_a_fault_with_modes(small: Description) -> None:
    one, other = small.faults["F01"].modes
    assert (one.title, one.weight, other.weight) == ("open", 3.0, 1.0)
    # 1 Mohm in the parameter's own ohm.
    assert one.effects == (Effect("set", "broken", Distribution("constant", (near(1e6),))),)
    assert other.effects == (
        Effect("times", "static", Distribution("constant", (0.5,))),
        Effect("swap", "static", other="hot_static"),
        Effect("set", "tap_kind", Distribution("name", names=("gate",))),
    )
    assert (small.faults["F01"].acts, small.faults["F01"].age) == (0.5, None)


def test_nothing_wrong_needs_no_repair(small: Description) -> None:
    fault = small.faults["N01"]
    assert (fault.kind, fault.price, fault.minutes, fault.modes[0].effects) == ("normal", {}, (0.0, 0.0), ())


def test_a_complaint(small: Description) -> None:
    slow = small.complaints["SLOW"]
    gate, weak = Clause("tap_kind", name="gate"), Clause("fill_flow", below=near(6 * LITRE_A_MINUTE))
    assert slow.when == (Clause("fill_time", above=160.0), Clause(any=(gate, weak)))
    assert slow.shares == {"S04": 22.0, "F01": 10.0, "N01": 3.0}
    assert (slow.two, slow.undescribed) == (0.18, 0.02)


def test_circumstances(small: Description) -> None:
    assert small.circumstances == {
        "house move": Circumstance("house move", "Did you move house lately?", {"S04": 2.0}),
        "over 10 years": Circumstance("over 10 years", "", {"F01": 2.0}, age_above=10.0),
    }


def test_instruments(small: Description) -> None:
    assert small.instruments == {
        "pressure gauge": Instrument("pressure gauge", "pressure", 14e3, 0.0, 10e3, 0.5, 0.0, near(1e6)),
        "insulation meter": Instrument(
            "insulation meter", "resistance", 0.0, 0.1, 0.0, 0.5, 1e3, near(1e9), log=True
        ),
        # 0.9 °F is an error of 0.5 K; the range has an offset.
        "thermometer": Instrument(
            "thermometer", "temperature", near(0.5), 0.0, near(0.1), 0.5, near(253.15), near(393.15)
        ),
    }


def test_a_reading(small: Description) -> None:
    check = small.checks["C05.cold"]
    assert (check.reads, check.unit, check.is_look) == ("tap_flowing", "kPa", False)
    # The check's own error: 5 kPa in the quantity's unit, the rest as the gauge has it.
    assert check.instrument == Instrument("pressure gauge", "pressure", 5e3, 0.0, 10e3, 0.5, 0.0, near(6e5))
    assert check.healthy == (near(260e3), near(340e3))
    assert (check.model, check.misdone, check.minutes, check.state, check.access) == (
        0.04,
        0.02,
        6.0,
        "FILL",
        ("OUT",),
    )
    assert check.cautions == ("Hot side: scald.",)


def test_looks(small: Description) -> None:
    assert small.checks["L01"].mistakes == {"no": {"yes": 0.1}, "yes": {"no": 0.1}}
    assert small.checks["L02"].mistakes == {"globe": {"gate": 0.2, "lever": 0.01}}
    jet = small.checks["L03"]
    half, six = near(0.5 * LITRE_A_MINUTE), near(6 * LITRE_A_MINUTE)
    assert jet.answers == (Answer("strong", six), Answer("none", None, half), Answer("weak", half, six))
    # One mistake in twenty, spread over the two other answers.
    assert jet.mistakes["none"] == {"strong": near(0.025), "weak": near(0.025)}
    assert (jet.reads, jet.unit, jet.instrument) == ("fill_flow", "L/min", None)


def test_notices(small: Description) -> None:
    assert small.notices["house pressure"] == Notice(
        "house pressure",
        ("C05.cold",),
        "Above 552 kPa a reducing valve is needed.",
        "IRC P2903.3.1",
        near(552e3),
    )
    assert small.notices["gate"].answers == ("gate",)


@pytest.mark.parametrize(
    ("written", "value"), [("1e2", 100.0), ("+2", 2.0), (".5", 0.5), ("3.", 3.0), ("1E-3", 1e-3)]
)
def test_numbers_as_people_write_them(written: str, value: float) -> None:
    made = read(TEXT.replace("minutes: 6", f"minutes: {written}"), "f")
    assert made.checks["C05.cold"].minutes == value


@pytest.mark.parametrize("written", ["1_000", "0x10", "1:30", "6 min", "nan", "null", "[6]", "{a: 6}", "yes"])
def test_what_yaml_or_people_may_take_for_numbers_is_refused(written: str) -> None:
    with pytest.raises(
        ValueError, match=r"f:96: checks\.C05\.cold\.minutes: saw .*; allowed: a number above 0; write"
    ):
        read(TEXT.replace("minutes: 6", f"minutes: {written}"), "f")


@pytest.mark.parametrize(
    ("written", "seconds"),
    [("160", 160.0), ("2:40 min", 160.0), ("2 min 40 s", 160.0), ('"160 s"', 160.0), ("3 min", 180.0)],
)
def test_a_limit_may_be_written_in_any_unit(written: str, seconds: float) -> None:
    made = read(TEXT.replace("above: 160 s", f"above: {written}"), "f")
    assert made.complaints["SLOW"].when[0].above == near(seconds)


def test_a_choice_may_be_set_by_weights_and_by_another_choice() -> None:
    weights = TEXT.replace("{set: tap_kind, to: gate}", "{set: tap_kind, to: {choice: {gate: 1, globe: 3}}}")
    effect = read(weights, "f").faults["F01"].modes[1].effects[2]
    names = ("lever", "globe", "gate")
    assert effect.distribution == Distribution("choice", (0.0, 3.0, 1.0), names)
    keyed = TEXT.replace(
        "{set: tap_kind, to: gate}", "{set: tap_kind, to: {by: mat, yes: gate, no: {choice: {lever: 1}}}}"
    )
    effect = read(keyed, "f").faults["F01"].modes[1].effects[2]
    sure = [Distribution("choice", weight, names) for weight in ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0))]
    assert effect.distribution == Distribution("by", key="mat", cases=tuple(sure))


def test_a_byte_order_mark_and_windows_lines_do_not_matter() -> None:
    plain, other = read(TEXT, "f"), read("\ufeff" + TEXT.replace("\n", "\r\n"), "f")
    assert plain.digest != other.digest
    assert (plain.checks, plain.faults) == (other.checks, other.faults)


def test_questions(small: Description) -> None:
    yes, no = Reply("yes", told=("house move",)), Reply("no")
    # A circumstance brings its own words, a look its own answers.
    assert small.questions["Q4"] == Question("Q4", "Did you move house lately?", 6.0, (yes, no), "TOY")
    tap = small.questions["Q5"]
    assert [r.name for r in tap.replies] == ["lever", "globe", "gate"]
    assert (tap.check, tap.photo, tap.complaints) == ("L02", "the tap", ("SLOW",))
    assert tap.fits("SLOW") and not tap.fits("NOFILL")
    assert small.questions["Q1"].replies[0] == Reply("fills slowly", complaint="SLOW")
    smell = small.questions["Q6"]
    assert smell.replies == (Reply("none"), Reply("burnt", told=("house move",), stop="burning"))
    assert (smell.denied("none"), smell.denied("burnt")) == (("house move",), ())
    assert small.questions["Q17"].lost_trip == near(0.5)


def test_what_may_be_said_by_phone(small: Description) -> None:
    assert small.phone["S04"] == PhoneFix("S04", "a clogged screen", "Rinse it.", "TOY", "Tap shut.")
    assert small.stop_words["burning"] == StopWord(
        "burning", ("burnt smell", "smoke"), "Switch off.", "TOY", "electrician", ("smoke alarm",)
    )
