"""The tariff that a shop's settings make, so that a bracket on the phone and the quote at the door agree."""

from __future__ import annotations

from tundish.ask.tariff import Tariff
from tundish.prices.settings import Settings
from tundish.prices.tax import tax_by_kind


def tariff_from(settings: Settings) -> Tariff:
    """What the shop would charge, tax included.

    Each kind of line has its own tax, so it is folded into the figure of that kind; the one rate of the tariff is then 0.
    Quotes bill every begun step of labour, so no minutes are included in the call-out.

    >>> from tundish.prices.settings_usual import usual
    >>> tariff = tariff_from(usual("USD"))
    >>> tariff.call_out, round(tariff.markup, 3)
    (115.0, 1.712)
    """
    taxes = tax_by_kind(settings.taxes)
    # Where prices are gross the tax is inside already
    rates = {kind: 0.0 if settings.prices == "gross" else float(tax.rate) for kind, tax in taxes.items()}
    times = {kind: 1.0 + rates.get(kind, 0.0) for kind in ("call-out", "labour", "part")}
    return Tariff(
        call_out=settings.money("call_out").estimate() * times["call-out"],
        rate=settings.money("labour").estimate() / 60 * times["labour"],
        step=float(settings.labour_step),
        included=0.0,
        markup=float(settings.mark_up_cheap) * times["part"],
        board_markup=float(settings.mark_up_dear) * times["part"],
        board=settings.money("mark_up_from").estimate(),
    )
