"""Set-ups that are bodies of revolution: solved as such, to a limit with a told error, without a mesh.

The spaces are nested: each takes higher polynomials and cuts what touches a singular point once more, so
that frequencies fall and compliance grows from one to the next, and on to the exact ones.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager
from itertools import pairwise
from typing import Final

import numpy as np

from stickout.fem.later import Later
from stickout.fem.revolved.bar import Fine, Length, RevolvedBar, Ring
from stickout.fem.revolved.solve import Solution, cells_for, solve
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.model import Model
from stickout.fem.solid.modes import SPARE
from stickout.fem.solid.setting import elastic, hold_of, loss_factors, owner_of, support_of
from stickout.fem.solid.supports import Spring
from stickout.fem.study.accuracy import Level, MeshLimit, limit_at
from stickout.fem.study.budget import EACH, FACTOR
from stickout.fem.study.damping import needs_complex
from stickout.fem.study.frames import ROUND
from stickout.fem.study.meshes_limit import (
    OF_FIRST_POLYNOMIALS,
    OF_POLYNOMIALS,
    MeshNumbers,
    Rule,
    Tended,
    on_bed,
    tended,
    worst_error,
)
from stickout.fem.study.on_post import carrier_of
from stickout.fem.study.revolved_level import level_of
from stickout.meshes.pieces import MM, Piece, pieces_of, wound_pieces
from stickout.meshes.tool import edge_point

# Degree along the bar and across it, cuts toward singular points: each space holds the one before.
SPACES: Final = (Fine(3, 2, 0), Fine(4, 3, 1), Fine(5, 4, 2), Fine(6, 5, 3), Fine(7, 6, 4))
# A space beyond the first two that would be more work is not tried: some twenty seconds.
_MOST_WORK: Final = 4e11
# What shoulders not drawn together at lower frequencies by beyond the second space, over what they are
# guessed to: 0 to 1.8 (computed here); in later spaces this part of it each (0.6 was seen).
_BLUNTED: Final = 2.0
_SHARPER: Final = 0.7
# What such shoulders may blunt, over the accuracy that is asked for.
_MAY_BLUNT: Final = 0.25
# So near, in parts of the bar's length, a station serves for an absorber.
_NEAR: Final = 1e-3
# A layer of more than this part of the bar's modulus ends as a shoulder does.
_AS_STIFF: Final = 0.3
# A wave's unknowns over the section's nodes: bending has three components, twist one, stretch two.
_COMPONENTS: Final = (3, 1, 2)


def solved_as_revolved(setup: Setup) -> bool:
    """Return whether a set-up is solved as a body of revolution: it is one, and no part of it is very lossy.

    What such a part loses is worked out on a mesh.
    """
    return is_of_revolution(setup) and loses_little(setup)


def loses_little(setup: Setup, others: Sequence[str] = ()) -> bool:
    """Return whether no region of a round bar, nor its bed, nor others that are named are very lossy."""
    names = [*_names_of(setup), *others]
    return not needs_complex([band.likely for band in loss_factors(setup, names).values()])


def is_of_revolution(setup: Setup) -> bool:
    """Return whether bar, wrap and grip are alike all round.

    No layer on them may be mass alone, and no post be under them, since those are worked out on a mesh.
    """
    return setup.grip.alike_all_round and not setup.grip.at_both_ends and is_bare_and_round(setup)


def is_bare_and_round(setup: Setup) -> bool:
    """Return whether a bar and its wrap are round, with no layer that is mass alone and no post."""
    plain = setup.shim is None and (setup.wrap is None or setup.wrap.bond == "bonded")
    return setup.bar.section in ROUND and plain and carrier_of(setup) is None


def revolved_limit(
    setup: Setup, model_of: Callable[[], Model], *, solving: Callable[[Fine], AbstractContextManager[object]]
) -> MeshLimit[Level]:
    """Return what nested spaces of polynomials tend to.

    Parameters
    ----------
    setup
        A set-up of which ``solved_as_revolved`` is true.
    model_of
        Gives the mesh that the modes are drawn on, with its matrices.
    solving
        Entered for each solution.

    Raises
    ------
    SolveError
        The computation failed.

    Source
    ------
    Min-max principle on nested spaces; what a step leaves measured, see DEVELOPERS.md.
    """
    bar, wanted = revolved_bar(setup), setup.solve.modes
    solved: list[Solution] = []
    for fine in SPACES:
        if len(solved) > 1 and space_work(setup, fine) > _MOST_WORK:
            break
        with solving(fine):
            solved.append(solve(bar, fine, wanted=wanted + SPARE))
        if len(solved) < 2:
            continue
        found = spaces_limit([_numbers(one) for one in solved], bar, wanted=wanted)
        if worst_error(found.error, found.compliance_error, wanted=wanted) <= setup.solve.accuracy:
            break
    finest = level_of(solved[-1], Later(model_of))
    return limit_at(finest, found, accuracy=setup.solve.accuracy, wanted=wanted)


def revolved_level(setup: Setup, fine: Fine, *, model_of: Callable[[], Model]) -> Level:
    """Return what one space of polynomials tells of a set-up.

    Parameters
    ----------
    setup
        A set-up of which ``is_of_revolution`` is true.
    fine
        How fine.
    model_of
        Gives the mesh that the modes are drawn on, with its matrices.
    """
    return level_of(solve(revolved_bar(setup), fine, wanted=setup.solve.modes + SPARE), Later(model_of))


def space_work(setup: Setup, fine: Fine) -> float:
    """Return about how much work the solution of a body of revolution in one space is.

    Parameters
    ----------
    setup
        A set-up of which ``is_of_revolution`` is true.
    fine
        How fine.
    """
    cells = cells_for(revolved_bar(setup), fine, wanted=setup.solve.modes + SPARE)
    per_length = np.bincount(cells.length, minlength=len(cells.grids))
    return sum(
        float(many) * (FACTOR * block**3 + EACH * block)
        for many, grid in zip(per_length, cells.grids, strict=True)
        for block in (components * len(grid.nodes) * fine.along for components in _COMPONENTS)
    )


def spaces_limit(
    solved: Sequence[MeshNumbers], bar: RevolvedBar, *, wanted: int, layer: float | None = None
) -> Tended:
    """Return what the first spaces of polynomials tend to, with the error told.

    Parameters
    ----------
    solved
        What every space told, the coarsest first.
    bar
        The bar, or a longer one that has the same cells where it is held.
    wanted
        How many modes count.
    layer
        Modulus of the bar over the stiffness of its bed [m], where it is not that of ``bar``.

    Source
    ------
    As ``revolved_limit``.
    """
    blunted = _BLUNTED * _SHARPER ** (len(solved) - 2) * bar.blunted
    return _softer(tended(solved, _rule(bar, len(solved), wanted=wanted, layer=layer)), blunted)


def _rule(bar: RevolvedBar, spaces: int, *, wanted: int, layer: float | None) -> Rule:
    """Return what may be still to come after so many spaces."""
    if bar.crowded:
        return OF_POLYNOMIALS
    if bar.held:
        first = spaces == 2 and not _has_shoulders(bar)
        return OF_FIRST_POLYNOMIALS if first else OF_POLYNOMIALS
    behind = bar.lengths[0]
    # Shoulders and the ends of a wrap have a say of their own.
    if behind.bed is None or len(bar.radii) > len(behind.radii):
        return OF_POLYNOMIALS
    layer = layer or behind.rings[0].material.youngs_modulus / behind.bed[1].normal
    least = np.diff(cells_for(bar, SPACES[spaces - 1], wanted=wanted + SPARE).x).min()
    return on_bed(float(least) / layer)


def _has_shoulders(bar: RevolvedBar) -> bool:
    """Return whether the bar, or a wrap about as stiff, has an inner corner: stress grows faster there."""
    stiff = _AS_STIFF * bar.lengths[0].rings[0].material.youngs_modulus
    bodies = [[ring for ring in one.rings if ring.material.youngs_modulus > stiff] for one in bar.lengths]
    return len({(rings[0].inner, rings[-1].outer) for rings in bodies if rings}) > 1


def _softer(found: Tended, part: float) -> Tended:
    """Return a limit of which frequencies may lie lower by a part, compliances higher by twice that: amid."""
    return Tended(
        frequency_hz=found.frequency_hz * (1 - part / 2),
        error=found.error + part / 2,
        compliance=found.compliance * (1 + part),
        compliance_error=found.compliance_error + part,
    )


def _names_of(setup: Setup) -> list[str]:
    """Return the regions and the bed of a set-up that is a body of revolution."""
    lengths = revolved_bar(setup).lengths
    regions = [ring.region for one in lengths for ring in one.rings]
    return list(dict.fromkeys(regions + [one.bed[0] for one in lengths if one.bed is not None]))


def revolved_bar(setup: Setup) -> RevolvedBar:
    """Return the bar of revolution that a set-up describes."""
    pieces = pieces_of(setup.bar, hold_of(setup))
    wound = [] if setup.wrap is None else wound_pieces(pieces, setup.wrap)
    edge = setup.edge
    return RevolvedBar(
        lengths=list(_lengths(setup, pieces, wound)),
        held=_bed_of(setup) is None,
        edge=edge_point(setup.bar, edge),
        edge_mass=1e-3 * edge.mass_g,
        blunt=_MAY_BLUNT * setup.solve.accuracy,
    )


def _bed_of(setup: Setup) -> tuple[str, Spring] | None:
    """Return the springs round the gripped length, by name: to the ground, or to a block."""
    support = support_of(setup)
    return next(iter([*support.springs.items(), *support.joints.items()]), None)


def _lengths(setup: Setup, pieces: Sequence[Piece], wound: Sequence[Piece]) -> Iterator[Length]:
    """Yield the lengths of one make."""
    material = {name: elastic(one) for name, one in setup.materials.items()}
    bed = _bed_of(setup)
    every = [*pieces, *wound]
    ends = {p.start for p in every} | {p.stop for p in every} | {0.0}
    tip = pieces[-1].stop
    if setup.absorber is not None:
        # Where a force acts strain jumps, as it may from cell to cell; a station that is near serves.
        place = setup.absorber.position_mm * MM
        if min(abs(place - x) for x in ends) > _NEAR * tip:
            ends.add(place)
    # Sums in millimetres may miss the tip by a rounding.
    stations = [x for x in sorted(ends) if x == tip or abs(x - tip) > 1e-9 * tip]
    for start, stop in pairwise(stations):
        middle = (start + stop) / 2
        region = "grip" if middle < 0 else "bar"
        rings = [
            Ring(_radius(p), p.outline.radius, material[owner_of(name)], name)
            for name, many in ((region, pieces), ("wrap", wound))
            for p in many
            if p.start < middle < p.stop
        ]
        yield Length(start, stop, rings, bed if middle < 0 else None)


def _radius(piece: Piece) -> float:
    """Return the radius of a piece's bore [m], 0 without one."""
    return 0.0 if piece.bore is None else piece.bore.radius


def _numbers(solution: Solution) -> MeshNumbers:
    return MeshNumbers(solution.frequency_hz, solution.labels, solution.compliance)
