"""`tundish serve`: the bench in a browser, on this computer and, if asked for, on phones in the shop's network."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from pkgutil import resolve_name
from threading import Thread
from typing import Any

import click

from tundish.store.errors import StoreError
from tundish.store.folders import cache_folder, data_folder
from tundish.store.shelf import SIZE

# Loaded when they are asked for: no other verb should wait for a web server, and nothing imports it.
WEB, DEMO = "tundish.web.serve", "tundish.cli.demo_shop"
PORT = 8380


@click.command()
@click.option("--port", type=click.IntRange(1024, 65_000), default=None, help=f"Port on this computer; {PORT} if left out.")
@click.option("--shop-network", is_flag=True, help="Phones too, over HTTPS at the next port, after pairing.")
@click.option("--address", default="", help="Address of this computer in the shop's network, if it is not found.")
@click.option("--machines", type=click.IntRange(1_000, 200_000), default=None, help=f"Simulated machines; {SIZE} if left out.")
@click.option("--demo", is_flag=True, help="An invented shop, in a folder of its own beside yours; at the next free port.")
@click.option("--anew", is_flag=True, help="With --demo: make the invented shop anew; what was done in it is gone.")
def serve(port: int | None, *, machines: int | None, demo: bool, anew: bool, **network: Any) -> None:
    """Serve the bench to a browser until stopped with Ctrl-C."""
    if anew and not demo:
        # Nothing of a real shop is ever made anew
        raise StoreError(seen=f"--anew for your own shop in {data_folder()}", allowed="--anew with --demo", do="leave it out")
    # Before the shop: its warming in the background would slow the loading down
    start, wish = resolve_name(f"{WEB}:serve"), resolve_name(f"{WEB}:Wish")
    data, usual = _invented(anew) if demo else (None, SIZE)
    # A port that was named is the one that is wanted; a real shop's phones know theirs
    any_port = demo and port is None
    made = wish(port or PORT, machines=machines or usual, data=data, any_port=any_port, quiet=demo, **network)
    with suppress(KeyboardInterrupt):
        start(made, click.echo)
    click.echo("Stopped. All that was recorded is kept.")


def _invented(anew: bool) -> tuple[Path, int]:
    """The folder of the invented shop, made if it is not there, and how many machines it is reckoned with."""
    shop_of, beside, ready, warm = (resolve_name(f"{DEMO}:{name}") for name in ("Shop", "beside", "made_ready", "warm"))
    shop = shop_of(beside(data_folder()), cache_folder())
    if not shop.folder.exists() or anew:
        click.echo("Making an invented shop with its calls; this takes some seconds, once.")
    ready(shop, click.echo, anew=anew)
    click.echo(f"An invented shop. It lies in {shop.folder}; --anew makes it anew. For your own: tundish serve")
    # What its open calls need is simulated while the first page is looked at
    Thread(target=warm, args=(shop,), daemon=True).start()
    return shop.folder, shop.machines
