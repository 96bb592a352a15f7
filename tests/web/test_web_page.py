"""The page of the web server lists the routes as the table has them."""

from __future__ import annotations

from pathlib import Path

from tundish.web.shield import POLICY
from tundish.web.table import page_of_routes

PAGE = (Path(__file__).parents[2] / "docs" / "web.md").read_text(encoding="utf-8")


def test_the_page_lists_every_route() -> None:
    assert page_of_routes() in PAGE


def test_the_page_tells_the_policy() -> None:
    told = " ".join(PAGE.split())
    assert all(rule in told for rule in POLICY.split("; ")[:3])
