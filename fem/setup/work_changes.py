"""The part held otherwise: with a centre, with one steady more, with one less."""

from __future__ import annotations

from dataclasses import replace

from stickout.fem.setup.check_work import STEADY_CLEAR_MM
from stickout.fem.setup.work_parts import Steady, Work


def with_centre(work: Work) -> Work:
    """Return a part in a chuck with a centre in its far end; its springs as given, else of habit."""
    return replace(work, held="chuck and centre")


def with_steady(work: Work, at_mm: float) -> Work:
    """Return a part with one steady more, at a distance from the chuck or the headstock centre."""
    return replace(work, steadies=(*work.steadies, Steady(at_mm)))


def without_steady(work: Work, number: int) -> Work:
    """Return a part without one of its steadies, counted from 0."""
    left = tuple(one for at, one in enumerate(work.steadies) if at != number)
    return replace(work, steadies=left, steady_n_per_um=work.steady_n_per_um if left else None)


def beside_cut_mm(work: Work) -> float:
    """Return where a steady stands beside the cut: beyond it where there is room, else before it."""
    near = work.cut_at_mm + 4 * STEADY_CLEAR_MM
    return near if near <= work.length_mm else work.cut_at_mm - 4 * STEADY_CLEAR_MM
