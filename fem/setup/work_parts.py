"""The part that is cut, what holds it, and what carries the tool. Frozen data only, lengths in mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from stickout.fem.setup.bands import Band

WORK_FORMS: Final = ("round", "flats", "square", "hexagon", "keyway")
WORK_HOLDS: Final = ("chuck", "chuck and centre", "between centres")


@dataclass(frozen=True)
class WorkStep:
    """From ``start_mm`` on the part has another size; None: as before it, a bore of 0 is solid."""

    start_mm: float
    diameter_mm: float | None = None
    bore_mm: float | None = None


@dataclass(frozen=True)
class Steady:
    """A fixed steady: a spring under the part, across its axis, ``at_mm`` from the chuck."""

    at_mm: float


@dataclass(frozen=True)
class Work:
    """The part that is cut; ``cut_at_mm`` is the distance from the chuck or the headstock centre.

    ``stations_mm`` are the places where it is cut, two or more, or none: a cut is judged at each, and its
    answer told where it sings first. ``form`` is one of ``WORK_FORMS``: ``across_flats_mm`` belongs to two
    flats, width and depth to a keyway; a square's and a hexagon's diameter is that across corners.
    The springs are what a pull found, everything behind them included: ``chuck_n_per_um`` is that of the
    headstock's end (also of its centre), ``centre_n_per_um`` that of tailstock and centre. None: assumed, see
    ``stickout.fem.beam.work_holding``. ``jaw_length_mm`` is what the jaws grip; it is not part of the length.
    """

    diameter_mm: float
    length_mm: float
    held: str
    cut_at_mm: float
    bore_mm: float | None = None
    steps: tuple[WorkStep, ...] = ()
    steadies: tuple[Steady, ...] = ()
    jaw_length_mm: float | None = None
    quill_out_mm: float | None = None
    chuck_n_per_um: float | None = None
    chuck_tilt_nm_per_rad: float | None = None
    centre_n_per_um: float | None = None
    steady_n_per_um: float | None = None
    stations_mm: tuple[float, ...] = ()
    form: str = "round"
    across_flats_mm: float | None = None
    keyway_width_mm: float | None = None
    keyway_depth_mm: float | None = None

    @property
    def places_mm(self) -> tuple[float, ...]:
        """Return where it is cut: one place, or several [mm]."""
        return self.stations_mm or (self.cut_at_mm,)


@dataclass(frozen=True)
class Post:
    """What carries the holder: springs along x, y, z and against tilting, and the mass that rides on them.

    All act at the middle of the gripped part, on the bar's axis; at the holder face where the gripped length
    is not known. None: assumed, see ``stickout.fem.setup.post``. ``measured`` tells in the user's words how
    the numbers were found. ``loss_factor`` is that of the springs, twice the damping ratio. The bands
    are those of a fit to pulls; they stand before the numbers given.
    """

    spring_n_per_um: tuple[float, float, float] | None = None
    tilt_nm_per_rad: float | None = None
    mass_kg: float | None = None
    loss_factor: float | None = None
    measured: str = ""
    up_band_n_per_um: Band | None = None
    sideways_band_n_per_um: Band | None = None
    tilt_band_nm_per_rad: Band | None = None
