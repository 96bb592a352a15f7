"""The server itself: one door for this computer, and if asked for, one for phones in the shop's network."""

from __future__ import annotations

import logging
import socket
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

import segno
import uvicorn
from starlette.applications import Starlette

from tundish.store.errors import StoreError
from tundish.store.folders import cache_folder, data_folder
from tundish.store.shelf import SIZE
from tundish.web.app import make_app
from tundish.web.certificate import Papers, in_utc, papers_for
from tundish.web.config import NETWORK, Config
from tundish.web.devices import pairing
from tundish.web.office import pairing_url
from tundish.web.vault import open_vault

PORT = 8380
# So many ports are looked at when any will do; our choice.
TRIED = 20
# Requests at the same time, and how long an idle line is kept, [s]; our choice.
AT_ONCE, IDLE = 64, 20
Tell = Callable[[str], None]


@dataclass(frozen=True)
class Wish:
    """How the server is to be started.

    address : of this computer in the network, found out when "". data : folder of records, the user's own when None.
    any_port : the next free one when the port is taken. quiet : only troubles go into the log.
    """

    port: int = PORT
    shop_network: bool = False
    address: str = ""
    machines: int = SIZE
    data: Path | None = None
    any_port: bool = False
    quiet: bool = False


def serve(wish: Wish, tell: Tell) -> None:
    """Serve until stopped. tell : is told addresses, the pairing picture and what to do. StoreError when a port is taken."""
    logging.basicConfig(level=logging.WARNING if wish.quiet else logging.INFO, format="%(asctime)s %(name)s %(message)s")
    if wish.any_port:
        wish = replace(wish, port=free_port(wish.port))
    home = local_door(wish)
    papers = papers_for(home.data, names_of(wish), in_utc(home.now())) if wish.shop_network else None
    home = replace(home, root=papers.root if papers else b"")
    doors = [_server(make_app(home), "127.0.0.1", wish.port)]
    tell(f"The bench on this computer: http://127.0.0.1:{wish.port}/   (Ctrl-C stops it)")
    if papers is not None:
        # Every address of this computer: it may have several, and phones choose by the name they were given
        net = replace(home, door=NETWORK, hosts=network_hosts(wish))
        doors.append(_server(make_app(net), "0.0.0.0", wish.port + 1, papers))
        _told(home, papers, tell)
    _run(doors)


def local_door(wish: Wish) -> Config:
    """The door of this computer."""
    network = f"https://{network_hosts(wish)[0]}" if wish.shop_network else ""
    hosts = tuple(f"{name}:{wish.port}" for name in ("127.0.0.1", "localhost", "[::1]"))
    return Config(wish.data or data_folder(), cache_folder(), hosts, network=network, machines=wish.machines)


def network_hosts(wish: Wish) -> tuple[str, ...]:
    """What phones may call this computer."""
    return tuple(f"{name}:{wish.port + 1}" for name in names_of(wish))


def names_of(wish: Wish) -> tuple[str, ...]:
    """Address and local name of this computer in the shop's network."""
    own = socket.gethostname().partition(".")[0].lower()
    return tuple(dict.fromkeys([wish.address or own_address(), f"{own}.local"]))


def own_address() -> str:
    """The address by which others in the network reach this computer; nothing is sent to find it. StoreError without one."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as line:
            # An address kept for examples (RFC 5737): the system only says which way it would go
            line.connect(("192.0.2.1", 9))
            return str(line.getsockname()[0])
    except OSError as error:
        raise StoreError(
            seen=f"no network on this computer: {error.strerror}",
            allowed="an address that phones reach",
            do="join the shop's network, or name the address with --address",
        ) from error


def _told(home: Config, papers: Papers, tell: Tell) -> None:
    vault = open_vault(home.data, home.now)
    url = pairing_url(home.network, pairing(vault, "first"))
    tell(f"For phones in the shop's network: {home.network}/")
    tell("1. Once for each phone: open that address with /certificate.crt behind it and install the shop's certificate.")
    tell(f"   Compare its SHA-256 print first: {papers.print}")
    tell("2. Point the phone's camera at this picture; it works once and for ten minutes. The page Devices makes more.")
    tell(qr_text(url))
    tell(url)


def qr_text(text: str) -> str:
    """A QR picture in half blocks, dark on light, for a terminal."""
    rows = [list(row) for row in segno.make_qr(text, error="l").matrix_iter(border=2)]
    rows += [[0] * len(rows[0])] * (len(rows) % 2)
    # Two rows of the picture in one line of letters
    blocks = {(0, 0): "█", (0, 1): "▀", (1, 0): "▄", (1, 1): " "}
    return "\n".join(
        "".join(blocks[bool(a), bool(b)] for a, b in zip(upper, lower, strict=True))
        for upper, lower in zip(rows[::2], rows[1::2], strict=True)
    )


def _server(app: Starlette, host: str, port: int, papers: Papers | None = None) -> uvicorn.Server:
    # Said before anything starts: else one door would be open and the other not
    _free(host, port)
    # No headers of a program in between are believed; we log ourselves, without addresses
    files: dict[str, Path] = {} if papers is None else {"ssl_certfile": papers.chain, "ssl_keyfile": papers.key}
    return uvicorn.Server(
        uvicorn.Config(
            app, host=host, port=port, log_config=None, access_log=False, server_header=False, proxy_headers=False,
            limit_concurrency=AT_ONCE, timeout_keep_alive=IDLE, timeout_graceful_shutdown=5, ws="none",
            **{name: str(path) for name, path in files.items()},  # type: ignore[arg-type]
        )
    )  # fmt: skip


def free_port(first: int) -> int:
    """The first free port of this computer from one on; that one itself when none is free, which is then refused in words."""
    for port in range(first, first + TRIED):
        with suppress(StoreError):
            _free("127.0.0.1", port)
            return port
    return first


def _free(host: str, port: int) -> None:
    try:
        with socket.create_server((host, port)):
            return
    except OSError as error:
        raise StoreError(
            seen=f"port {port}: {error.strerror}", allowed="a free port", do="stop the other server, or use --port"
        ) from error


def _run(doors: list[uvicorn.Server]) -> None:
    """Run all doors; the first in this thread, which hears the signals that stop the program."""
    others = [threading.Thread(target=door.run, daemon=True) for door in doors[1:]]
    for one in others:
        one.start()
    try:
        doors[0].run()
    finally:
        for door in doors[1:]:
            door.should_exit = True
        for one in others:
            one.join(timeout=10)
