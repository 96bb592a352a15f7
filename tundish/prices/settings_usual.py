"""Usual settings for two currencies, and where each figure is from. A shop replaces them by its own."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType

from tundish.prices.errors import PriceError
from tundish.prices.settings import Settings
from tundish.prices.settings_rules import ANY
from tundish.prices.tax import Tax

CHOICE = "common practice, no source"
MEMORY = "from memory"
OWN = "the shop's own"

EUR = Settings(
    name="",
    letterhead=(),
    market="EU",
    currency="EUR",
    units="metric",
    paper="A4",
    language="en",
    # Middles of the ranges in SOURCES below
    labour=8500,
    labour_step=30,
    call_out=8000,
    mark_up_cheap=Decimal("1.6"),
    mark_up_dear=Decimal("1.25"),
    mark_up_from=10000,
    # On all lines; countries differ, so this is the first thing to set
    taxes=(Tax("VAT", Decimal("0.21")),),
    rounding="line",
    prices="net",
    # 75 min at the labour rate
    second_trip=10625,
    callback=12500,
    limit=0.05,
    qualified=False,
    over_run=Decimal("0.15"),
    consent_days=14,
    warranty_labour_days=90,
    warranty_part_days=730,
    replacement=MappingProxyType({ANY: 55000}),
    removal=3500,
    search_cost=5500,
    discount_rate=Decimal("0.05"),
    carried_limit=5000,
    van_space=400.0,
)
USD = Settings(
    name="",
    letterhead=(),
    market="NA",
    currency="USD",
    units="US",
    paper="Letter",
    language="en",
    # Middles of the ranges in SOURCES below
    labour=12500,
    labour_step=30,
    call_out=11500,
    mark_up_cheap=Decimal("1.6"),
    mark_up_dear=Decimal("1.25"),
    mark_up_from=13000,
    # Many states tax goods only; where labour is taxed, add it
    taxes=(Tax("sales tax", Decimal("0.07"), ("part",)),),
    rounding="total",
    prices="net",
    # 75 min at the labour rate
    second_trip=15625,
    callback=18500,
    limit=0.05,
    qualified=False,
    over_run=Decimal("0.15"),
    consent_days=14,
    warranty_labour_days=90,
    warranty_part_days=365,
    replacement=MappingProxyType({ANY: 85000}),
    removal=5000,
    search_cost=9000,
    discount_rate=Decimal("0.05"),
    carried_limit=6500,
    van_space=400.0,
)
USUAL = {"EUR": EUR, "USD": USD}

# The middle of a range is common practice; the planner's own figures stand in `tundish.plan.shop` with their ranges.
SOURCES: Mapping[str, str] = {
    "zone": f"{CHOICE}: the computer's own",
    "labour": f"{CHOICE}: middle of 60-110 EUR, 90-160 USD an hour",
    "labour_step": f"{CHOICE}: by the half hour",
    "call_out": f"{CHOICE}: middle of 50-110 EUR, 80-150 USD",
    "mark_up_cheap": f"{CHOICE}: times 1.3 to 2.0 on cheap parts",
    "mark_up_dear": f"{CHOICE}: times 1.15 to 1.35 on boards",
    "mark_up_from": CHOICE,
    "taxes": f"{MEMORY}: near the middle of what is levied (EU 17 to 27 %; USA 0 to about 10 %, often on parts only); "
    "set what your authority demands before the first invoice",
    "rounding": "either is lawful: Streamlined Sales and Use Tax Agreement, section 324 (B); EU: national law",
    "second_trip": f"{CHOICE}: 75 min of road and setting up at the labour rate",
    "callback": f"{CHOICE}: 120-250 USD each; EUR at the ratio of the labour rates",
    "over_run": f"{CHOICE}: ask again beyond 10 to 15 %",
    "warranty_labour_days": f"{CHOICE}: 90 days",
    "warranty_part_days": f"EUR: two years on goods, Directive (EU) 2019/771, article 10, {MEMORY}; USD: {CHOICE}, 1 year",
    "replacement": f"{MEMORY}: a comparable machine",
    "search_cost": f"{CHOICE}: a tenth of a new machine",
    "discount_rate": f"{MEMORY}: middle of the 3 and 7 % a year of OMB Circular A-4 (2003)",
}


def usual(currency: str) -> Settings:
    """The usual settings of a currency. Raises PriceError where there are none.

    >>> str(usual("EUR").money("call_out"))
    '80.00 EUR'
    """
    if currency not in USUAL:
        raise PriceError(
            seen=f"the currency {currency!r}",
            allowed=", ".join(USUAL),
            do="take the nearest one and replace its figures by your own",
        )
    return USUAL[currency]


def source_of(settings: Settings, name: str) -> str:
    """Where the value of a setting is from: the shop's own once it differs from the usual one.

    >>> source_of(usual("EUR"), "labour_step")
    'common practice, no source: by the half hour'
    """
    before = USUAL.get(settings.currency)
    if before is None or getattr(before, name) != getattr(settings, name):
        return OWN
    return SOURCES.get(name, CHOICE)
