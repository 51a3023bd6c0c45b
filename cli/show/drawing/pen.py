"""A small pen for line drawings: pieces of SVG text, in millimetres of paper, readable in grey."""

from __future__ import annotations

import html
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

Point = tuple[float, float]
LETTER_MM: Final = 3.1
_WIDE: Final = 0.56  # mean width of a letter over its height, sans serif
_HEAD_MM: Final = 2.4
_BEYOND_MM: Final = 1.2  # how far an extension line goes past its dimension line
INK: Final = "#1a1a1a"
SOFT: Final = "#5c5c5c"
PUSH: Final = "#b5123e"  # the colour of the force in every picture; dark enough to stay dark in grey
LOOKS: Final = {
    "bar": f'fill="#ececec" stroke="{INK}" stroke-width="0.5" stroke-linejoin="round"',
    "end": f'fill="#fafafa" stroke="{INK}" stroke-width="0.5" stroke-linejoin="round"',
    "bore": f'fill="#ffffff" stroke="{INK}" stroke-width="0.4"',
    "holder": f'fill="url(#dr-holder)" stroke="{INK}" stroke-width="0.35"',
    "behind": f'fill="none" stroke="{SOFT}" stroke-width="0.3" stroke-dasharray="2.4 1"',
    "screw": f'fill="#ffffff" stroke="{INK}" stroke-width="0.35"',
    "shim": f'fill="#8c8c8c" stroke="{INK}" stroke-width="0.3"',
    "wrap": f'fill="url(#dr-wrap)" stroke="{INK}" stroke-width="0.35"',
    "edge": f'fill="{PUSH}" stroke="#ffffff" stroke-width="0.3"',
    "corner": f'fill="none" stroke="{INK}" stroke-width="0.25"',
    "hidden": f'fill="none" stroke="{INK}" stroke-width="0.3" stroke-dasharray="2 1"',
    "axis": f'fill="none" stroke="{SOFT}" stroke-width="0.2" stroke-dasharray="5 1 1 1"',
    "thin": f'fill="none" stroke="{SOFT}" stroke-width="0.2"',
    "spring": f'fill="none" stroke="{INK}" stroke-width="0.3" stroke-linejoin="round"',
    "push": f'fill="none" stroke="{PUSH}" stroke-width="0.9"',
}
# Hatching of what is cut through: sparse for the holder, crossed for the wrap.
PATTERNS: Final = (
    '<defs><pattern id="dr-holder" width="2.4" height="2.4" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="2.4" height="2.4" fill="#ffffff"/>'
    f'<path d="M0 0V2.4" stroke="{SOFT}" stroke-width="0.35"/></pattern>'
    '<pattern id="dr-wrap" width="1.5" height="1.5" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><rect width="1.5" height="1.5" fill="#ffffff"/>'
    f'<path d="M0 0V1.5M0 0H1.5" stroke="{INK}" stroke-width="0.3"/></pattern></defs>'
)


@dataclass(frozen=True)
class Frame:
    """Where a view lies: paper millimetres per millimetre, and the paper position of its origin."""

    scale: float
    left: float
    top: float

    def at(self, right: float, up: float) -> Point:
        """Return the paper position of a point of the view [mm]."""
        return self.left + self.scale * right, self.top - self.scale * up


def line(points: Sequence[Point], look: str, *, closed: bool = False) -> str:
    """Return a polyline, or a filled outline where it is closed, through paper positions."""
    steps = "L".join(f"{x:.3f} {y:.3f}" for x, y in points)
    return f'<path d="M{steps}{"Z" if closed else ""}" {LOOKS[look]}/>'


def box(one: Point, two: Point, *, look: str) -> str:
    """Return the rectangle between two opposite corners."""
    (left, right), (top, bottom) = sorted([one[0], two[0]]), sorted([one[1], two[1]])
    size = f'width="{right - left:.3f}" height="{bottom - top:.3f}"'
    return f'<rect x="{left:.3f}" y="{top:.3f}" {size} {LOOKS[look]}/>'


def circle(middle: Point, radius: float, *, look: str) -> str:
    """Return a circle."""
    return f'<circle cx="{middle[0]:.3f}" cy="{middle[1]:.3f}" r="{radius:.3f}" {LOOKS[look]}/>'


