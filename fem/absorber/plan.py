"""Absorbers for a bar, ranked: each tuned on the bar's own receptance, the best one solved on fine meshes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.absorber.shapes import AbsorberJob, Slug, bored, slugs
from stickout.fem.absorber.tuning import Tuned, best_absorber
from stickout.fem.beam.work import work_model
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.stability import absolute_limit, limiting_mode
from stickout.fem.cut.judged import JudgedCut, judged_result
from stickout.fem.cut.models import coarse_model, joined, tool_modes, trimmed
from stickout.fem.force.case import described_case
from stickout.fem.force.loading import loading
from stickout.fem.setup.parts import Absorber, Setup
from stickout.fem.study.clamped_loss import CLAMPED, clamped_loss
from stickout.fem.study.result import Result
from stickout.fem.study.study import run_study
from stickout.meshes.tagged import FloatArray

SHOWN: Final = 6


@dataclass(frozen=True)
class AbsorberPlan:
    """Absorbers for a bar, the best first.

    Attributes
    ----------
    job
        What was asked.
    base
        The bar as it is, solved on fine meshes.
    best
        The best absorber, on fine meshes.
    result
        The bar bored for it, solved.
    others
        The next best, from coarse meshes: for the ranking only.
    matrix
        Dynamic stiffness of the cut [N/m], or a push along the force where no cut is described, (3, 3).
    before, after
        What the command ``cut`` says of the bar as it is, and with the best absorber; None where no cut is
        described.
    """

    job: AbsorberJob
    base: Result
    best: Tuned
    result: Result
    others: Sequence[Tuned]
    matrix: FloatArray
    before: JudgedCut | None
    after: JudgedCut | None

    @property
    def model(self) -> ModalModel:
        """Return the modal model of the bar with the best absorber, and of the work."""
        return model_of(self.result)

    @property
    def bare(self) -> ModalModel:
        """Return the modal model of the bar as it is, and of the work."""
        return model_of(self.base)


def absorber_plan(job: AbsorberJob, *, progress: Callable[[str], None] | None = None) -> AbsorberPlan:
    """Return the absorbers for a bar, ranked by how far they let the cut grow.

    Parameters
    ----------
    job
        The bar and what may be put in it or on it.
    progress
        Called with a few words before each solve.

    Returns
    -------
    AbsorberPlan
        The best on fine meshes, the next from coarse ones.

    Raises
    ------
    InputError
        The job is at fault, or nothing fits.
    SolveError
        A computation failed.

    Source
    ------
    Numeric optimum on the exact receptance (computed here).
    """
    tell = progress or (lambda _: None)
    bare = replace(job.setup, absorber=None)
    case = described_case(bare)
    matrix = _push(bare) if case is None else case.stiffness
    trials = slugs(job)
    tell("Solving the bar as it is")
    base = run_study(bare)
    before = _margin(_with_work(bare, coarse_model(bare)), matrix)
    found: list[Tuned] = []
    for alike in _by_geometry(trials):
        tell(f"Solving a {alike[0].kind} of {alike[0].length_mm:.0f} mm")
        found += _tuned(bare, alike, matrix=matrix, before=before)
    found.sort(key=lambda one: -one.gain)
    tell("Solving the best")
    result = run_study(found[0].setup)
    model, reference = model_of(result), _margin(model_of(base), matrix)
    best = _tune(model, matrix, first=found[0], before=reference)
    result = replace(result, setup=best.setup)
    best = replace(best, note_hz=_limiting_note(result, matrix), compliance_along=result.compliance_along)
    # The coarse meshes' ratios, carried by what the fine ones say of the best.
    scale = best.gain / found[0].gain
    others = [replace(one, gain=scale * one.gain) for one in found[1:SHOWN]]
    before_it, after_it = (None if case is None else judged_result(one) for one in (base, result))
    return AbsorberPlan(job, base, best, result, others, matrix, before_it, after_it)


def model_of(result: Result) -> ModalModel:
    """Return the modal model of a result's tool with its absorber, and of the work beside it."""
    tool = tool_modes(result, clamped_loss(result)).model
    return _with_work(result.setup, tool)


