"""The side view of a set-up: seen from the front of the lathe, x to the right, z up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from stickout.cli.show.drawing.pen import (
    Frame,
    box,
    level_size,
    line,
    pointed,
)
from stickout.cli.show.drawing.shape import Block, Subject, corner_heights, half_sizes
from stickout.cli.text.words import size_words
from stickout.fem.units import MM, length_text
from stickout.meshes.parts import Bar, Hold, Step
from stickout.meshes.pieces import Piece, wound_pieces

ROW: Final = 6.5  # paper between two rows of dimensions
_OVER: Final = 4.0  # how far the axis goes past the bar


def number(length_mm: float, units: str) -> str:
    """Return a length as a drawing writes it, without its unit."""
    return length_text(length_mm, units).split()[0]


def bottom(subject: Subject) -> float:
    """Return the lowest z that is drawn as a body [mm]."""
    lows = [block.z[0] for block in subject.blocks]
    return min([*lows, *(-half_sizes(p.outline, subject.turn)[1] - _wound(subject) for p in subject.pieces)])


def top(subject: Subject) -> float:
    """Return the highest z that is drawn as a body [mm]."""
    highs = [block.z[1] for block in subject.blocks]
    screws = screw_reach(subject)[1] if subject.hold.screws_mm else 0.0
    bars = [half_sizes(p.outline, subject.turn)[1] + _wound(subject) for p in subject.pieces]
    return max([*highs, *bars, screws])


def left(subject: Subject) -> float:
    """Return the lowest x that is drawn [mm]."""
    return min(block.x[0] for block in subject.blocks)


def screw_reach(subject: Subject) -> tuple[float, float]:
    """Return from where to where along z a screw is drawn [mm]; its length is not known."""
    high = half_sizes(subject.pieces[0].outline, subject.turn)[1]
    return high, 2.4 * high


def side_view(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield the side view without its dimensions."""
    for block in subject.blocks:
        yield box(frame.at(block.x[0], block.z[0]), frame.at(block.x[1], block.z[1]), look="holder")
    yield from _shim(subject, frame)
    yield from _screws(subject, frame)
    for piece in subject.pieces:
        yield from _length(subject, piece, frame)
    yield from _seat(subject, frame)
    yield from _wrap(subject, frame)
    first, last = subject.pieces[0].start / MM, subject.pieces[-1].stop / MM
    ends = [frame.at(first, 0), frame.at(last, 0)]
    yield line([(ends[0][0] - _OVER, ends[0][1]), (ends[1][0] + _OVER, ends[1][1])], "axis")


def _length(subject: Subject, piece: Piece, frame: Frame) -> Iterator[str]:
    """Yield one length of the bar: outline, long edges, bore."""
    start, stop = piece.start / MM, piece.stop / MM
    high = half_sizes(piece.outline, subject.turn)[1]
    yield box(frame.at(start, -high), frame.at(stop, high), look="bar")
    for z in corner_heights(piece.outline, subject.turn):
        yield line([frame.at(start, z), frame.at(stop, z)], "corner")
    if piece.bore is not None:
        bore = piece.bore.radius / MM
        for z in (-bore, bore):
            yield line([frame.at(start, z), frame.at(stop, z)], "hidden")


