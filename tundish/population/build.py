"""The population of a complaint: for every hypothesis enough machines that really show it.

Machines are drawn from the prior and kept when the complaint appears (rejection), so that severities, tolerances and house are right
given the complaint. Every hypothesis keeps its own machines (a stratum), however rare it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from tundish.appliance.records import Complaint, Description
from tundish.population.draws import Floats
from tundish.population.hypotheses import Hypothesis, hypotheses, slots
from tundish.population.layout import Layout, layout
from tundish.population.machines import Machines
from tundish.population.needs import asked_by, needed_parameters
from tundish.population.parameters import Batch, batch, parameters
from tundish.population.predict import predict

# Fewest machines of a hypothesis, and of a single root.
FEWEST_TWO, FEWEST_ONE = 100, 400
# A hypothesis that shows the complaint in fewer than this share of draws cannot show it: a pair is dropped, a root is an error.
LEAST_ACCEPTANCE = 0.002
FIRST_DRAWS = 4_000
CHUNK = 4_000


@dataclass(frozen=True)
class Population:
    """Machines under every hypothesis of a complaint.

    hypotheses : (h,) those that can show the complaint, `something not described` last (it has no machines).
    stratum : (m,) hypothesis of each machine.
    latent : (m, width) its standard normal numbers.
    present : (m, slots) which of its faults are there (a consequence may not have followed).
    predicted : (n_checks, m) what each check would show, SI or answer number.
    healthy : (n_checks, k) the same on healthy machines of the market.
    faults : (h,) for each hypothesis its faults by slot, "" where there is none.
    acceptance : (h,) share of draws that showed the complaint.
    lost : machines thrown away because a network did not converge.
    """

    market: str
    complaint: str
    checks: tuple[str, ...]
    hypotheses: tuple[Hypothesis, ...]
    stratum: npt.NDArray[np.int16]
    latent: npt.NDArray[np.float32]
    present: npt.NDArray[np.bool_]
    predicted: npt.NDArray[np.float32]
    healthy: npt.NDArray[np.float32]
    acceptance: npt.NDArray[np.float64]
    faults: tuple[tuple[str, ...], ...]
    lost: int

    @property
    def size(self) -> int:
        """Machines, [-]."""
        return len(self.stratum)

    @cached_property
    def fault_codes(self) -> tuple[tuple[str, ...], npt.NDArray[np.intp]]:
        """Every fault in question, and (h, slots) its number there by hypothesis and slot, -1 where there is none."""
        ids = tuple(dict.fromkeys(f for faults in self.faults for f in faults if f))
        number = {"": -1, **{f: i for i, f in enumerate(ids)}}
        return ids, np.array([[number[f] for f in faults] for faults in self.faults], dtype=np.intp)

    def row(self, check: str) -> npt.NDArray[np.float32]:
        """What a check would show on every machine, (m,)."""
        return np.asarray(self.predicted[self.checks.index(check)])


class PopulationError(ValueError):
    """A complaint cannot be simulated as described."""


@dataclass(frozen=True)
class World:
    """A family in a market, ready to draw machines."""

    description: Description
    market: str
    plan: Layout

    def machines(self, drawn: Batch, only: frozenset[str] | None = None) -> Machines:
        """The machines of a batch; `only` : the parameters to draw when not every quantity will be asked (`needs`)."""
        values = parameters(self.description, self.market, self.plan, drawn, only=only)
        return Machines(self.description, values, drawn.size)

    def needs(self, complaint: Complaint, checks: Iterable[str] = ()) -> frozenset[str]:
        """Parameters that a complaint and checks depend on."""
        reads = [self.description.checks[c].reads for c in checks]
        return needed_parameters(self.description, [*asked_by(complaint.when), *reads])

    def batch(self, stratum: Sequence[Hypothesis], latent: Floats, *, found: bool) -> Batch:
        """A batch with one hypothesis a machine; `found` as on the visit, else as complained."""
        return batch(self.description, self.plan, stratum, latent, found=found)

    def shows(
        self, stratum: Sequence[Hypothesis], latent: Floats, complaint: Complaint
    ) -> npt.NDArray[np.bool_]:
        """Which machines show the complaint to their user, (n,); a machine with nothing wrong needs not."""
        drawn = self.batch(stratum, latent, found=False)
        met = self._meets(self.machines(drawn, self.needs(complaint)), complaint)
        return np.asarray(met | np.array([h.kind == "normal" for h in stratum]))

    @staticmethod
    def _meets(machines: Machines, complaint: Complaint) -> npt.NDArray[np.bool_]:
        met = np.logical_and.reduce([machines.holds(c) for c in complaint.when])
        return np.asarray(met & ~machines.lost)


def world(description: Description, market: str) -> World:
    """A family in a market. Raises KeyError for an unknown market; callers check names first."""
    description.markets[market]
    return World(description, market, layout(description))


def build(place: World, complaint: str, size: int, seed: int) -> Population:
    """About `size` machines that show a complaint, and 4,000 healthy ones.

    The same description, market, complaint, size and seed give the same machines to the last digit.
    Raises PopulationError when a listed root can hardly show the complaint.
    """
    record = place.description.complaints[complaint]
    # Rows are kept in single precision from the start: what is simulated now must be what a reader of the
    # cache simulates later.
    kept, drawn, acceptance = _strata(place, record, size, seed)
    stratum = np.repeat(np.arange(len(drawn), dtype=np.int16), [len(z) for z in drawn])
    latent = np.concatenate(drawn)
    checks = tuple(place.description.checks)
    parts = [_simulate(place, [kept[i] for i in stratum[a:b]], latent[a:b]) for a, b in _spans(len(latent))]
    predicted = np.concatenate([p[0] for p in parts], axis=1)
    present = np.concatenate([p[1] for p in parts])
    # A machine whose network did not balance has no readings to speak of; it is counted, never guessed.
    sound = ~np.concatenate([p[2] for p in parts])
    # The unknown fault has no machines: nobody can simulate what nobody described.
    everyone = (*kept, Hypothesis("undescribed", ()))
    return Population(
        place.market,
        complaint,
        checks,
        everyone,
        stratum[sound],
        latent[sound],
        present[sound],
        predicted[:, sound],
        healthy(place, 4_000, seed),
        np.array([*acceptance, 1.0]),
        tuple(tuple(f for f, _ in slots(place.description, h)) for h in everyone),
        int((~sound).sum()),
    )


def healthy(place: World, size: int, seed: int) -> npt.NDArray[np.float32]:
    """What every check shows on healthy machines of the market, (n_checks, size)."""
    # A stream of its own: healthy machines must not change when a complaint gains a hypothesis.
    z = np.random.default_rng([seed, 1]).standard_normal((size, place.plan.width))
    sound = [Hypothesis("normal", ())] * size
    shown, _, lost = _simulate(place, sound, z.astype(np.float32))
    return shown[:, ~lost]


def resimulated(
    place: World,
    old: Population,
    stays: npt.NDArray[np.bool_],
    stratum: npt.NDArray[np.int16],
    latent: Floats,
) -> Population:
    """The machines of `old` that stay, then new ones with every check simulated; hypotheses are unchanged.

    stays : (m,) which old machines stay. stratum, latent : (n,), (n, width) the new machines.
    """
    # The same single precision as in `build`, so that a machine regrown is one that could have been drawn.
    rows = latent.astype(np.float32)
    parts = [
        _simulate(place, [old.hypotheses[i] for i in stratum[a:b]], rows[a:b]) for a, b in _spans(len(rows))
    ]
    return replace(
        old,
        stratum=np.concatenate([old.stratum[stays], stratum]),
        latent=np.concatenate([old.latent[stays], rows]),
        present=np.concatenate([old.present[stays], *[p[1] for p in parts]]),
        predicted=np.concatenate([old.predicted[:, stays], *[p[0] for p in parts]], axis=1),
    )


def _spans(size: int) -> Iterator[tuple[int, int]]:
    return ((a, min(a + CHUNK, size)) for a in range(0, size, CHUNK))


_Shown = tuple[npt.NDArray[np.float32], npt.NDArray[np.bool_], npt.NDArray[np.bool_]]


def _simulate(place: World, stratum: Sequence[Hypothesis], latent: npt.NDArray[np.float32]) -> _Shown:
    """Every check on machines as found: predicted, faults present, lost."""
    drawn = place.batch(stratum, latent.astype(np.float64), found=True)
    machines = place.machines(drawn)
    shown = predict(machines, place.description.checks.values())
    # Presence is told as complained of: a fault that sleeps on this visit is still there to be cured.
    complained = place.batch(stratum, latent.astype(np.float64), found=False)
    return shown, complained.acting, machines.lost


def _strata(
    place: World, complaint: Complaint, size: int, seed: int
) -> tuple[list[Hypothesis], list[npt.NDArray[np.float32]], list[float]]:
    kept, drawn, acceptance = [], [], []
    listed = [h for h in hypotheses(place.description, complaint) if h.kind != "undescribed"]
    for index, (h, wanted) in enumerate(zip(listed, _allotment(listed, complaint, size), strict=True)):
        z, share = _accepted(place, h, complaint, wanted, np.random.default_rng([seed, 2, index]))
        # A listed root that cannot show the complaint is a fault of the description; a pair may simply
        # cancel out.
        if share < LEAST_ACCEPTANCE and h.kind != "two":
            raise PopulationError(
                f"{complaint.name} with {h.name}: saw the complaint in {share:.2%} of machines drawn; at least "
                f"{LEAST_ACCEPTANCE:.2%} are needed; widen the fault's effect or take it out of the complaint's shares"
            )
        if share >= LEAST_ACCEPTANCE:
            kept.append(h)
            drawn.append(z)
            acceptance.append(share)
    return kept, drawn, acceptance


def _allotment(listed: Sequence[Hypothesis], complaint: Complaint, size: int) -> list[int]:
    """Machines by hypothesis: by the square root of its chance, so that rare causes keep machines, with a floor."""
    share = {f: s / sum(complaint.shares.values()) for f, s in complaint.shares.items()}
    weight = [_root_chance(h, share, complaint.two) for h in listed]
    fewest = [FEWEST_TWO if h.kind == "two" else FEWEST_ONE for h in listed]
    return [max(f, round(size * w / sum(weight))) for f, w in zip(fewest, weight, strict=True)]


def _root_chance(hypothesis: Hypothesis, share: dict[str, float], two: float) -> float:
    chance = 1.0
    for root in hypothesis.roots:
        chance *= share[root]
    return float(np.sqrt(chance * (two if hypothesis.kind == "two" else 1.0)))


def _accepted(
    place: World, h: Hypothesis, complaint: Complaint, wanted: int, rng: np.random.Generator
) -> tuple[npt.NDArray[np.float32], float]:
    """Latent rows (wanted, width) of machines that show the complaint, and the share of draws that did."""
    rows: list[npt.NDArray[np.float32]] = []
    drawn = found = 0
    while found < wanted:
        share = found / drawn if drawn else 0.5
        if drawn >= FIRST_DRAWS and share < LEAST_ACCEPTANCE:
            break
        # A tenth more than expected, so that most hypotheses need one round only.
        number = int(np.clip(1.1 * (wanted - found) / max(share, 0.01), 200, FIRST_DRAWS))
        z = rng.standard_normal((number, place.plan.width), dtype=np.float32)
        shown = place.shows([h] * number, z.astype(np.float64), complaint)
        rows.append(z[shown])
        drawn, found = drawn + number, found + int(shown.sum())
    return np.concatenate(rows)[:wanted], found / drawn
