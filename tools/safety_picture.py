"""Write the picture of the safety table beside the pages: python -m tools.safety_picture."""

from __future__ import annotations

from pathlib import Path

from tundish.documents.safety_svg import safety_svg

PICTURE = Path(__file__).parents[1] / "docs" / "safety.svg"


def main() -> None:
    """Write the picture."""
    PICTURE.write_text(safety_svg(), encoding="utf-8")


if __name__ == "__main__":
    main()
