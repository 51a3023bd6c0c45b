"""The set-up drawing: side view, end view and legend as one SVG picture, to scale on paper."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.cli.show.drawing.end import end_sizes, end_view, reach_of
from stickout.cli.show.drawing.pen import (
    LETTER_MM,
    PATTERNS,
    Frame,
    Point,
    arrow,
    box,
    circle,
    line,
    width_of,
    words,
)
from stickout.cli.show.drawing.shape import Subject, subject_of
from stickout.cli.show.drawing.side import ROW, bottom, left, side_sizes, side_view, top
from stickout.cli.text.reasons import grip_words
from stickout.cli.text.words import force_size, force_words, plain, size_words
from stickout.fem.setup.parts import Setup
from stickout.fem.units import length_text
from stickout.meshes.tagged import FloatArray

WIDTH_MM: Final = 176.0  # fits the paper A4 and Letter between their margins
_ROOM_MM: Final = 158.0  # for the side view
_TALL_MM: Final = 36.0  # for the bodies of a view
_SCALES: Final = (
    10.0,
    5.0,
    2.0,
    1.0,
    1 / 2,
    1 / 5,
    1 / 10,
    1 / 20,
    1 / 50,
    1 / 100,
)  # ISO 5455, recalled, not opened
_ARROW_MM: Final = 15.0


@dataclass(frozen=True)
class Push:
    """The force on the tool: direction in the bar frame, shape (3,), and size [N] where it is known."""

    direction: FloatArray
    size_n: float | None = None


def set_up_drawing(setup: Setup, push: Push) -> str:
    """Return the drawing of a set-up as one SVG element, sizes in millimetres of paper.

    Parameters
    ----------
    setup
        The set-up, checked.
    push
        The force on the tool.

    Returns
    -------
    str
        An ``svg`` element without outside parts, 176 mm wide; the scale is written on it.

    Source
    ------
    Scales: ISO 5455 (recalled, not opened). Views beside each other as in third-angle projection: common
    practice, no source.
    """
    subject = subject_of(setup)
    scale = _scale(subject)
    wide, low, high = reach_of(subject)
    edge = scale * float(subject.nose_mm[2])
    # The force comes from the side that its direction points away from, and wants room there.
    above, under = (_ARROW_MM * max(0.0, way * float(push.direction[2])) + 4 for way in (-1, 1))
    axis = max(8.0 + _rows_above(subject) * ROW + scale * top(subject), 5 + above + edge)
    side = Frame(scale, 9.0 - scale * left(subject), axis)
    below = side.at(0, bottom(subject))[1] + _rows_below(subject) * ROW + 4
    below = max(below, axis - edge + under + 2)
    end = Frame(scale, 26.0 + scale * wide, below + max(13 + scale * high, 6 + above + edge))
    tail = max(end.at(0, -low)[1], end.at(0, 0)[1] - edge + under - 14)
    legend = list(_legend(subject, push, (end.at(wide, 0)[0] + 34, below + 11)))
    height = max(tail + 17, below + 11 + (len(legend) // 2 + 1) * 5.4)
    parts = [
        PATTERNS,
        words("Side view", (2, 4.5), bold=True),
        *side_view(subject, side),
        *side_sizes(subject, side),
        *_edge(subject, push, side, columns=(0, 2)),
        words("End view, from the free end", (2, below + 3.5), bold=True),
        *end_view(subject, end),
        *end_sizes(subject, end),
        *_edge(subject, push, end, columns=(1, 2)),
        words(scale_words(scale, setup.units), (WIDTH_MM - 1, below + 3.5), anchor="end"),
        *legend,
    ]
    label = f"Drawing of the set-up to scale: side view and end view. {size_words(setup.bar, setup.units)}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{label}" width="{WIDTH_MM:.0f}mm" '
        f'height="{height:.1f}mm" viewBox="0 0 {WIDTH_MM:.0f} {height:.1f}" '
        f'font-family="DejaVu Sans, Arial, sans-serif" font-size="{LETTER_MM}">{"".join(parts)}</svg>'
    )


def scale_words(scale: float, units: str) -> str:
    """Return the scale and the unit of the dimensions."""
    ratio = f"{scale:.0f} : 1" if scale >= 1 else f"1 : {1 / scale:.0f}"
    return f"Dimensions in {'inches' if units == 'inch' else 'mm'}. Scale {ratio} when printed at full size."


def _scale(subject: Subject) -> float:
    """Return the largest usual scale at which both views fit."""
    long = subject.setup.bar.overhang_mm - left(subject)
    wide, low, high = reach_of(subject)
    fits = (s for s in _SCALES if s * long <= _ROOM_MM and s * (low + high) <= _TALL_MM and s * wide <= 30)
    return next(fits, min(_ROOM_MM / long, _TALL_MM / (low + high), 30 / wide))


def _rows_above(subject: Subject) -> float:
    """Return how many rows of dimensions stand above the side view."""
    setup = subject.setup
    if subject.hold.screws_mm or setup.wrap is not None:
        return 2.2
    return 1.4 if setup.bar.steps else 0.3


def _rows_below(subject: Subject) -> int:
    """Return how many rows of dimensions stand below the side view."""
    steps = [one for one in subject.setup.bar.steps if one.start_mm > 0]
    return 1 + len(steps) + bool(subject.setup.edge.end_distance_mm)


def _edge(subject: Subject, push: Push, frame: Frame, *, columns: tuple[int, int]) -> Iterator[str]:
    """Yield the edge and the force on it, as two axes of the bar frame see it."""
    at = frame.at(*(float(subject.nose_mm[one]) for one in columns))
    across, up = (float(push.direction[one]) for one in columns)
    if math.hypot(across, up) > 0.12:
        tail = (at[0] - _ARROW_MM * across, at[1] + _ARROW_MM * up)
        yield arrow(tail, at)
        yield words("F", (tail[0] + (2 if across <= 0 else -4.5), tail[1] + (2 if up < 0 else 0)), bold=True)
    yield circle(at, 1.0, look="edge")


def _legend(subject: Subject, push: Push, at: Point) -> Iterator[str]:
    """Yield the legend, two pieces of SVG a line: a swatch and its words."""
    row = 0
    for look, text in _entries(subject, push):
        for part, piece in enumerate(_folded(text, WIDTH_MM - at[0] - 8)):
            y = at[1] + 5.4 * row
            yield _swatch(look, (at[0], y)) if part == 0 else ""
            yield words(piece, (at[0] + 8, y))
            row += 1


def _folded(text: str, width: float) -> list[str]:
    """Return a text as lines that fit a width [mm of paper]."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width_of(longer) > width:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def _swatch(look: str, at: Point) -> str:
    """Return a small sample of a look."""
    if look == "push":
        return arrow((at[0], at[1] - 1), (at[0] + 6, at[1] - 1))
    if look == "edge":
        return circle((at[0] + 3, at[1] - 1), 1.0, look="edge")
    if look == "spring":
        return line([(at[0] + n, at[1] - (1.8 if n % 2 else 0.4)) for n in range(7)], look)
    return box((at[0], at[1] - 2.6), (at[0] + 6, at[1] + 0.4), look=look)


