"""What a PostgreSQL server says, in words a technician can act on.

References
----------
PostgreSQL error codes, https://www.postgresql.org/docs/15/errcodes-appendix.html
"""

from __future__ import annotations

from tundish.store.errors import BROKEN, CURES, SAFE, Trouble

_BY_NAME = {name: (allowed, do) for name, allowed, do in CURES}
_REACH = "check the address, the network and the server; the password comes from PGPASSWORD or the password file"
_RIGHTS = ("a user who may read and add rows", f"ask whoever keeps the server for the rights (docs/store.md); {SAFE}")

# First letters of the code -> what is allowed, what to do; the longest that fits counts.
SERVER_CURES: dict[str, tuple[str, str]] = {
    "53100": _BY_NAME["SQLITE_FULL"],
    "53": ("a server with room for one more", f"wait, or ask whoever keeps the server; {SAFE}"),
    "55P03": ("one writer at a time", f"finish the other writing first, then try again; {SAFE}"),
    "40": ("one writer at a time", f"try again; {SAFE}"),
    "57014": ("one writer at a time", f"try again; {SAFE}"),
    "25006": ("a server that may be written", f"name the server that takes writing; {SAFE}"),
    "42501": _RIGHTS,
    "23": _BY_NAME["SQLITE_CONSTRAINT"],
    "28": ("a user and password that the server knows", _REACH),
    "3D000": ("a database that is there", "check the name, or have it made: createdb --encoding=UTF8 NAME"),
    "58": _BY_NAME["SQLITE_IOERR"],
    "XX": ("a sound server", BROKEN),
    # Undefined tables and functions: somebody took them away
    "42": ("the tables this program made", f"ask whoever keeps the server; {SAFE}"),
    "22": ("text a server can hold", f"leave out the strange letter; {SAFE}"),
}


def from_server(error: BaseException, where: str, *, ending: bool = False) -> Trouble:
    """The refusal for an error of the server. ending : True while a transaction was being acknowledged."""
    code = str(getattr(error, "sqlstate", None) or "")
    # The first line only: the others quote the row, which may name a customer
    said = getattr(getattr(error, "diag", None), "message_primary", None) or " ".join(str(error).split())
    seen = f"{said} ({code or type(error).__name__}) on {where}"
    fitting = [start for start in SERVER_CURES if code.startswith(start)]
    if fitting:
        allowed, do = SERVER_CURES[max(fitting, key=len)]
        return Trouble(seen=seen, allowed=allowed, do=do)
    if ending:
        # The server may have kept it before the line broke
        return Trouble(
            seen=seen,
            allowed="a server that acknowledges",
            do="look whether it was recorded before you record it again; what was recorded before is untouched",
        )
    return Trouble(seen=seen, allowed="a server that answers", do=f"{_REACH}; {SAFE}")
