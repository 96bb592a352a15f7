"""`tundish serve`: the bench in a browser, on this computer and, if asked for, on phones in the shop's network."""

from __future__ import annotations

from pkgutil import resolve_name

import click

from tundish.store.shelf import SIZE

# Loaded when it is asked for: no other verb should wait for a web server, and nothing imports it.
WEB = "tundish.web.serve"


@click.command()
@click.option("--port", type=click.IntRange(1024, 65_000), default=8380, show_default=True, help="Port on this computer.")
@click.option("--shop-network", is_flag=True, help="Phones too, over HTTPS at the next port, after pairing.")
@click.option("--address", default="", help="Address of this computer in the shop's network, if it is not found.")
@click.option(
    "--machines", type=click.IntRange(1_000, 200_000), default=SIZE, show_default=True, help="Simulated machines."
)
def serve(port: int, *, shop_network: bool, address: str, machines: int) -> None:
    """Serve the bench to a browser until stopped with Ctrl-C."""
    start, wish = resolve_name(f"{WEB}:serve"), resolve_name(f"{WEB}:Wish")
    start(wish(port, shop_network, address, machines), click.echo)