def words(text: str, at: Point, *, anchor: str = "start", bold: bool = False) -> str:
    """Return a line of words on a white rim, readable on hatching; ``anchor`` is start, middle or end."""
    weight = ' font-weight="bold"' if bold else ""
    rim = 'stroke="#ffffff" stroke-width="0.9" stroke-linejoin="round" paint-order="stroke"'
    return (
        f'<text x="{at[0]:.2f}" y="{at[1]:.2f}" text-anchor="{anchor}" fill="{INK}" {rim}{weight}>'
        f"{html.escape(text)}</text>"
    )


def width_of(text: str, *, size: float = LETTER_MM) -> float:
    """Return about how wide words are, in the unit of the letters' size: mm of paper without one."""
    return _WIDE * size * len(text)


def head(tip: Point, toward: Point, *, size: float = _HEAD_MM, colour: str = SOFT) -> str:
    """Return an arrow head at ``tip`` that points along ``toward``."""
    length = math.hypot(*toward)
    x, y = toward[0] / length, toward[1] / length
    back = (tip[0] - size * x, tip[1] - size * y)
    wing = 0.28 * size
    corners = [tip, (back[0] - wing * y, back[1] + wing * x), (back[0] + wing * y, back[1] - wing * x)]
    return f'<path d="M{"L".join(f"{x:.3f} {y:.3f}" for x, y in corners)}Z" fill="{colour}"/>'


def arrow(start: Point, stop: Point) -> str:
    """Return the arrow of a force."""
    way = (stop[0] - start[0], stop[1] - start[1])
    length = math.hypot(*way)
    short = (stop[0] - 2.5 * way[0] / length, stop[1] - 2.5 * way[1] / length)
    return line([start, short], "push") + head(stop, way, size=4.2, colour=PUSH)


def level_size(text: str, ends: tuple[Point, Point], *, at: float) -> str:
    """Return a dimension along the paper's width.

    Parameters
    ----------
    text
        The number.
    ends
        The two points that are measured.
    at
        Height of the dimension line on the paper.
    """
    (left, low), (right, high) = sorted(ends)
    out = [_extension((left, low), (left, at)), _extension((right, high), (right, at))]
    middle = 0.5 * (left + right)
    if right - left > max(width_of(text) + 1.5, 2.6 * _HEAD_MM):
        out += [line([(left, at), (right, at)], "thin"), head((left, at), (-1, 0)), head((right, at), (1, 0))]
        return "".join([*out, words(text, (middle, at - 0.8), anchor="middle")])
    reach = 2 * _HEAD_MM
    far = right + reach + width_of(text) + 1
    out += [
        line([(left - reach, at), (far, at)], "thin"),
        head((left, at), (1, 0)),
        head((right, at), (-1, 0)),
    ]
    return "".join([*out, words(text, (right + reach, at - 0.8))])


def upright_size(text: str, ends: tuple[Point, Point], *, at: float) -> str:
    """Return a dimension along the paper's height, its words read from the right.

    Parameters
    ----------
    text
        The number.
    ends
        The two points that are measured.
    at
        Position of the dimension line across the paper.
    """
    # A level dimension of the picture turned by a quarter: (x, y) of the paper becomes (-y, x).
    start, stop = ((-y, x) for x, y in ends)
    turned = level_size(text, (start, stop), at=at)
    return f'<g transform="rotate(-90)">{turned}</g>'


def pointed(text: str, tip: Point, *, to: Point) -> str:
    """Return words at ``to`` with a line and an arrow head that lead to ``tip``."""
    way = (tip[0] - to[0], tip[1] - to[1])
    right = to[0] >= tip[0]
    shelf = (to[0] + (2 if right else -2), to[1])
    letters = words(
        text, (shelf[0] + (0.6 if right else -0.6), to[1] + 1), anchor="start" if right else "end"
    )
    return line([tip, to, shelf], "thin") + head(tip, way) + letters


def _extension(near: Point, far: Point) -> str:
    """Return the line from a measured point to just beyond its dimension line."""
    way = math.copysign(1.0, far[1] - near[1])
    return line([(near[0], near[1] + 0.8 * way), (far[0], far[1] + _BEYOND_MM * way)], "thin")
