"""A few marks of a drawing: boxes, lines and real text, in black on white so that any printer shows them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

# Width of a letter of the plain face at 13 px, [px]; on the wide side, so that text stays inside its box.
LETTER, LINE = 7.0, 16.0
FACE = "font-family='sans-serif' font-size='13' fill='black'"


def picture(width: float, height: float, marks: Iterable[str], *, title: str, about: str) -> str:
    """A whole drawing. title, about : what it shows, for those who hear it read."""
    head = (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width:g} {height:g}' width='{width:g}' "
        f"height='{height:g}' role='img' {FACE}>"
    )
    named = f"<title>{escape(title)}</title><desc>{escape(about)}</desc>"
    ground = f"<rect width='{width:g}' height='{height:g}' fill='white'/>"
    return "\n".join([head, named, ground, *marks, "</svg>"]) + "\n"


def text(x: float, y: float, lines: Sequence[str], *, bold: bool = False, anchor: str = "start") -> str:
    """Lines of text; y is the foot of the first line."""
    weight = " font-weight='bold'" if bold else ""
    rows = "".join(
        f"<tspan x='{x:g}' dy='{LINE if i else 0:g}'>{escape(t)}</tspan>" for i, t in enumerate(lines)
    )
    return f"<text x='{x:g}' y='{y:g}' text-anchor='{anchor}'{weight}>{rows}</text>"


def box(
    x: float,
    y: float,
    width: float,
    height: float,
    *,
    thick: float = 1.0,
    round_: float = 0.0,
    dash: str = "",
) -> str:
    """A box with white inside."""
    dashed = f" stroke-dasharray={quoteattr(dash)}" if dash else ""
    return (
        f"<rect x='{x:g}' y='{y:g}' width='{width:g}' height='{height:g}' rx='{round_:g}' fill='white' "
        f"stroke='black' stroke-width='{thick:g}'{dashed}/>"
    )


def line(points: Sequence[tuple[float, float]], *, thick: float = 1.0, arrow: bool = False) -> str:
    """A line through points; an arrow head of its own lines at the last one."""
    path = " ".join(f"{x:g},{y:g}" for x, y in points)
    drawn = f"<polyline points='{path}' fill='none' stroke='black' stroke-width='{thick:g}'/>"
    return drawn + (_head(points[-2], points[-1]) if arrow else "")


def _head(start: tuple[float, float], tip: tuple[float, float], size: float = 8.0) -> str:
    run, rise = tip[0] - start[0], tip[1] - start[1]
    length = max((run * run + rise * rise) ** 0.5, 1e-9)
    back = tip[0] - size * run / length, tip[1] - size * rise / length
    across = 0.4 * size * rise / length, -0.4 * size * run / length
    corners = [tip, (back[0] + across[0], back[1] + across[1]), (back[0] - across[0], back[1] - across[1])]
    return f"<polygon points='{' '.join(f'{x:.1f},{y:.1f}' for x, y in corners)}' fill='black'/>"


def wrap(words: str, letters: int) -> list[str]:
    """Words on lines of at most so many letters; a longer word is cut.

    >>> wrap("pull the machine out", 9)
    ['pull the', 'machine', 'out']
    """
    lines = [""]
    for word in words.split(" "):
        piece = word if len(word) <= letters else word[: letters - 1] + "…"
        fits = len(lines[-1]) + 1 + len(piece) <= letters
        if lines[-1] and not fits:
            lines.append(piece)
        else:
            lines[-1] = f"{lines[-1]} {piece}".strip()
    return lines
