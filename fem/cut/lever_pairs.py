"""What is left where no single change makes a cut quiet: a bar of carbide, and two changes at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from stickout.fem.cut.lever import BOTH, NEW_BAR, TIME, CutLever, Judged
from stickout.fem.cut.speed_verdict import QUIET_FROM
from stickout.fem.force.case import CutCase, case_of
from stickout.fem.setup.changes import with_material, with_overhang
from stickout.fem.setup.checks import setup_faults
from stickout.fem.setup.material_table import MATERIALS

CARBIDE: Final = "cemented carbide"
# A bar as stiff as this is no steel one any more [Pa].
_STIFF: Final = 3e11
# A pair that is not quiet is told where it gains this much over the best change alone.
_MORE: Final = 0.1
_SOLD: Final = ("round", "tube", "flatted")
# Changes of the cut that go with less overhang, as a turner would try them; each asks for no new tool model.
_WITH_LESS: Final = ("nose_radius", "depth")


def new_bar(judged: Judged) -> Iterator[CutLever]:
    """Yield the lever of a carbide bar, for a plain boring bar of steel: the seat gives as before.

    Source
    ------
    Rerun on a coarse mesh (computed here); what bars are sold in carbide: common practice, no source.
    """
    setup = judged.setup
    plain = (
        setup.absorber is None and setup.wrap is None and setup.bar.section in ("round", "tube", "flatted")
    )
    soft = setup.bar_material.youngs_modulus.likely < _STIFF
    if judged.case.cut.operation != "boring" or not (plain and soft):
        return
    new = with_material(setup, "bar", material=MATERIALS[CARBIDE])
    if next(setup_faults(new), None) is None:
        after = judged.outcome(judged.case, judged.other_tool(new), fix=judged.mesh_error)
        yield CutLever("material", CARBIDE, judged.before, after, NEW_BAR)


def pairs(judged: Judged, singles: Sequence[CutLever]) -> Iterator[CutLever]:
    """Yield less overhang together with a change of the cut, where at this speed no change alone will do.

    Parameters
    ----------
    judged
        What is changed.
    singles
        The changes tried one at a time.

    Returns
    -------
    iterator of CutLever
        The first pair that makes it quiet, in a turner's order; where none does, the pair that helps
        most, if it helps much more than one change.

    Source
    ------
    Each is rerun (computed here); the order is common practice.
    """
    if judged.before.p_quiet >= QUIET_FROM or any(one.quiet and one.price != TIME for one in singles):
        return
    shorter = [one for one in singles if one.key == "overhang" and one.factor > 1.0]
    beside = [one for key in _WITH_LESS for one in singles if one.key == key and one.factor > 1.0]
    tried: list[CutLever] = []
    for less in shorter:
        new = with_overhang(judged.setup, float(less.change))
        if new is None:
            continue
        model = judged.other_tool(new)
        for other in beside:
            after = judged.outcome(_changed(judged.case, other), model, fix=judged.mesh_error)
            keys = f"{less.key} and {other.key}"
            tried.append(CutLever("pair", keys, judged.before, after, BOTH, parts=(less, other)))
            if tried[-1].quiet:
                yield tried[-1]
                return
    best = max(tried, key=lambda one: one.after.p_quiet, default=None)
    if best is not None and best.after.p_quiet >= _MORE + max(one.after.p_quiet for one in singles):
        yield best


def _changed(case: CutCase, lever: CutLever) -> CutCase:
    """Return the cut with one change of its own."""
    size = float(lever.change)
    if lever.key == "nose_radius":
        return case_of(replace(case.cut, nose_radius_mm=size))
    return case_of(replace(case.cut, depth_mm=size))
