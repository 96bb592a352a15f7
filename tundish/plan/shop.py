"""What time, trips and mistakes cost the shop and its customer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from tundish.appliance.records import Description, Fault, Market
from tundish.plan.errors import PlanError

# Complaints a part must be a cause of to be carried although it is dearer, and how much dearer. Our choice.
COMMON_IN, COMMON_TIMES = 3, 1.2


@dataclass(frozen=True, kw_only=True)
class Shop:
    """A shop's figures, all money in `currency`.

    rate : money per minute of work. call_out : for coming at all. trip : a second trip. callback : cost of one.
    limit : chance of a cause left that still counts as proven, [-]. replace : price of a comparable machine and
    the removal of this one. stop_value : what the customer loses when the call stops unrepaired. carried : dearest part kept on
    the van. qualified : trained and authorised for live work. held : fault -> whether its part is on the van, of what
    is counted; the rest is judged by its price.
    """

    currency: str
    rate: float
    call_out: float
    trip: float
    callback: float
    replace: float
    stop_value: float
    carried: float
    limit: float = 0.05
    qualified: bool = False
    held: Mapping[str, bool] = field(default_factory=dict)

    @property
    def who(self) -> str:
        """Who works, in the words of the safety table."""
        return "qualified" if self.qualified else "trained"

    def on_van(self, description: Description, fault: Fault) -> bool:
        """Whether the part for a fault is on the van: as counted, else cheap ones are, and somewhat dearer ones of many complaints."""
        if fault.id in self.held:
            return self.held[fault.id]
        same = {f.id for f in description.faults.values() if f.part == fault.part}
        asked = sum(not same.isdisjoint(c.shares) for c in description.complaints.values())
        most = self.carried * (COMMON_TIMES if asked >= COMMON_IN else 1.0)
        return self.price(fault) <= most

    def price(self, fault: Fault) -> float:
        """Mean price of the part, money; 0 where nothing is fitted."""
        return sum(fault.price.get(self.currency, (0.0, 0.0))) / 2


# Middles of the ranges of common practice, no source: labour 60-110 EUR/h and 90-160 USD/h; call-out 50-110 EUR and
# 80-150 USD; a second visit takes 60-90 min of road and setting up; a callback costs 120-250 USD (EUR at the ratio of
# the labour rates). A comparable machine 550 EUR, 850 USD (from memory) and 35 EUR, 50 USD for the removal.
# Carried: up to 50 EUR, 65 USD a part, so that valves, pumps, heaters, locks and absorbers are on the van and boards,
# motors and bearings are not: our choice after the usual stock. Stopping unrepaired costs the customer another machine
# and a tenth more, for having to find it out alone: our choice.
USUAL = {
    "EUR": Shop(
        currency="EUR", rate=85 / 60, call_out=80, trip=75 * 85 / 60, callback=125, replace=585, stop_value=640, carried=50
    ),
    "USD": Shop(
        currency="USD", rate=125 / 60, call_out=115, trip=75 * 125 / 60, callback=185, replace=900, stop_value=990, carried=65
    ),
}  # fmt: skip


def shop_for(market: Market) -> Shop:
    """The usual figures of a market, by its currency; a shop replaces them by its own.

    Raises PlanError for a currency without usual figures.
    """
    if market.currency not in USUAL:
        raise PlanError(
            seen=f"currency {market.currency!r} of market {market.name}",
            allowed=", ".join(USUAL),
            do="give a Shop with figures of your own",
        )
    return USUAL[market.currency]
