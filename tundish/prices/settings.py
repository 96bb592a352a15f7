"""A shop's own figures: what it charges, promises and prints. Money in minor units of one currency."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from tundish.appliance.records import Market
from tundish.plan.shop import Shop
from tundish.prices.errors import PriceError
from tundish.prices.money import Money
from tundish.prices.settings_rules import ANY, RULES
from tundish.prices.tax import Tax, tax_by_kind


@dataclass(frozen=True, kw_only=True)
class Settings:
    """Settings of a shop, checked when made; `settings_rules.RULES` says unit and bounds of each.

    name, letterhead : heads of papers. market, currency, units, paper, language : where it works and how it prints.
    zone : whose day it is on papers, a name of the IANA time zone database; "" for the computer's own.
    labour : minor units an hour, billed by begun `labour_step` [min]. call_out : for coming, diagnosis included.
    mark_up_cheap, mark_up_dear : on parts below, and from, `mark_up_from`. taxes, rounding, prices : see `tax`.
    second_trip, callback : what these cost the shop. limit : chance of a cause left that counts as proven, [-].
    qualified : authorised for live work. over_run : share of a quote above which consent is asked again, [-].
    consent_days, warranty_labour_days, warranty_part_days : how long these hold, [day].
    replacement : a comparable machine by family, "any" for the others; removal : taking the old one away.
    search_cost : what finding one alone costs the customer. discount_rate : [1/year]. carried_limit : dearest part kept on
    the van. van_space : room for parts, [L].
    """

    name: str
    letterhead: tuple[str, ...]
    market: str
    currency: str
    units: str
    paper: str
    language: str
    labour: int
    labour_step: int
    call_out: int
    mark_up_cheap: Decimal
    mark_up_dear: Decimal
    mark_up_from: int
    taxes: tuple[Tax, ...]
    rounding: str
    prices: str
    second_trip: int
    callback: int
    limit: float
    qualified: bool
    over_run: Decimal
    consent_days: int
    warranty_labour_days: int
    warranty_part_days: int
    replacement: Mapping[str, int]
    removal: int
    search_cost: int
    discount_rate: Decimal
    carried_limit: int
    van_space: float
    zone: str = ""

    def __post_init__(self) -> None:
        # Checked here and not at the door, so that no file, form or test can make a wrong one
        for name, rule in RULES.items():
            value = getattr(self, name)
            if not rule.holds(value):
                raise PriceError(
                    seen=f"the setting {name} = {value!r}", allowed=rule.allowed, do=f"set {name} again"
                )
        # Else a dear part would be marked up more than a cheap one
        if self.mark_up_dear > self.mark_up_cheap:
            raise PriceError(
                seen=f"mark_up_dear {self.mark_up_dear} above mark_up_cheap {self.mark_up_cheap}",
                allowed="a mark-up that does not rise with the price",
                do="change one of the two",
            )
        # Refuses two taxes on one kind of line
        tax_by_kind(self.taxes)

    def money(self, name: str) -> Money:
        """A setting that is a sum, as money."""
        return Money(getattr(self, name), self.currency)

    def new_machine(self, family: str = ANY) -> Money:
        """Price of a comparable machine with the removal of the old one."""
        price = self.replacement.get(family, self.replacement[ANY])
        return Money(price + self.removal, self.currency)

    def shop(self, market: Market, family: str = ANY) -> Shop:
        """The figures the planner reckons with. Raises PriceError where the market has another currency."""
        if market.currency != self.currency:
            raise PriceError(
                seen=f"settings in {self.currency} for the market {market.name}",
                allowed=f"settings in {market.currency}",
                do="choose the other market, or set the shop's money in its currency",
            )
        # The planner reckons in floats of the currency; these never come back as a bill
        new = self.new_machine(family)
        return Shop(
            currency=self.currency,
            rate=self.money("labour").estimate() / 60,
            call_out=self.money("call_out").estimate(),
            trip=self.money("second_trip").estimate(),
            callback=self.money("callback").estimate(),
            replace=new.estimate(),
            stop_value=(new + self.money("search_cost")).estimate(),
            carried=self.money("carried_limit").estimate(),
            limit=self.limit,
            qualified=self.qualified,
        )
