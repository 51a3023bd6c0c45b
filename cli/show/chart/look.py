"""How lines, areas and words of a chart look: Matplotlib's words for it, as attributes of SVG."""

from __future__ import annotations

import html
from dataclasses import dataclass
from typing import Any, Final, TypedDict

from stickout.cli.show.drawing.pen import width_of

# Dashes as Matplotlib draws them, in widths of the line.
_DASHES: Final = {"-": (), "--": (3.7, 1.6), "-.": (6.4, 1.6, 1.0, 1.6), ":": (1.0, 1.65)}
_ROW: Final = 1.2  # from line to line, in sizes of the letters
_ABOVE: Final = 0.76  # of the size, from the base line to the top of the tallest letter
_RIM: Final = 2.6  # white round words that stand on lines, in points


class Look(TypedDict, total=False):
    """What a mark may be told, by Matplotlib's names."""

    color: str
    facecolor: str
    fc: str
    edgecolor: str
    ec: str
    lw: float
    ls: str | tuple[float, tuple[float, ...]]
    hatch: str
    alpha: float
    zorder: float
    label: str
    marker: str
    ms: float
    mfc: str
    mec: str
    mew: float


class WordLook(TypedDict, total=False):
    """What words may be told, by Matplotlib's names; a ``bbox`` gives them a white rim."""

    ha: str
    va: str
    fontsize: float
    color: str
    bbox: dict[str, Any]
    zorder: float


@dataclass(frozen=True)
class Pen:
    """Stroke and fill of a shape; ``hatch`` names a pattern that lies over the fill."""

    stroke: str = "none"
    fill: str = "none"
    width: float = 1.0
    dash: tuple[float, ...] = ()
    hatch: str = ""
    alpha: float = 1.0

    def path(self, steps: str) -> str:
        """Return a path with this look, ``steps`` as SVG writes them; hatched, once more in its pattern."""
        dash = f' stroke-dasharray="{" ".join(f"{one:.2f}" for one in self.dash)}"' if self.dash else ""
        clear = f' opacity="{self.alpha:g}"' if self.alpha < 1 else ""
        line = f' stroke="{self.stroke}" stroke-width="{self.width:g}" stroke-linejoin="round"{dash}'
        line = line if self.stroke != "none" else ""
        plain = f'<path d="{steps}" fill="{self.fill}"{line}{clear}/>'
        return plain + (f'<path d="{steps}" fill="url(#{hatch_name(self)})"/>' if self.hatch else "")


PLAIN: Final = Pen()


def hatch_name(pen: Pen) -> str:
    """Return the name of the pattern of a hatched look."""
    return f"h{'dots' if '.' in pen.hatch else 'lines'}{pen.stroke.strip('#')}"


def hatch_pattern(pen: Pen) -> str:
    """Return the pattern of a hatched look, as the definition its name points to."""
    turn, step = ("", 6.0) if "." in pen.hatch else (' patternTransform="rotate(45)"', 3.4)
    mark = (
        f'<circle cx="3" cy="3" r="0.7" fill="{pen.stroke}"/>'
        if "." in pen.hatch
        else f'<path d="M0 0V{step}" stroke="{pen.stroke}" stroke-width="0.6"/>'
    )
    size = f'width="{step}" height="{step}" patternUnits="userSpaceOnUse"'
    return f'<pattern id="{hatch_name(pen)}" {size}{turn}>{mark}</pattern>'


def line_pen(look: Look, *, ink: str) -> Pen:
    """Return the stroke of a line; ``ink`` where no colour is told."""
    width, style = look.get("lw", 1.5), look.get("ls", "-")
    dash = style[1] if isinstance(style, tuple) else _DASHES.get(style, ())
    stroke = look.get("color", ink) if style != "" else "none"
    return Pen(
        stroke=stroke, width=width, dash=tuple(width * one for one in dash), alpha=look.get("alpha", 1)
    )


def area_pen(look: Look) -> Pen:
    """Return fill and rim of an area."""
    colour = look.get("color")
    return Pen(
        stroke=look.get("edgecolor", look.get("ec", "none")) if look.get("lw", 1.0) > 0 else "none",
        fill=look.get("facecolor", look.get("fc", colour or "none")),
        width=look.get("lw", 1.0),
        hatch=look.get("hatch", ""),
        alpha=look.get("alpha", 1.0),
    )


def marker_at(at: tuple[float, float], look: Look, *, ink: str) -> str:
    """Return a marker: a dot, a cross or a plus."""
    x, y = at
    colour = look.get("color", ink)
    half, rim = look.get("ms", 6.0) / 2, look.get("mec", colour)
    width = look.get("mew", 1.0)
    if look.get("marker") == "o":
        edge = f' stroke="{rim}" stroke-width="{width:g}"'
        return f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{half:g}" fill="{look.get("mfc", colour)}"{edge}/>'
    steps = (
        f"M{x - half:.2f} {y - half:.2f}l{2 * half:g} {2 * half:g}m0 {-2 * half:g}l{-2 * half:g} {2 * half:g}"
        if look.get("marker") == "x"
        else f"M{x - half:.2f} {y:.2f}h{2 * half:g}M{x:.2f} {y - half:.2f}v{2 * half:g}"
    )
    return f'<path d="{steps}" fill="none" stroke="{rim}" stroke-width="{width:g}"/>'


@dataclass(frozen=True)
class Words:
    """Words of one or more lines at a place of the paper, in points; ``turn`` in degrees clockwise."""

    text: str
    x: float
    y: float
    size: float
    ha: str = "left"
    va: str = "baseline"
    colour: str = "#1a1a1a"
    rim: bool = False
    bold: bool = False
    turn: float = 0.0

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Return left, top, right and bottom of the words before they are turned."""
        lines = self.text.split("\n")
        wide = max(width_of(one, size=self.size) for one in lines)
        tall = self.size * (1 + _ROW * (len(lines) - 1))
        left = self.x - {"left": 0.0, "center": 0.5, "right": 1.0}[self.ha] * wide
        above = {"top": 0.0, "center": 0.5, "bottom": 1.0}.get(self.va)
        top = self.y - (_ABOVE * self.size + tall - self.size if above is None else above * tall)
        return left, top, left + wide, top + tall

    def svg(self) -> str:
        """Return the words as SVG."""
        base = self.box[1] + _ABOVE * self.size
        anchor = {"left": "start", "center": "middle", "right": "end"}[self.ha]
        rim = (
            f' stroke="#fff" stroke-width="{_RIM}" stroke-linejoin="round" paint-order="stroke"'
            if self.rim
            else ""
        )
        turned = f' transform="rotate({self.turn:g} {self.x:.2f} {self.y:.2f})"' if self.turn else ""
        weight = ' font-weight="bold"' if self.bold else ""
        lines = self.text.split("\n")
        inside = html.escape(lines[0], quote=False) + "".join(
            f'<tspan x="{self.x:.2f}" dy="{_ROW * self.size:g}">{html.escape(one, quote=False)}</tspan>'
            for one in lines[1:]
        )
        return (
            f'<text x="{self.x:.2f}" y="{base:.2f}" font-size="{self.size:g}" text-anchor="{anchor}" '
            f'fill="{self.colour}"{rim}{weight}{turned} xml:space="preserve">{inside}</text>'
        )
