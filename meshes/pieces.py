"""A bar as lengths of equal section: what each looks like, where it starts and stops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stickout.meshes.errors import InputError
from stickout.meshes.outlines import Outline
from stickout.meshes.parts import Bar, Hold, Wrap

MM = 1e-3
ROUND_KINDS = ("round", "tube", "flatted")


@dataclass(frozen=True)
class Fineness:
    """How fine a mesh is, in terms of the bar's own depth, so that it scales with the bar.

    Attributes
    ----------
    around
        Cells in a quadrant of a round section, or across the smaller side of a rectangle.
    rings
        Cells from the inner block of a round section to its skin.
    skin
        Thickness of the cells at the skin over the depth.
    longest
        Greatest length of a layer over the depth.
    first
        Length of the layers that touch a hot station over the depth.
    ratio
        Growth of layers and cells away from where they are crowded.
    cuts
        How often every layer and every interval of the section is halved after that, so that one mesh is
        a subdivision of another.
    deep
        How often what touches a singular line is halved once more.
    along, across
        How often the other layers, and the other intervals of the section, are halved once more.
    steps
        How often every interval of one direction is halved on top of that: along the bar; in the section
        sideways or round it; upward or outward.
    crowd
        How often each of these steps halves once more what touches a singular line.
    sharp
        How often that is halved in each direction besides, on every mesh alike.
    """

    around: int = 2
    rings: int = 1
    skin: float = 0.11
    longest: float = 0.5
    first: float = 0.05
    ratio: float = 2.0
    cuts: int = 0
    deep: int = 0
    along: int = 0
    across: int = 0
    steps: tuple[int, int, int] = (0, 0, 0)
    crowd: int = 1
    sharp: tuple[int, int, int] = (0, 0, 0)

    def by(self, way: int) -> Fineness:
        """Return the fineness in one direction, its steps counted in: 0 along, 1 sideways, 2 upward."""
        steps = self.steps[way]
        return replace(self, cuts=self.cuts + steps, deep=self.deep + self.crowd * steps + self.sharp[way])

    @property
    def least(self) -> float:
        """Return which part of its first thickness a cell beside a singular line has."""
        return 0.5 ** (self.cuts + self.deep)

    @property
    def halvings(self) -> int:
        """Return how often an interval of the section away from singular lines is halved."""
        return self.cuts + self.across

    @property
    def split(self) -> int:
        """Return into how many cells such an interval is cut."""
        return int(2**self.halvings)


@dataclass(frozen=True)
class Piece:
    """A length of bar of one size: from ``start`` to ``stop`` [m], its outline and its bore's."""

    start: float
    stop: float
    outline: Outline
    bore: Outline | None = None


def pieces_of(bar: Bar, hold: Hold) -> list[Piece]:
    """Return the lengths of equal size along the bar [m], a step of equal size melted into its neighbour.

    Parameters
    ----------
    bar
        The bar.
    hold
        How it is held; what lies behind the holder face is left out when that is rigid.

    Raises
    ------
    InputError
        The section is unknown, or a size it needs is missing.
    """
    starts = [-bar.gripped_mm if hold.style != "rigid" else 0.0, *[s.start_mm for s in bar.steps]]
    stops = [*starts[1:], bar.overhang_mm]
    pieces: list[Piece] = []
    size = bar
    for number, (start, stop) in enumerate(zip(starts, stops, strict=True)):
        if number:
            step = bar.steps[number - 1]
            size = replace(size, **{k: v for k, v in vars(step).items() if k != "start_mm" and v is not None})
        outline, bore = outlines_of(size)
        if pieces and (pieces[-1].outline, pieces[-1].bore) == (outline, bore):
            pieces[-1] = replace(pieces[-1], stop=stop * MM)
        else:
            pieces.append(Piece(start * MM, stop * MM, outline, bore))
    return pieces


def outlines_of(bar: Bar) -> tuple[Outline, Outline | None]:
    """Return the outline of a bar's section and of its bore [m].

    Raises
    ------
    InputError
        The section is unknown or a size it needs is missing.
    """
    if bar.section == "round":
        return Outline(radius=_size(bar, "diameter_mm") / 2), None
    if bar.section == "tube":
        bore = Outline(radius=_size(bar, "bore_mm") / 2) if bar.bore_mm else None
        return Outline(radius=_size(bar, "diameter_mm") / 2), bore
    if bar.section == "flatted":
        radius, half = _size(bar, "diameter_mm") / 2, _size(bar, "across_flats_mm") / 2
        return Outline(radius=radius, half_height=half if half < radius else np.inf), None
    if bar.section not in ("square", "rectangle"):
        raise InputError(
            key="bar.section",
            given=bar.section,
            allowed="round, tube, square, rectangle or flatted",
            mend="Choose the nearest of these.",
        )
    width = _size(bar, "width_mm") / 2
    height = width if bar.section == "square" else _size(bar, "height_mm") / 2
    if (quarter_turns(bar) or 0) % 2:
        width, height = height, width
    return Outline(half_width=width, half_height=height), None


def quarter_turns(bar: Bar) -> int | None:
    """Return the number of quarter turns the section makes, None when it is turned by another angle."""
    turns = bar.rotation_deg / 90
    return round(turns) if abs(turns - round(turns)) < 1e-9 else None


def wound_pieces(pieces: Sequence[Piece], wrap: Wrap) -> list[Piece]:
    """Return the annular pieces of a bonded wrap: outline outside, the bar's own outline as bore.

    Parameters
    ----------
    pieces
        Lengths of the bar, all round.
    wrap
        The wrap.
    """
    start, stop = wrap.start_mm * MM, (wrap.start_mm + wrap.length_mm) * MM
    return [
        Piece(
            start=max(start, p.start),
            stop=min(stop, p.stop),
            outline=Outline(radius=p.outline.radius + wrap.thickness_mm * MM),
            bore=p.outline,
        )
        for p in pieces
        if p.start < stop and p.stop > start
    ]


def depth_of(pieces: Sequence[Piece]) -> float:
    """Return the least height or width among the pieces [m]: the length that a mesh is scaled by."""
    across = np.array([0.0, np.pi / 2])
    return float(min(2 * p.outline.reach(across).min() for p in pieces))


def slenderness(pieces: Sequence[Piece]) -> float:
    """Return the root of the greatest width over the least: what lengths a wide, thin section allows."""
    across = np.array([0.0, np.pi / 2])
    widest = max(float(2 * p.outline.reach(across).max()) for p in pieces)
    return float(np.sqrt(widest / depth_of(pieces)))


def _size(bar: Bar, key: str) -> float:
    value = getattr(bar, key)
    if value is None:
        raise InputError(
            key=f"bar.{key}",
            given=None,
            allowed=f"a length in mm for a {bar.section} bar",
            mend=f"Give {key}.",
        )
    return float(value) * MM
