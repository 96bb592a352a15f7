"""An amount in words, for what is said when it is refused."""

from __future__ import annotations

# Digits of the minor unit where they are not two (ISO 4217; from memory, the usual ones).
DIGITS = {
    **dict.fromkeys(("CLP", "ISK", "JPY", "KRW", "PYG", "UGX", "VND", "XAF", "XOF", "XPF"), 0),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
}


def spoken(minor: int, currency: str) -> str:
    """An amount as people write it, by whole numbers only.

    >>> spoken(1250, "EUR"), spoken(-5, "EUR"), spoken(700, "JPY")
    ('12.50 EUR', '-0.05 EUR', '700 JPY')
    """
    digits = DIGITS.get(currency, 2)
    whole, part = divmod(abs(minor), 10**digits)
    text = f"{whole}.{part:0{digits}d}" if digits else str(whole)
    return f"{'-' if minor < 0 else ''}{text} {currency}"