def _entries(subject: Subject, push: Push) -> Iterator[tuple[str, str]]:
    """Yield look and words of each thing drawn."""
    setup = subject.setup
    bar, units = setup.bar, setup.units
    turned = f", turned {plain(bar.rotation_deg, 3)}°" if bar.rotation_deg else ""
    shape = {"tube": "Tube", "rectangle": "Rectangular bar"}.get(
        bar.section, f"{bar.section.capitalize()} bar"
    )
    yield "bar", f"{shape} of {setup.bar_material.name}, {size_words(bar, units)}{turned}"
    drawn = "" if subject.hold.block is not None else " (block drawn to be seen, its size is not known)"
    wall = "Ends:" if setup.grip.at_both_ends else "Wall: the" if setup.grip.grown_out else "Holder:"
    yield "holder", f"{wall} {_held(setup)}{drawn}"
    if setup.shim is not None:
        text = f"Shim of {setup.materials['shim'].name}, {length_text(setup.shim.thickness_mm, units)}"
        yield "shim", text
    if setup.wrap is not None:
        thick = length_text(setup.wrap.thickness_mm, units)
        yield "wrap", f"Wrap of {setup.materials['wrap'].name}, {thick} thick, {setup.wrap.bond}"
    aside = " (drawn at its usual place, computed on the axis)" if subject.aside else ""
    yield "edge", f"Edge{_edge_words(setup)}{aside}"
    size = "" if push.size_n is None else f", about {force_size(push.size_n, units)}"
    yield "push", f"F: force on the tool{size}: {force_words(np.asarray(push.direction).tolist())}"


def _held(setup: Setup) -> str:
    """Return how the bar is held, to follow "Holder:"."""
    text = grip_words(setup)
    return text.removeprefix("its ") if setup.grip.grown_out else text.replace("its ", "the ", 1)


def _edge_words(setup: Setup) -> str:
    """Return the mass at the edge and where it lies off the axis."""
    edge, units = setup.edge, setup.units
    parts = []
    for size, ways in ((edge.offset_y_mm, ("right", "left")), (edge.offset_z_mm, ("above", "below"))):
        if size:
            parts.append(f"{length_text(abs(size), units)} {ways[size < 0]} the axis")
    if edge.mass_g:
        parts.append(f"{plain(edge.mass_g, 3)} g ride on it")
    return f": {', '.join(parts)}" if parts else ""
