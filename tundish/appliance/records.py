"""The frozen records of a description. Numbers are as in the file's units where a `unit` stands beside them, else SI.

A *binding* is what feeds an input: a float in SI, or the name of a parameter or quantity.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

Binding = float | str
# How a danger ends the work: the machine is isolated and put out of use, or not even its plug is touched.
HALTS = ("isolate", "leave")


@dataclass(frozen=True)
class Distribution:
    """How a number is drawn.

    kind : constant, normal, lognormal, uniform, loguniform, beta, choice, by or name (a choice set by an effect).
    numbers : (k,) the kind's numbers, in the owner's unit; the weights of a choice.
    names : the names of a choice in their stored order 0, 1, 2 ...; the one name of `name`.
    key, cases : the choice parameter and the distribution for each of its names, of `by`.
    clip : lowest and highest value, in the owner's unit.
    """

    kind: str
    numbers: tuple[float, ...] = ()
    names: tuple[str, ...] = ()
    key: str | None = None
    cases: tuple[Distribution, ...] = ()
    clip: tuple[float, float] | None = None


@dataclass(frozen=True)
class Parameter:
    """What differs from machine to machine; `times` and `plus` name another numeric parameter."""

    name: str
    unit: str
    distribution: Distribution
    times: str | None = None
    plus: str | None = None
    note: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """The names of a choice parameter, else nothing."""
        return self.distribution.names if self.distribution.kind == "choice" else ()


@dataclass(frozen=True)
class Market:
    """A supply and habit of a part of the world; `parameters` replace the family's distributions."""

    name: str
    title: str
    currency: str
    units: str
    parameters: Mapping[str, Distribution]


@dataclass(frozen=True)
class LinkRecord:
    """A link of a network: its law by name, its two nodes and the binding of every input given."""

    name: str
    law: str
    start: str
    end: str
    inputs: Mapping[str, Binding]
    lift: Binding = 0.0


@dataclass(frozen=True)
class NetworkRecord:
    """Links and the held nodes of one domain.

    angles : where the potentials are complex, the lead of every held node, [rad]; its root mean square is in `hold`.
    """

    name: str
    links: tuple[LinkRecord, ...]
    hold: Mapping[str, Binding]
    potentials: str = "real"
    angles: Mapping[str, Binding] = field(default_factory=dict)

    @property
    def is_complex(self) -> bool:
        """True where the potentials alternate."""
        return self.potentials == "complex"


@dataclass(frozen=True)
class Change:
    """What a setup does to a parameter: `to` a binding, `at_least`, `at_most` or `times` a number in SI."""

    kind: str
    value: Binding


@dataclass(frozen=True)
class Setup:
    """A state of the machine in which readings are taken."""

    name: str
    network: str
    title: str
    set: Mapping[str, Change] = field(default_factory=dict)
    hold: Mapping[str, Binding] = field(default_factory=dict)
    free: tuple[str, ...] = ()
    angles: Mapping[str, Binding] = field(default_factory=dict)


@dataclass(frozen=True)
class Quantity:
    """A named result.

    take : flow, potential, drop, voltage or resistance, read from the solved `setup`; or "" for a closed form.
    where : (link,) for flow, (node,) for potential, (from, to) for the others.
    meter : resistance of the voltmeter, [ohm].
    form, inputs, of : the closed form and its bindings; `of` for forms that take a list.
    """

    name: str
    unit: str
    take: str = ""
    setup: str = ""
    where: tuple[str, ...] = ()
    meter: float = 0.0
    form: str = ""
    inputs: Mapping[str, Binding] = field(default_factory=dict)
    of: tuple[Binding, ...] = ()


@dataclass(frozen=True)
class Effect:
    """What a fault does to a parameter: kind set, times, plus or swap (then `other` is the second parameter)."""

    kind: str
    parameter: str
    distribution: Distribution | None = None
    other: str | None = None


@dataclass(frozen=True)
class Mode:
    """One way in which a fault shows itself."""

    title: str
    weight: float
    effects: tuple[Effect, ...]


@dataclass(frozen=True)
class Fault:
    """A root or consequence. `kind`: wear, house, user, install or normal (nothing is wrong with the machine)."""

    id: str
    part: str
    mode: str
    kind: str
    modes: tuple[Mode, ...]
    acts: float
    age: tuple[float, float] | None
    price: Mapping[str, tuple[float, float]]
    minutes: tuple[float, float]
    access: tuple[str, ...]
    cure: float
    drags: Mapping[str, float]
    mistaken_for: tuple[str, ...]
    after: tuple[str, ...]
    note: str = ""

    @property
    def title(self) -> str:
        """Part and mode in one line."""
        return f"{self.part}: {self.mode}"


@dataclass(frozen=True)
class Clause:
    """A condition on a machine: a quantity or parameter above or below an SI value or named; or any of several."""

    quantity: str = ""
    above: float | None = None
    below: float | None = None
    name: str | None = None
    any: tuple[Clause, ...] = ()


