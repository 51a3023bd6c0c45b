"""Absorbers for a bar, ranked: each tuned on the bar's own receptance, the best one solved on fine meshes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from fem.clamped_loss import CLAMPED, clamped_loss
from fem.cut.modal import ModalModel
from fem.cut.stability import absolute_limit, limiting_mode
from fem.cutting_absorber import off_tune
from fem.cutting_case import cut_case
from fem.cutting_model import coarse_model, joined, tool_modes, trimmed
from fem.design.absorber_shapes import AbsorberJob, Slug, bored, slugs
from fem.design.case_cut import has_cut
from fem.loading import loading
from fem.place import section_face
from fem.result import Result
from fem.setup import Absorber, Setup
from fem.study import run_study
from fem.work import work_model
from meshes.tagged import FloatArray

# Damping ratios that soft rings reach: a loss factor of 0.05 to 0.6.
ZETAS: Final = (0.025, 0.3)
_COARSE: Final = (25, 8)
_FINE: Final = (11, 7)
_SPAN: Final = (0.5, 1.4)
SHOWN: Final = 6


@dataclass(frozen=True)
class Tuned:
    """An absorber tuned to a bar.

    Attributes
    ----------
    slug
        Slug or ring.
    bar
        The bar bored for it, without it.
    absorber
        The absorber as a set-up holds it.
    mu
        Its mass over the modal mass at its place, in the mode that limits [-].
    gain
        How many times larger the cut may grow than with the bar as it was [-].
    note_hz
        That mode's note of the bar without it [Hz].
    spring
        Deflection along the force per force of the bar bored for it [m/N].
    """

    slug: Slug
    bar: Setup
    absorber: Absorber
    mu: float
    gain: float
    note_hz: float
    spring: float

    @property
    def setup(self) -> Setup:
        """Return the bar with the absorber."""
        return replace(self.bar, absorber=self.absorber)

    @property
    def stiffness(self) -> float:
        """Return the spring of the rings together [N/m]."""
        return self.absorber.mass_g * 1e-3 * (2 * np.pi * self.absorber.frequency_hz) ** 2

    @property
    def dashpot(self) -> float:
        """Return the dashpot of the rings together [N s/m]."""
        one = self.absorber
        return 2 * one.damping_ratio * one.mass_g * 1e-3 * 2 * np.pi * one.frequency_hz


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
    described
        Whether the matrix is that of a described cut.
    """

    job: AbsorberJob
    base: Result
    best: Tuned
    result: Result
    others: Sequence[Tuned]
    matrix: FloatArray
    described: bool

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
    Numeric optimum on the exact receptance; physics page, section f (opened).
    """
    tell = progress or (lambda _: None)
    bare = replace(job.setup, absorber=None)
    described = has_cut(bare)
    matrix = cut_case(bare).stiffness if described else _push(bare)
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
    best = replace(best, note_hz=_limiting_note(result, matrix), spring=result.spring)
    return AbsorberPlan(job, base, best, result, found[1:SHOWN], matrix, described)


def model_of(result: Result) -> ModalModel:
    """Return the modal model of a result's tool with its absorber, and of the work beside it."""
    tool = tool_modes(result, clamped_loss(result)).model
    return joined(tool, work_model(result.setup, loss=CLAMPED.likely))


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
            spring=spring,
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
    """Return an absorber at the frequency and damping with the greatest margin on a model.

    A grid over both, then a finer one round its best: a minimax has corners that a slope would miss.
    """
    guess, held = first.absorber, model.attached
    omega, zeta = (1.0, 1.0) if held is None else (float(held.omega), float(held.zeta))
    notes = first.note_hz * np.geomspace(*_SPAN, _COARSE[0])
    zetas = np.geomspace(*ZETAS, _COARSE[1])
    best, margin = (float(notes[0]), float(zetas[0])), 0.0
    for _ in range(2):
        f, z = (one.ravel() for one in np.meshgrid(notes, zetas))
        batch = off_tune(model, tuning=2 * np.pi * f / omega, damping=z / zeta)
        margins = absolute_limit(batch, matrix).margin
        at = int(np.argmax(margins))
        best, margin = (float(f[at]), float(z[at])), float(margins[at])
        notes = best[0] * np.geomspace(0.965, 1.035, _FINE[0])
        zetas = np.clip(best[1] * np.geomspace(0.8, 1.25, _FINE[1]), *ZETAS)
    tuned = replace(guess, frequency_hz=best[0], damping_ratio=best[1])
    return replace(first, absorber=tuned, gain=margin / before)


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
    physics page, section f: by the modal mass at its place, not by the bar's mass (opened).
    """
    face = section_face(result.model.mesh, x)
    phi = face.motion(result.modes.shapes[[result.aligned]].transpose(1, 2, 0))[1:, 0]
    return mass_g * 1e-3 * float(phi @ phi)
