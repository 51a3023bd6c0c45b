"""The end view of a set-up: seen from the free end, y to the right, z up."""

from __future__ import annotations

import math
from collections.abc import Iterator

from stickout.cli.show.drawing.pen import Frame, box, circle, level_size, line, pointed, upright_size
from stickout.cli.show.drawing.shape import Subject, half_sizes, ring
from stickout.cli.show.drawing.side import number, screw_reach
from stickout.fem.units import MM
from stickout.meshes.outlines import Outline
from stickout.meshes.pieces import ROUND_KINDS, wound_pieces

_CLEAR = 5.0  # paper between a body and its dimension line


def end_view(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield the end view without its dimensions: the holder behind, then the bar, larger lengths first."""
    yield from _holder(subject, frame)
    if subject.setup.wrap is not None:
        for piece in wound_pieces(subject.pieces, subject.setup.wrap):
            yield circle(frame.at(0, 0), frame.scale * piece.outline.radius / MM, look="wrap")
    for piece in subject.pieces:
        last = piece is subject.pieces[-1]
        yield _outline(frame, piece.outline, subject.turn, look="end" if last else "bar")
    bore = subject.pieces[-1].bore
    if bore is not None:
        yield _outline(frame, bore, 0.0, look="bore")
    yield from _axes(subject, frame)


def reach_of(subject: Subject) -> tuple[float, float, float]:
    """Return how far the end view goes sideways (each way), down and up [mm]."""
    wide = max(block.y[1] for block in subject.blocks)
    thick = 0.0 if subject.setup.wrap is None else subject.setup.wrap.thickness_mm
    sizes = [half_sizes(p.outline, subject.turn) for p in subject.pieces]
    wide = max([wide, *(y + thick for y, _ in sizes)])
    tall = max([*(z + thick for _, z in sizes)])
    low = max([tall, *(-block.z[0] for block in subject.blocks)])
    high = max([tall, *(block.z[1] for block in subject.blocks)])
    if subject.hold.screws_mm:
        high = max(high, screw_reach(subject)[1])
    return wide, low, high


def _holder(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield what holds the bar."""
    hold = subject.hold
    for block in subject.blocks:
        yield box(frame.at(block.y[0], block.z[0]), frame.at(block.y[1], block.z[1]), look="holder")
    if hold.block is not None and hold.block.split:
        y, radius = subject.blocks[0].y[1], half_sizes(subject.pieces[0].outline, subject.turn)[0]
        saw = 0.6 / frame.scale  # drawn 1.2 mm wide on paper; the kerf is not known
        yield box(frame.at(radius, -saw), frame.at(y, saw), look="bore")
    if hold.screws_mm:
        low, high = screw_reach(subject)
        half = hold.screw_diameter_mm / 2
        yield box(frame.at(-half, low), frame.at(half, high), look="screw")
    if subject.setup.shim is not None:
        wide, tall = half_sizes(subject.pieces[0].outline, subject.turn)
        flat = subject.pieces[0].outline
        if math.isfinite(flat.radius) and flat.half_height < flat.radius:
            wide = math.sqrt(flat.radius**2 - flat.half_height**2) / MM
        yield box(
            frame.at(-wide, -tall), frame.at(wide, -tall - subject.setup.shim.thickness_mm), look="shim"
        )


def _outline(frame: Frame, outline: Outline, turn: float, *, look: str) -> str:
    return line([frame.at(float(y), float(z)) for y, z in ring(outline, turn)], look, closed=True)


def _axes(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield the two middle lines."""
    wide, tall = (one + 3 / frame.scale for one in half_sizes(subject.pieces[0].outline, subject.turn))
    yield line([frame.at(-wide, 0), frame.at(wide, 0)], "axis")
    yield line([frame.at(0, -tall), frame.at(0, tall)], "axis")


def end_sizes(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield the dimensions of the end view."""
    yield from _section_sizes(subject, frame)
    yield from _block_sizes(subject, frame)
    yield from _layer_sizes(subject, frame)


def _section_sizes(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield the sizes of the section at the free end."""
    piece, units = subject.pieces[-1], subject.setup.units
    outline, middle = piece.outline, frame.at(0, 0)
    wide, low, high = reach_of(subject)
    aside = middle[0] - frame.scale * wide - _CLEAR
    if subject.setup.bar.section in ROUND_KINDS:
        radius = frame.scale * outline.radius / MM
        # Below, where the arrow of the force seldom is; a bore's size takes that place.
        down = -1.0 if piece.bore is not None else 1.0
        beyond = (low if piece.bore is None else high) * frame.scale + 4
        tip = (middle[0] + radius * math.cos(0.9), middle[1] + down * radius * math.sin(0.9))
        far = (middle[0] + frame.scale * wide + 5, middle[1] + down * beyond)
        yield pointed(f"Ø {number(2 * outline.radius / MM, units)}", tip, to=far)
        if piece.bore is not None:
            bore = frame.scale * piece.bore.radius / MM
            inner = (middle[0] + bore * math.cos(-0.7), middle[1] - bore * math.sin(-0.7))
            corner = (far[0], middle[1] + frame.scale * low + 4)
            yield pointed(f"bore Ø {number(2 * piece.bore.radius / MM, units)}", inner, to=corner)
    if math.isfinite(outline.half_height):
        height = outline.half_height / MM
        across = wide_of(outline)
        size = upright_size(
            number(2 * height, units),
            (
                (middle[0] - frame.scale * across, middle[1] + frame.scale * height),
                (middle[0] - frame.scale * across, middle[1] - frame.scale * height),
            ),
            at=aside if not subject.turn else middle[0] - frame.scale * _diagonal(subject) - _CLEAR,
        )
        yield _turned(size, subject.turn, middle)
    if math.isfinite(outline.half_width):
        half = outline.half_width / MM
        drop = low if not subject.turn else _diagonal(subject)
        size = level_size(
            number(2 * half, units),
            ((middle[0] - frame.scale * half, middle[1]), (middle[0] + frame.scale * half, middle[1])),
            at=middle[1] + frame.scale * drop + _CLEAR,
        )
        yield _turned(size, subject.turn, middle)


def wide_of(outline: Outline) -> float:
    """Return the half width of an outline where its flat or side ends [mm]."""
    if math.isfinite(outline.half_width):
        return outline.half_width / MM
    return math.sqrt(max(outline.radius**2 - outline.half_height**2, 0.0)) / MM


def _diagonal(subject: Subject) -> float:
    """Return the greatest reach from the axis of bar and holder [mm]."""
    return max(math.hypot(*half_sizes(subject.pieces[0].outline, 0.0)), reach_of(subject)[0])


def _turned(drawn: str, turn: float, middle: tuple[float, float]) -> str:
    """Return a dimension turned with the section, by no more than a quarter so that it stays readable."""
    degrees = (math.degrees(turn) + 90) % 180 - 90
    if not degrees:
        return drawn
    return f'<g transform="rotate({-degrees:.4f} {middle[0]:.3f} {middle[1]:.3f})">{drawn}</g>'


def _block_sizes(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield width, height and wall of a bored block."""
    block, units = subject.blocks[0], subject.setup.units
    if not block.known:
        return
    corner, other = frame.at(block.y[0], block.z[0]), frame.at(block.y[1], block.z[0])
    above = frame.at(block.y[0], block.z[1])
    yield level_size(number(block.y[1] - block.y[0], units), (corner, other), at=corner[1] + _CLEAR)
    yield upright_size(number(block.z[1] - block.z[0], units), (corner, above), at=corner[0] - _CLEAR - 6.5)
    low = half_sizes(subject.pieces[0].outline, subject.turn)[1]
    wall = f"wall {number(-low - block.z[0], units)}"
    yield upright_size(wall, (corner, frame.at(block.y[0], -low)), at=corner[0] - _CLEAR)


def _layer_sizes(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield the thickness of shim and wrap, and the diameter of the screws."""
    setup, units = subject.setup, subject.setup.units
    wide, low, _ = reach_of(subject)
    if setup.shim is not None:
        tall = half_sizes(subject.pieces[0].outline, subject.turn)[1]
        middle = frame.at(0.3 * wide, -tall - setup.shim.thickness_mm / 2)
        to = (frame.at(wide, 0)[0] + 6, frame.at(0, -low)[1] + 3)
        yield pointed(f"shim {number(setup.shim.thickness_mm, units)}", middle, to=to)
    if subject.hold.screws_mm:
        half, reach = subject.hold.screw_diameter_mm / 2, screw_reach(subject)[1]
        tip = frame.at(half, 0.8 * reach)
        yield pointed(f"screw Ø {number(2 * half, units)}", tip, to=(frame.at(wide, 0)[0] + 6, tip[1] - 2))
    if setup.wrap is not None:
        radius = max(p.outline.radius for p in wound_pieces(subject.pieces, setup.wrap)) / MM
        ray = radius - setup.wrap.thickness_mm / 2
        tip = frame.at(ray * math.cos(-0.2), ray * math.sin(-0.2))
        to = (frame.at(wide, 0)[0] + 6, tip[1] + 5)
        yield pointed(f"wrap {number(setup.wrap.thickness_mm, units)} thick", tip, to=to)
