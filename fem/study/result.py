"""What a study answers, as frozen data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from stickout.fem.beam.hand_check import HandCheck
from stickout.fem.force.loading import Loading
from stickout.fem.later import Later
from stickout.fem.setup.bands import Band
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.model import Model
from stickout.fem.solid.modes import Modes
from stickout.fem.solid.section_motion import Place, section_face
from stickout.meshes.tagged import BoolArray, FloatArray


@dataclass(frozen=True)
class Assumption:
    """A number that nobody measured on this bar: its band, unit and source."""

    name: str
    band: Band
    unit: str


@dataclass(frozen=True)
class Loss:
    """Loss factor of each mode, low, likely and high, shape (n_modes,) each."""

    low: FloatArray
    likely: FloatArray
    high: FloatArray


@dataclass(frozen=True)
class Result:
    """The answer to one set-up.

    Attributes
    ----------
    setup
        What was asked.
    drawn_on
        What gives ``model``.
    unknowns
        Unknowns of the finest solution.
    modes
        Its modes, pairs turned and signs fixed; two more than were asked for.
    n_modes
        How many were asked for.
    frequency_hz, frequency_error
        Frequencies in the limit of fine meshes [Hz] and their relative error, shape (n,).
    kinds
        Kind of each mode.
    pairs
        Indices from 0 of modes equal within the error.
    moves
        Whether a mode moves the edge at all, shape (n,).
    shares
        Share of every region, bed and joint in the strain energy of each mode, shape (n,).
    loss
        Loss factors by energy shares.
    complex_loss
        Loss factors by the complex eigenvalue problem, shape (n,); None where no part loses enough
        for the two to differ.
    compliance
        Static compliance at the edge [m/N], shape (3, 3).
    compliance_error
        Error of each of its entries over the root of the two diagonal entries' product, shape (3, 3).
    loading
        Direction of the force on the tool.
    alignment, static_share
        Share of each mode's edge motion along the force, and its share of the static spring
        along the force, shape (n,).
    aligned
        Index from 0 of the mode that carries most of the static spring along the force.
    hand
        The hand formula; None where none applies.
    accurate
        Whether the wanted accuracy was reached.
    assumptions
        Every number assumed.
    warnings
        What the user should know.
    shortfall
        That one of them which says by how much the wanted accuracy was missed; empty where it was reached.
    place
        The absorber's place on the bar; None without one. Nothing else here counts the absorber.
    """

    setup: Setup
    drawn_on: Model | Later[Model]
    unknowns: int
    modes: Modes
    n_modes: int
    frequency_hz: FloatArray
    frequency_error: FloatArray
    kinds: Sequence[str]
    pairs: Sequence[tuple[int, int]]
    moves: BoolArray
    shares: Mapping[str, FloatArray]
    loss: Loss
    complex_loss: FloatArray | None
    compliance: FloatArray
    compliance_error: FloatArray
    loading: Loading
    alignment: FloatArray
    static_share: FloatArray
    aligned: int
    hand: HandCheck | None
    accurate: bool
    assumptions: Sequence[Assumption] = field(default=())
    warnings: Sequence[str] = field(default=())
    shortfall: str = ""
    place: Place | None = None

    @property
    def model(self) -> Model:
        """Return the finest mesh solved, with its matrices.

        A body of revolution needs none: its modes are drawn on one that is made when it is first asked for.
        """
        return self.drawn_on.value if isinstance(self.drawn_on, Later) else self.drawn_on

    def section_motion(self, x: float) -> FloatArray:
        """Return the mean motion of the bar's section so far from the holder face [m], shape (n_modes, 3)."""
        if self.modes.section is not None:
            return self.modes.section(x)
        return section_face(self.model.mesh, x).motion(self.modes.shapes.transpose(1, 2, 0)).T

    @property
    def omega(self) -> FloatArray:
        """Return the natural frequencies in the limit [rad/s]."""
        omega: FloatArray = 6.283185307179586 * self.frequency_hz
        return omega

    @property
    def modal_mass(self) -> FloatArray:
        """Return the modal mass [kg] referred to motion at the edge, infinite where it stands still."""
        size = (self.modes.edge**2).sum(axis=1)
        mass: FloatArray = 1 / size.clip(min=1e-300)
        mass[~self.moves] = float("inf")
        return mass

    @property
    def modal_stiffness(self) -> FloatArray:
        """Return the modal stiffness [N/m] referred to motion at the edge."""
        return self.modal_mass * self.omega**2

    @property
    def compliance_along(self) -> float:
        """Return the static deflection along the force per force [m/N]."""
        return float(self.loading.direction @ self.compliance @ self.loading.direction)


def hand_mode(result: Result) -> int:
    """Return the index of the mode the hand formula speaks of: the first bending mode, else the first."""
    kinds = list(result.kinds)
    return kinds.index("bending") if "bending" in kinds else 0
