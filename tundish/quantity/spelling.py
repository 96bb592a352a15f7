"""From a unit as typed to the key it is looked up by."""

from __future__ import annotations

import re
import unicodedata

# Signs that look like the degree sign but are not; the usual normal form would turn them into a letter o.
_DEGREES = str.maketrans({"º": "°", "˚": "°"})
_ROUND_SLASH = re.compile(r" ?/ ?")
_AFTER_DEGREE = re.compile(r"° ")


def tidy(text: str) -> str:
    """One spelling for signs that look alike: ohm and micro signs, raised digits, dots, spaces, "per".

    Examples
    --------
    >>> tidy("in. w.g."), tidy("m\N{SUPERSCRIPT THREE} / h"), tidy("L per min"), tidy("º C")
    ('in wg', 'm3/h', 'L/min', '°C')
    """
    plain = unicodedata.normalize("NFKC", text.translate(_DEGREES))
    plain = " ".join(plain.replace(".", "").replace("^", "").split())
    return _AFTER_DEGREE.sub("°", _ROUND_SLASH.sub("/", plain.replace(" per ", "/")))


def fold(spelling: str) -> str:
    """The key under which capitals no longer matter, save a first m or M and a single letter.

    Milli and mega are a factor of a billion apart, so Mbar is not read as mbar. S and s, K and k differ too.

    Examples
    --------
    >>> fold("PSI"), fold("MOHM"), fold("mohm"), fold("S")
    ('psi', 'Mohm', 'mohm', 'S')
    """
    if len(spelling) < 2:
        return spelling
    return spelling[0] + spelling[1:].lower() if spelling[0] in "mM" else spelling.lower()
