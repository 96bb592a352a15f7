"""From the digits a technician types to a float: points, commas, exponents.

A point is a decimal point. A comma is a decimal comma, unless it can only separate thousands. Where both are
possible, as in 1,200, the number is refused: a factor of a thousand is not guessed.
"""

from __future__ import annotations

import math
import re

from tundish.quantity.errors import QuantityError, quoted

NUMBER = r"[-+]?[.,]?[0-9]+(?:[.,][0-9]+)*(?:[eE][-+]?[0-9]+)?"
"""Pattern of what `read_number` is asked to read."""

_GROUPS = r"[1-9][0-9]{{0,2}}(?:{0}[0-9]{{3}})+"
_AMBIGUOUS = re.compile(r"[-+]?[1-9][0-9]{0,2},[0-9]{3}")


def read_number(text: str) -> float:
    """The float of a text that matches `NUMBER`.

    Raises
    ------
    QuantityError : thousands or decimals cannot be told apart, badly grouped, or too large to be finite.

    Examples
    --------
    >>> read_number("1,2"), read_number("1,200.5"), read_number("1.200,5"), read_number("1,200,000")
    (1.2, 1200.5, 1200.5, 1200000.0)
    >>> read_number("1,200")
    Traceback (most recent call last):
    ...
    tundish.quantity.errors.QuantityError: saw '1,200'; allowed: a number that can be read in one way; \
write 1200 or 1.2
    """
    digits, mark, exponent = text.lower().partition("e")
    value = float(_one_point(digits) + mark + exponent)
    if not math.isfinite(value):
        raise QuantityError(
            seen=quoted(text), allowed="a finite number", do="write the number the instrument shows"
        )
    return value


def _one_point(digits: str) -> str:
    """The digits with at most one mark, a point."""
    marks = [c for c in digits if c in ".,"]
    if len(marks) < 2:
        return _single(digits)
    sign, bare = (digits[0], digits[1:]) if digits[0] in "-+" else ("", digits)
    # A mark that comes twice separates thousands; of two kinds, the last one is the decimal mark.
    if len(set(marks)) == 1:
        return sign + _ungrouped(bare, marks[0], digits)
    whole, _, decimals = bare.rpartition(marks[-1])
    return f"{sign}{_ungrouped(whole, marks[0], digits)}.{decimals}"


def _single(digits: str) -> str:
    if _AMBIGUOUS.fullmatch(digits):
        raise QuantityError(
            seen=quoted(digits),
            allowed="a number that can be read in one way",
            do=f"write {digits.replace(',', '')} or {float(digits.replace(',', '.')):g}",
        )
    return digits.replace(",", ".")


def _ungrouped(whole: str, mark: str, digits: str) -> str:
    if not re.fullmatch(_GROUPS.format(re.escape(mark)), whole):
        raise QuantityError(
            seen=quoted(digits),
            allowed="thousands in groups of three, or no groups at all",
            do="write the number with one point and no commas",
        )
    return whole.replace(mark, "")
