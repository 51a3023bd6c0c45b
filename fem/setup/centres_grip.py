"""A bar held at both ends, its cutter between them: between centres, or in a chuck and on a centre."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar, Final, Self

from stickout.fem.setup.any_grip import AnyGrip
from stickout.meshes.parts import Hold

# As the part in [work] is held, by the same words; the bar turns, the part stands on the saddle.
BAR_HOLDS: Final = ("between centres", "chuck and centre")


@dataclass(frozen=True)
class CentresGrip(AnyGrip):
    """Both ends are held: the face at x = 0 in headstock or chuck, the far end on the tailstock's centre.

    The springs are what a pull found, everything behind them included. None: assumed, see
    ``stickout.fem.beam.work_holding``. ``side`` is the end of the bands of those assumed, ``factor`` what
    every spring is scaled by. Along and round the bar the headstock's end is held still.

    Examples
    --------
    >>> from stickout.fem.setup.centres_grip import CentresGrip
    >>> CentresGrip().held
    'between centres'
    """

    held: str = "between centres"
    jaw_length_mm: float | None = None
    quill_out_mm: float | None = None
    chuck_n_per_um: float | None = None
    chuck_tilt_nm_per_rad: float | None = None
    centre_n_per_um: float | None = None
    side: str = "likely"
    factor: float = 1.0
    style: ClassVar[str] = "centres"
    alike_all_round: ClassVar[bool] = True
    grown_out: ClassVar[bool] = True
    at_both_ends: ClassVar[bool] = True

    @property
    def perfect(self) -> bool:
        """Return False: chuck and centres give."""
        return False

    @property
    def held_still(self) -> Sequence[str]:
        """Return the face at the headstock, which rides on the springs there."""
        return ("root",)

    @property
    def hold(self) -> Hold:
        """Return what a mesh must know of the grip: the same as of a rigid one, springs come after."""
        return Hold("rigid")

    def scaled(self, factor: float) -> Self:
        """Return the same grip with every spring scaled by a factor."""
        return replace(self, factor=factor * self.factor)

    def at_end(self, side: str) -> Self:
        """Return the same grip with what was assumed at one end of its bands, low or high."""
        return replace(self, side=side)