def _with_work(setup: Setup, model: ModalModel) -> ModalModel:
    """Return a tool's model with the work beside it."""
    return joined(model, work_model(setup, loss=CLAMPED.likely))


def _push(setup: Setup) -> FloatArray:
    """Return a cut of one N/m that pushes and feels along the force."""
    push = loading(setup.cut).direction
    return np.outer(push, push)


def _margin(model: ModalModel, matrix: FloatArray) -> float:
    """Return the margin of one model."""
    return float(absolute_limit(model, matrix).margin)


def _by_geometry(trials: Sequence[Slug]) -> list[list[Slug]]:
    """Return slugs that differ in material alone together: one solve serves them."""
    groups: dict[tuple[float, ...], list[Slug]] = {}
    for one in trials:
        key = (one.bore_mm, one.outside_mm, one.length_mm, one.position_mm)
        groups.setdefault(key, []).append(one)
    return list(groups.values())


def _tuned(setup: Setup, alike: Sequence[Slug], *, matrix: FloatArray, before: float) -> list[Tuned]:
    """Return the slugs of one geometry, each tuned on a coarse mesh."""
    first, bar = alike[0], bored(setup, alike[0])
    hung = Absorber(first.mass_g, 1000.0, 0.2, first.position_mm)
    tool = coarse_model(replace(bar, absorber=hung))
    limit = absolute_limit(replace(tool, attached=None), matrix)
    few = _with_work(bar, trimmed(tool, limit))
    mode = int(limiting_mode(replace(tool, attached=None), limit, matrix=matrix))
    force = loading(setup.cut).direction
    spring = float(force @ tool.static @ force)
    out = []
    for slug in alike:
        guess = Tuned(
            slug=slug,
            bar=bar,
            absorber=replace(hung, mass_g=slug.mass_g),
            mu=slug.mass_g * 1e-3 * _moved(tool, mode),
            gain=0.0,
            note_hz=float(tool.omega[mode]) / (2 * np.pi),
            compliance_along=spring,
        )
        out.append(_tune(_heavier(few, slug.mass_g), matrix, first=guess, before=before))
    return out


def _moved(model: ModalModel, mode: int) -> float:
    """Return the squared motion of the absorber's place in a mode [1/kg]."""
    phi = model.attached.phi[mode] if model.attached is not None else np.zeros(1)
    return float(phi @ phi)


def _heavier(model: ModalModel, mass_g: float) -> ModalModel:
    """Return a model with another mass on the same place."""
    hung = model.attached
    return model if hung is None else replace(model, attached=replace(hung, mass=np.asarray(mass_g * 1e-3)))


def _tune(model: ModalModel, matrix: FloatArray, *, first: Tuned, before: float) -> Tuned:
    """Return an absorber tuned on a model."""
    found = best_absorber(model, matrix, note_hz=first.note_hz)
    tuned = replace(first.absorber, frequency_hz=found.frequency_hz, damping_ratio=found.zeta)
    return replace(first, absorber=tuned, gain=found.margin / before)


def _limiting_note(result: Result, matrix: FloatArray) -> float:
    """Return the note of the bar's mode that would limit without the absorber [Hz]."""
    tool = tool_modes(result, clamped_loss(result))
    bare = replace(tool.model, attached=None)
    mode = int(limiting_mode(bare, absolute_limit(bare, matrix), matrix=matrix))
    return float(result.frequency_hz[tool.numbers[mode]])


def effective_mass_ratio(result: Result, *, mass_g: float, x: float) -> float:
    """Return the mass ratio of an absorber at a distance from the holder face [m], in the aligned mode.

    ``mu = m |phi(x)|^2`` with the mass-normalised FE shape across the bar; of an equal pair either serves.

    Source
    ------
    By the modal mass at its place, not by the bar's mass: Den Hartog's mass ratio (recalled, not opened).
    """
    phi = result.section_motion(x)[result.aligned, 1:]
    return mass_g * 1e-3 * float(phi @ phi)
