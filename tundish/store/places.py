"""Where the calls lie: in a file of the data folder, in another file, or on a PostgreSQL server.

A small text file in the data folder says so, the variable TUNDISH_STORE before it. No password is ever in either.
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from tundish.store.errors import StoreError, clear_errors
from tundish.store.folders import EVENTS_FILE, data_folder
from tundish.store.whole import written_whole

VARIABLE = "TUNDISH_STORE"
FILE = "store"
# An address as PostgreSQL has them, https://www.postgresql.org/docs/15/libpq-connect.html#LIBPQ-CONNSTRING, without password
ADDRESS = re.compile(
    r"postgres(?:ql)?://(?P<user>[^:@/?#\s]+@)?(?P<host>[^:@/?#\s\[\]]*|\[[0-9A-Fa-f:.]+\])(?P<port>:\d{1,5})?"
    r"/(?P<database>[^:@/?#\s]+)(?:\?(?P<rest>[^?#\s]+))?"
)
# What may stand behind the question mark: how to reach the server and to know it again. Anything secret has its own file.
REST = frozenset({"host", "port", "sslmode", "sslrootcert", "sslcert", "sslkey", "passfile", "target_session_attrs"})
HOW = "postgresql://USER@HOST/DATABASE, with the password in PGPASSWORD or the password file"


@dataclass(frozen=True)
class Server:
    """A database on a PostgreSQL server. address : as typed; it holds no password, so it may be shown and kept."""

    address: str

    def __str__(self) -> str:
        return self.address


Place = Path | Server


def place_from(text: str, folder: Path) -> Place:
    """The place meant by a text: an address, else a file, of the data folder when nothing else is said.

    StoreError for an address that cannot be or holds a password; it is not repeated.

    >>> place_from("postgresql://ann@desk/shop", Path("/data"))
    Server(address='postgresql://ann@desk/shop')
    >>> place_from("new.sqlite", Path("/data")).as_posix()
    '/data/new.sqlite'
    """
    text = text.strip()
    if "://" not in text:
        if not text or "\0" in text:
            raise StoreError(seen=f"{text!r} as a place of the calls", allowed=f"a file, or {HOW}", do="name one")
        return folder / Path(text).expanduser()
    found = ADDRESS.fullmatch(text)
    if found is None:
        raise StoreError(
            seen=f"an address like {_masked(text)}",
            allowed=f"{HOW}; none in the address",
            do="correct the address",
        )
    strange = [one.split("=")[0] for one in (found["rest"] or "").split("&") if one and one.split("=")[0] not in REST]
    if strange:
        raise StoreError(
            seen=f"{', '.join(strange)} in an address",
            allowed=", ".join(sorted(REST)),
            do="leave it out; a password belongs into PGPASSWORD or the password file",
        )
    return Server(text)


def usual(folder: Path) -> Path:
    """The file in which the calls lie when nobody says otherwise."""
    return folder / EVENTS_FILE


def place_of(folder: Path, environ: Mapping[str, str] = os.environ) -> Place:
    """Where the calls lie: as TUNDISH_STORE says, else the file `store` of the data folder, else the usual file."""
    said = told(folder, environ) or kept(folder)
    return place_from(said, folder) if said else usual(folder)


def told(folder: Path, environ: Mapping[str, str] = os.environ) -> str:
    """What TUNDISH_STORE says of a data folder; "" when it says nothing. It is about the user's own folder only."""
    said = environ.get(VARIABLE, "").strip()
    # An invented shop in another folder must not write into the real one's calls
    return said if said and same(folder, data_folder(environ)) else ""


def kept(folder: Path) -> str:
    """What the file `store` of the data folder says; "" when there is none."""
    path = folder / FILE
    # Asked for before each writing, so it is read straight away
    with clear_errors(path):
        try:
            return path.read_text(encoding="utf-8").strip()
        except FileNotFoundError:
            return ""
        except UnicodeDecodeError as error:
            raise StoreError(seen=f"{path}: {error}", allowed="one line of UTF-8", do="write the place anew") from error


def keep_place(folder: Path, place: Place) -> None:
    """Let the calls lie there from now on. The file that says so is whole at any time."""
    # A file of the folder by its name, so that the folder may be moved
    inside = isinstance(place, Path) and place.is_relative_to(folder)
    said = str(place.relative_to(folder)) if inside and isinstance(place, Path) else str(place)
    with written_whole(folder / FILE) as out:
        out.write(said + "\n")


def same(one: Place, other: Place) -> bool:
    """Whether two places are one, as far as their names tell."""
    if isinstance(one, Path) and isinstance(other, Path):
        return one.resolve() == other.resolve()
    return one == other


def _masked(text: str) -> str:
    # Its shape only: what was typed may hold a password in any place
    return re.sub(r"[^:/@?=&\[\]]", "x", text)
