"""All routes in one table: the server, the tests and docs/web.md read it."""

from __future__ import annotations

from tundish.web import calls, door, find, handbook, job, office, papers, photos, safe, settings, stock, sync
from tundish.web.asked import Row

ROWS: tuple[Row, ...] = (
    *door.ROWS, *calls.ROWS, *safe.ROWS, *find.ROWS, *job.ROWS, *handbook.ROWS, *stock.ROWS, *settings.ROWS,
    *sync.ROWS, *photos.ROWS, *papers.ROWS, *office.ROWS,
)  # fmt: skip

# Paths at which the browser gets the shell; each has its twin under /api.
PAGES = (
    "/", "/calls", "/calls/{call}", "/calls/{call}/{stage}", "/van", "/stock", "/handbook", "/handbook/{family}",
    "/bench", "/bench/{family}", "/settings", "/people", "/devices", "/pair", "/sign-in",
)  # fmt: skip


def page_of_routes() -> str:
    """The table as Markdown lines."""
    lines = [f"| {row.method} | `{row.path}` | {row.needs} | {row.says} |" for row in ROWS]
    return "\n".join(["| | path | who | what |", "|---|---|---|---|", *lines])