@dataclass(frozen=True)
class Complaint:
    """What the machine shows its user. requires : choice parameters and the name each must have, or the class makes no sense."""

    name: str
    title: str
    when: tuple[Clause, ...]
    shares: Mapping[str, float]
    two: float
    undescribed: float
    proof: str
    requires: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Circumstance:
    """An answer that multiplies shares; `age_above` and `age_below` [years] make it apply by the machine's age."""

    name: str
    ask: str
    times: Mapping[str, float]
    age_above: float | None = None
    age_below: float | None = None


@dataclass(frozen=True)
class Instrument:
    """Errors of an instrument, one sigma, SI.

    persistent : share of the error's variance that a repeated reading repeats, [-].
    low, high : range of the instrument; above it shows over range.
    log : errors act on the natural logarithm (relative error only).
    """

    name: str
    dimension: str
    absolute: float
    relative: float
    resolution: float
    persistent: float
    low: float
    high: float
    log: bool = False


@dataclass(frozen=True)
class Answer:
    """One answer of a look; the band is of the SI value looked at (low included, high excluded)."""

    name: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Check:
    """A reading to take or a look. A look has `answers` and looks at `of`; a reading has an `instrument` and `reads`.

    mistakes : true answer -> (answer named -> chance) of a look.
    model : model error, relative, [-].
    """

    id: str
    title: str
    reads: str
    unit: str
    instrument: Instrument | None
    answers: tuple[Answer, ...]
    mistakes: Mapping[str, Mapping[str, float]]
    model: float
    misdone: float
    minutes: float
    state: str
    access: tuple[str, ...]
    live: bool
    where: str
    step: str
    cautions: tuple[str, ...]
    healthy: tuple[float, float] | None = None
    requires: Mapping[str, str] = field(default_factory=dict)

    @property
    def is_look(self) -> bool:
        """True for a look (answers by name), False for a reading (a number)."""
        return bool(self.answers)


@dataclass(frozen=True)
class Notice:
    """What must be said whatever the complaint, when one of `checks` reads above or below an SI value or gives an answer.

    halts : "" when the work may go on; else how it ends: one of HALTS. refer : who takes over then.
    """

    name: str
    checks: tuple[str, ...]
    say: str
    source: str
    above: float | None = None
    below: float | None = None
    answers: tuple[str, ...] = ()
    halts: str = ""
    refer: str = ""


@dataclass(frozen=True)
class Reply:
    """One answer to a question.

    told : circumstances it says yes to. complaint : the complaint class it stands for. stop : name of the stop words it means.
    """

    name: str
    told: tuple[str, ...] = ()
    complaint: str = ""
    stop: str = ""


@dataclass(frozen=True)
class Question:
    """Something to ask on the phone.

    seconds : what asking and answering it takes, [s]. check : the look that its answers stand for, or "".
    complaints : those it is asked for, none for all. fact : what it settles for the visit, answered in the customer's own words, or "".
    lost_trip : chance that the visit is lost or must be made twice when it was not asked, [-].
    photo : what to photograph, or "".
    """

    id: str
    ask: str
    seconds: float
    replies: tuple[Reply, ...]
    source: str
    check: str = ""
    complaints: tuple[str, ...] = ()
    fact: str = ""
    lost_trip: float = 0.0
    photo: str = ""

    @property
    def circumstances(self) -> tuple[str, ...]:
        """Every circumstance that one of its answers tells."""
        return tuple(dict.fromkeys(name for reply in self.replies for name in reply.told))

    def denied(self, reply: str) -> tuple[str, ...]:
        """The circumstances an answer says no to: those that only other answers tell."""
        told = {name for each in self.replies if each.name == reply for name in each.told}
        return tuple(name for name in self.circumstances if name not in told)

    def fits(self, complaint: str) -> bool:
        """Whether it is asked for a complaint."""
        return not self.complaints or complaint in self.complaints


@dataclass(frozen=True)
class PhoneFix:
    """What a customer may be told to do about a fault. cause : in his words. only : on what condition, or ""."""

    fault: str
    cause: str
    say: str
    source: str
    only: str = ""


@dataclass(frozen=True)
class StopWord:
    """What ends advice at once. words : phrases a customer may use. unless : phrases that hold one of them and are harmless.

    halts : how the work ends when an answer means it, one of HALTS.
    """

    name: str
    words: tuple[str, ...]
    say: str
    source: str
    refer: str = ""
    unless: tuple[str, ...] = ()
    halts: str = "isolate"


@dataclass(frozen=True)
class Description:
    """A whole family."""

    family: str
    format: int
    sources: Mapping[str, str]
    markets: Mapping[str, Market]
    parameters: Mapping[str, Parameter]
    networks: Mapping[str, NetworkRecord]
    setups: Mapping[str, Setup]
    quantities: Mapping[str, Quantity]
    faults: Mapping[str, Fault]
    complaints: Mapping[str, Complaint]
    circumstances: Mapping[str, Circumstance]
    instruments: Mapping[str, Instrument]
    checks: Mapping[str, Check]
    digest: str
    notices: Mapping[str, Notice] = field(default_factory=dict)
    questions: Mapping[str, Question] = field(default_factory=dict)
    phone: Mapping[str, PhoneFix] = field(default_factory=dict)
    stop_words: Mapping[str, StopWord] = field(default_factory=dict)