def _shim(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield the shim under the gripped length."""
    if subject.setup.shim is not None:
        low = -half_sizes(subject.pieces[0].outline, subject.turn)[1]
        gripped = subject.setup.bar.gripped_mm
        under = low - subject.setup.shim.thickness_mm
        yield box(frame.at(-gripped, under), frame.at(0.0, low), look="shim")


def _screws(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield the screws of a slot and the jaw they sit in, dashed, since nothing is known of it."""
    hold = subject.hold
    if not hold.screws_mm:
        return
    low, high = screw_reach(subject)
    jaw = low + 0.35 * (high - low)
    yield box(frame.at(-subject.setup.bar.gripped_mm, jaw), frame.at(0.0, 0.9 * high), look="behind")
    half = hold.screw_diameter_mm / 2
    for at in screw_places(hold):
        yield box(frame.at(at - half, low), frame.at(at + half, high), look="screw")
        yield line([frame.at(at, low - 0.1 * high), frame.at(at, 1.1 * high)], "axis")


def screw_places(hold: Hold) -> list[float]:
    """Return where the screws stand along x [mm]."""
    return [-one for one in hold.screws_mm]


def _seat(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield the springs of a seat, as a saw-tooth line along its faces, and the hatching of a held base."""
    grip, gripped = subject.setup.grip, subject.setup.bar.gripped_mm
    high = half_sizes(subject.pieces[0].outline, subject.turn)[1]
    if grip.bedding is not None:
        for z in (-high, high):
            yield _teeth(frame, (-gripped, 0.0), z, outward=1 if z > 0 else -1)
    if grip.grown_out:
        yield line([frame.at(0.0, subject.blocks[0].z[0]), frame.at(0.0, subject.blocks[0].z[1])], "bar")
    if subject.hold.block is not None:
        yield _ground(frame, subject.blocks[0])


def _teeth(frame: Frame, span: tuple[float, float], z: float, *, outward: int) -> str:
    """Return a saw-tooth line of 1.4 mm of paper along a face."""
    (start, level), (stop, _) = frame.at(span[0], z), frame.at(span[1], z)
    count = max(2, round((stop - start) / 1.6) // 2 * 2)
    step = (stop - start) / count
    points = [(start + n * step, level - outward * (1.4 if n % 2 else 0.0)) for n in range(count + 1)]
    return line(points, "spring")


def _ground(frame: Frame, block: Block) -> str:
    """Return the short strokes under a base that is held still."""
    (start, level), (stop, _) = frame.at(block.x[0], block.z[0]), frame.at(block.x[1], block.z[0])
    count = max(2, round((stop - start) / 2.5))
    step = (stop - start) / count
    strokes = [
        line([(start + n * step, level), (start + n * step - 1.6, level + 1.6)], "corner")
        for n in range(1, count + 1)
    ]
    return "".join(strokes)


def _wound(subject: Subject) -> float:
    return 0.0 if subject.setup.wrap is None else subject.setup.wrap.thickness_mm


def _wrap(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield the wrap above and below the bar."""
    if subject.setup.wrap is None:
        return
    for piece in wound_pieces(subject.pieces, subject.setup.wrap):
        inner = piece.outline.radius / MM - _wound(subject)
        outer = piece.outline.radius / MM
        for way in (-1, 1):
            corners = frame.at(piece.start / MM, way * inner), frame.at(piece.stop / MM, way * outer)
            yield box(*corners, look="wrap")


def side_sizes(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield the dimensions of the side view: below from the holder face, above what is wound or screwed."""
    setup, units = subject.setup, subject.setup.units
    bar, low = setup.bar, bottom(subject)
    base = frame.at(0.0, low)[1]
    reach = half_sizes(subject.pieces[-1].outline, subject.turn)[1]
    face, free = frame.at(0.0, low), frame.at(bar.overhang_mm, -reach)
    steps = [s.start_mm for s in bar.steps]
    for row, start in enumerate([one for one in steps if one > 0]):
        at = frame.at(start, -half_sizes(_piece_at(subject, start).outline, subject.turn)[1])
        yield level_size(number(start, units), (face, at), at=base + (row + 1) * ROW)
    last = base + (1 + len([one for one in steps if one > 0])) * ROW
    yield level_size(
        f"{number(bar.overhang_mm, units)}{'' if setup.grip.at_both_ends else ' out'}", (face, free), at=last
    )
    if not setup.grip.grown_out:
        yield level_size(
            f"{number(bar.gripped_mm, units)} gripped", (frame.at(-bar.gripped_mm, low), face), at=last
        )
    if setup.edge.end_distance_mm:
        edge = frame.at(bar.overhang_mm - setup.edge.end_distance_mm, setup.edge.offset_z_mm)
        yield level_size(number(setup.edge.end_distance_mm, units), (edge, free), at=last + ROW)
    yield from _above(subject, frame)
    yield from _thick(subject, frame)


def _above(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield the dimensions above the bar: screws and wrap, from the holder face."""
    setup, units, ceiling = subject.setup, subject.setup.units, frame.at(0.0, top(subject))[1] - 3.5
    face = frame.at(0.0, half_sizes(subject.pieces[0].outline, subject.turn)[1])
    wrap, screws = setup.wrap, subject.hold.screws_mm
    places = [frame.at(x, screw_reach(subject)[1]) for x in screw_places(subject.hold)]
    if places:
        yield level_size(number(screws[0], units), (face, places[0]), at=ceiling)
    if len(places) > 1:
        between = number(screws[1] - screws[0], units)
        yield level_size(between, (places[0], places[1]), at=ceiling - ROW)
    if wrap is not None:
        ends = (wrap.start_mm, wrap.start_mm + wrap.length_mm)
        near, far = (frame.at(x, half_sizes(subject.pieces[-1].outline, subject.turn)[1]) for x in ends)
        if wrap.start_mm:
            yield level_size(number(wrap.start_mm, units), (face, near), at=ceiling)
        yield level_size(f"{number(wrap.length_mm, units)} wrap", (near, far), at=ceiling - ROW)


def _thick(subject: Subject, frame: Frame) -> Iterator[str]:
    """Yield the sizes across each length of a stepped bar; those of a plain bar are on the end view."""
    setup = subject.setup
    if not setup.bar.steps:
        return
    level = frame.at(0.0, top(subject))[1] - 7
    parts: list[Bar | Step] = [setup.bar, *setup.bar.steps]
    starts = [0.0, *(one.start_mm for one in setup.bar.steps)]
    stops = [*starts[1:], setup.bar.overhang_mm]
    for part, start, stop in zip(parts, starts, stops, strict=True):
        middle = max(start, 0.0) + 0.6 * (stop - max(start, 0.0))
        high = half_sizes(_piece_at(subject, middle).outline, subject.turn)[1]
        sign = "Ø " if part.diameter_mm else ""
        words = sign + size_words(part, setup.units).replace(" mm", "").replace(" in", "")
        x = frame.at(middle, high)[0]
        yield pointed(words, frame.at(middle, high), to=(x + 2.5, level))


def _piece_at(subject: Subject, x_mm: float) -> Piece:
    """Return the length of bar that begins or goes on at ``x_mm``."""
    return next((p for p in reversed(subject.pieces) if p.start / MM <= x_mm + 1e-9), subject.pieces[0])
