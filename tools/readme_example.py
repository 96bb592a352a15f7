"""Put what the demo prints into the README, so that the example there is a real one.

    .venv/bin/python -m tools.readme_example
"""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

from tundish.cli import demo

README = Path(__file__).parents[1] / "README.md"
FROM, TO, LAST = "## One call", "## In the browser", "Start your own call"


def example() -> str:
    """The demo's output up to its advice on how to start a call, indented as an example."""
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        demo.main()
    lines = printed.getvalue().split(LAST)[0].rstrip().splitlines()
    return "\n".join(f"    {line.rstrip()}" if line.strip() else "" for line in lines)


def main() -> None:
    """Rewrite the example in the README."""
    page = README.read_text(encoding="utf-8")
    before, rest = page.split(FROM, 1)
    after = rest.split(TO, 1)[1]
    words = "This is what `python3 do.py demo` prints on the terminal, with an invented house and its readings."
    README.write_text(f"{before}{FROM}\n\n{words}\n\n{example()}\n\n{TO}{after}", encoding="utf-8")


if __name__ == "__main__":
    main()
