"""How tool, post and part move together where the cut sings: one force, one clock, amplitude and phase."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Protocol

import numpy as np
from numpy.typing import NDArray

from stickout.fem.beam.work import N_MODES, SPINDLE_AXIS, work_chain
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.receptance import receptance
from stickout.fem.force.case import CutCase
from stickout.fem.setup.parts import Setup
from stickout.fem.study.result import Result
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray, TaggedMesh

if TYPE_CHECKING:
    from stickout.fem.cut.answer import CutAnswer  # its import takes longer than all of this

ComplexArray = NDArray[np.complex128]
_SAME: Final = 1e-6


@dataclass(frozen=True)
class Operating:
    """The motion at the pitch of the chatter, complex amplitudes in the bar frame.

    All are per opening of one between edge and part: ``motion * exp(i w t)``, the opening real and greatest
    at t = 0.

    Attributes
    ----------
    frequency_hz
        The pitch at the worst speed.
    tool_x, tool
        Sections of bar and grip from the holder's back on [m], (n,), and how they move, (n, 3).
    part_at, part
        Places of the part from the headstock [m], (m,), and how they move, (m, 3); empty without a part.
    edge, at_cut
        How edge and part move at the cut, (3,) each.
    swing
        How far each mode of the tool that moves its edge swings, (k,).
    """

    frequency_hz: float
    tool_x: FloatArray
    tool: ComplexArray
    part_at: FloatArray
    part: ComplexArray
    edge: ComplexArray
    at_cut: ComplexArray
    swing: ComplexArray

    @property
    def amplitudes(self) -> tuple[float, float]:
        """Return how far edge and part move, over the opening between them [-]."""
        return float(np.linalg.norm(self.edge)), float(np.linalg.norm(self.at_cut))

    @property
    def lag_deg(self) -> float:
        """Return by how much the part is behind a motion opposite to the edge's [deg], -180 to 180."""
        together = np.vdot(-self.at_cut, self.edge)
        return float(np.degrees(np.angle(together)))


class Loop(Protocol):
    """What a cut is judged on: the cut, its tool, its part, and the motion between them."""

    @property
    def case(self) -> CutCase:
        """The cut."""

    @property
    def tool(self) -> ModalModel:
        """The tool."""

    @property
    def work(self) -> ModalModel | None:
        """The part."""

    @property
    def both(self) -> ModalModel:
        """The motion between them."""


def moves_together(setup: Setup) -> bool:
    """Return whether more than the bar moves where the cut sings: a post under it, or a part cut outside."""
    outside = setup.cut is not None and setup.cut.operation not in (None, "boring")
    return (setup.post is not None or setup.work is not None) and (outside or setup.work is None)


def operating_motion(answer: CutAnswer) -> Operating:
    """Return how tool, post and part move at the pitch of the worst speed; see ``motion_at``."""
    return motion_at(answer.result, answer, chatter_hz=answer.chatter_hz)


def motion_at(result: Result, loop: Loop, *, chatter_hz: float) -> Operating:
    """Return how tool, post and part move where a cut sings.

    Parameters
    ----------
    result
        The modes; its set-up cuts where it is judged.
    loop
        Cut, tool and part; an absorber is left out.
    chatter_hz
        The pitch [Hz].

    Returns
    -------
    Operating

    Source
    ------
    The force is the eigenvector of A G that feeds itself; each side answers it by its modes, that on the part
    being the opposite of that on the tool (computed here).
    """
    omega = 2 * np.pi * chatter_hz
    at = np.array([omega])
    matrix, both = loop.case.stiffness, receptance(loop.both, at)[..., 0]
    values, vectors = np.linalg.eig(matrix @ both)
    force = vectors[:, int(np.argmin(values.real))]
    opening = both @ force
    most = opening[int(np.argmax(np.abs(opening)))]
    force = force * np.conj(most) / abs(most) / np.linalg.norm(opening)
    numbers = np.flatnonzero(result.moves)
    x, means = section_means(result.model.mesh, result.modes.shapes[numbers])
    swing = _swing(loop.tool, omega, force)
    places, part = _along_part(result.setup, loop.work, omega=omega, force=force)
    still = np.zeros(3, dtype=np.complex128)
    return Operating(
        frequency_hz=chatter_hz,
        tool_x=x,
        tool=np.einsum("m,mnk->nk", swing, means),
        part_at=places,
        part=part,
        edge=receptance(loop.tool, at)[..., 0] @ force,
        at_cut=still if loop.work is None else -receptance(loop.work, at)[..., 0] @ force,
        swing=swing,
    )


def section_means(mesh: TaggedMesh, shapes: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return where the sections of a bar lie [m], (n,), and their mean motion under shapes, (m, n, 3).

    Every node of a section counts alike: near enough to draw them.
    """
    regions = [mesh.regions[name] for name in ("grip", "bar") if name in mesh.regions]
    own = np.unique(mesh.cells[np.concatenate(regions)])
    x = mesh.points[own, 0]
    places, which = np.unique(np.round(x / (_SAME * np.ptp(x))), return_inverse=True)
    count = np.bincount(which)
    means = np.zeros((len(shapes), len(places), 3))
    for axis in range(3):
        for at, shape in enumerate(shapes):
            means[at, :, axis] = np.bincount(which, shape[own, axis]) / count
    return np.bincount(which, x) / count, means


def _along_part(
    setup: Setup, model: ModalModel | None, *, omega: float, force: ComplexArray
) -> tuple[FloatArray, ComplexArray]:
    """Return places along the part [m] and how they move under the opposite of a force on the tool."""
    work, cut = setup.work, setup.cut
    if work is None or model is None or cut is None:
        return np.empty(0), np.empty((0, 3), dtype=np.complex128)
    chain = work_chain(work, setup.materials["work"], stations=[work.cut_at_mm * MM])
    _, shapes = chain.modes(N_MODES)
    swing = _swing(model, omega, -force)
    part = np.zeros((len(chain.places), 3), dtype=np.complex128)
    across = [axis for axis in range(3) if axis != SPINDLE_AXIS[cut.operation or "turning"]]
    for number, axis in enumerate(across):
        part[:, axis] = swing[number : 2 * N_MODES : 2] @ shapes
    return chain.places, part


def _swing(model: ModalModel, omega: float, force: ComplexArray) -> ComplexArray:
    """Return how far each mode of a model swings under a force at the edge, viscous damping."""
    own = model.omega
    return np.asarray((model.phi @ force) / (own**2 - omega**2 + 1j * model.eta * own * omega))
