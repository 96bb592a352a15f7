"""A signature as a drawing, from the points of its strokes."""

from __future__ import annotations

from collections.abc import Sequence

from tundish.documents.paper_errors import PaperError

Stroke = Sequence[Sequence[float]]
# More would not be a hand's work, and would make a paper slow to open. Our choice.
MOST_POINTS = 20_000
# Share of the longer side left free around the strokes, and thickness of the pen. Our choice.
_EDGE, _PEN = 0.03, 0.012


def signature_svg(strokes: Sequence[Stroke]) -> str:
    """An SVG drawing that just holds the strokes; points are [x, y] with y downwards, at any scale.

    Only numbers get into it, never a text. Raises PaperError when there is nothing, or too much, to draw.

    >>> signature_svg([[[0, 0], [10, 5]]]).count("<path")
    1
    """
    points = [(float(x), float(y)) for stroke in strokes for x, y in stroke]
    if not 1 < len(points) <= MOST_POINTS:
        raise PaperError(
            seen=f"a signature of {len(points)} points",
            allowed=f"2 to {MOST_POINTS}",
            do="sign again, or leave strokes out",
        )
    xs, ys = zip(*points, strict=True)
    wide, tall = max(xs) - min(xs), max(ys) - min(ys)
    side = max(wide, tall)
    if not 0 < side < float("inf"):
        raise PaperError(
            seen=f"a signature {side:g} wide", allowed="strokes that leave one point", do="sign again"
        )
    edge = _EDGE * side
    box = f"{min(xs) - edge:g} {min(ys) - edge:g} {wide + 2 * edge:g} {tall + 2 * edge:g}"
    paths = "".join(f"<path d='{_path(stroke)}'/>" for stroke in strokes if stroke)
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='{box}' fill='none' stroke='black' "
        f"stroke-width='{_PEN * side:g}' stroke-linecap='round' stroke-linejoin='round'>{paths}</svg>"
    )


def _path(stroke: Stroke) -> str:
    first, *rest = [f"{x:g} {y:g}" for x, y in stroke]
    # A dot is a line of no length with a round end.
    return f"M{first}" + "".join(f"L{point}" for point in rest or [first])
