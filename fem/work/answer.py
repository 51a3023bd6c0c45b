"""The answer on a part: its notes, how stiff it stands along its length, its form, and what supports buy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from stickout.fem.beam.thin_wall import is_thin
from stickout.fem.beam.work import N_MODES, work_chain, work_static
from stickout.fem.beam.work_holding import PERFECT, point_springs
from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING
from stickout.fem.setup.check_work import sections
from stickout.fem.setup.checks import setup_faults
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.work_changes import beside_cut_mm, with_centre, with_steady, without_steady
from stickout.fem.setup.work_parts import Work
from stickout.fem.study.meshes_limit import MeshNumbers, tended
from stickout.fem.study.study import levels_of
from stickout.fem.units import MM
from stickout.fem.work.solid import Ring, as_bar, can_be_meshed, held_rings, solid_work
from stickout.meshes.tagged import FloatArray

N_STATIONS: Final = 41
# A push to compare parts by, where the set-up has no cut whose force is known [N].
USUAL_PUSH: Final = 50.0
_FLAT: Final = 0.1
OUT_OF_CHUCK: Final = (3.0, 4.0)
BETWEEN_SUPPORTS: Final = (10.0, 12.0)


@dataclass(frozen=True)
class Bought:
    """One other way to hold the part: what it is, least stiffness [N/m], first note [Hz]."""

    what: str
    least: float
    note_hz: float


@dataclass(frozen=True)
class SolidCheck:
    """The part as a solid on its likely springs: stiffness where it gives most [N/m], first note [Hz].

    ``stiffness_error`` and ``note_error`` are relative, told as a tool's are.
    """

    stiffness: float
    note_hz: float
    stiffness_error: float
    note_error: float


@dataclass(frozen=True)
class WorkAnswer:
    """What a part does.

    Attributes
    ----------
    setup
        The set-up.
    frequency_hz
        Bending notes [Hz], rising, each an equal pair in the two planes across the spindle, shape (4,).
    stations
        Places from the chuck or the headstock centre [m], shape (n,).
    stiffness
        Force over deflection there, low, likely and high of the springs that hold it [N/m], shape (3, n).
    push
        The steady force out of the work that the form is told for [N].
    form
        Error of the diameter along the stations under it [m], shape (n,).
    bought
        The part held otherwise, as it is first.
    own
        Share of the part's own bending in what gives at each station; the holding gives the rest, shape (n,).
    solid
        The part as a solid; None for one of a single size all along, or bored for a part of its length.
    rings
        Notes of a thin wall with one end held all round; empty for others.
    """

    setup: Setup
    frequency_hz: FloatArray
    stations: FloatArray
    stiffness: FloatArray
    push: float
    form: FloatArray
    bought: tuple[Bought, ...]
    own: FloatArray
    solid: SolidCheck | None = None
    rings: tuple[Ring, ...] = ()

    @property
    def worst(self) -> int:
        """Return the index of the station that gives most."""
        return int(np.argmin(self.stiffness[1]))

    @property
    def form_name(self) -> str:
        """Return the form that a steady push leaves: straight, bell, barrel, or barrel to one side."""
        span = float(np.ptp(self.form))
        top = int(np.argmax(self.form))
        if span < _FLAT * float(self.form.max()):
            return "straight"
        if top == len(self.form) - 1:
            return "bell"
        if top == 0:
            return "taper"
        ends = self.form[[0, -1]]
        return "lopsided barrel" if float(np.ptp(ends)) > _FLAT * span else "barrel"


def work_answer(setup: Setup, *, push: float = USUAL_PUSH) -> WorkAnswer:
    """Return everything the program can say on a part.

    Parameters
    ----------
    setup
        A checked set-up with work.
    push
        Steady force out of the work that the form is told for [N].

    Returns
    -------
    WorkAnswer

    Raises
    ------
    InputError
        The set-up has no work.

    Source
    ------
    Shear-flexible beam on springs (computed here) [B.support, B.form].
    """
    work = setup.work
    if work is None:
        mend = "Describe the part: diameter, length, held, material, cut_at."
        raise InputError(key="work", given=MISSING, allowed="a section [work]", mend=mend)
    stations = np.linspace(0.0, work.length_mm * MM, N_STATIONS)[1:]
    material = setup.materials["work"]
    gives = [
        work_static(work, material, stations=stations, side=side)
        for side in ("low", "likely", "high", PERFECT)
    ]
    stiffness, own = 1.0 / np.array(gives[:3]), gives[3] / gives[1]
    worst = float(stations[int(np.argmin(stiffness[1]))])
    return WorkAnswer(
        setup=setup,
        frequency_hz=work_chain(work, material, stations=list(stations)).modes(N_MODES)[0] / (2 * np.pi),
        stations=stations,
        stiffness=stiffness,
        push=push,
        form=2.0 * push / stiffness[1],
        bought=tuple(_bought(setup, stations)),
        own=own,
        solid=_solid(work, material, worst) if work.steps and can_be_meshed(work) else None,
        rings=held_rings(work, material) if is_thin(work) else (),
    )


def _solid(work: Work, material: Material, worst: float) -> SolidCheck:
    """Return what the part is as a solid: what the two meshes of such a tool tend to."""
    springs, places = point_springs(work), np.array([worst])
    found = [
        solid_work(work, material, springs=springs, stations=places, fineness=one)
        for one in levels_of(as_bar(work, material)).fineness
    ]
    limit = tended(
        [MeshNumbers(one.frequency_hz[:1], ["bending"], one.compliance[0] * np.eye(3)) for one in found]
    )
    return SolidCheck(
        stiffness=float(1.0 / limit.compliance[0, 0]),
        note_hz=float(limit.frequency_hz[0]),
        stiffness_error=float(limit.compliance_error[0, 0]),
        note_error=float(limit.error[0]),
    )


def slenderness(work: Work) -> tuple[float, tuple[float, float]]:
    """Return the longest stretch without support, in mean diameters, and what shops allow it from and to.

    Parameters
    ----------
    work
        The part.

    Source
    ------
    Three or four diameters out of a chuck, ten to twelve between supports: common practice, no source.
    """
    held = [0.0, *sorted(one.at_mm for one in work.steadies)]
    pieces = sections(work)
    size = sum((stop - start) * one for start, stop, one, _ in pieces) / work.length_mm
    free = work.length_mm - held[-1]
    between = [after - before for before, after in pairwise(held)]
    if work.held != "chuck":
        return max([*between, free]) / size, BETWEEN_SUPPORTS
    # What hangs out is the first to be too long.
    if free / size / OUT_OF_CHUCK[1] >= max([*between, 0.0]) / size / BETWEEN_SUPPORTS[1]:
        return free / size, OUT_OF_CHUCK
    return max(between) / size, BETWEEN_SUPPORTS


def _bought(setup: Setup, stations: FloatArray) -> Iterator[Bought]:
    """Yield the part held as it is, then with each support it lacks."""
    for what, work in _otherwise(setup):
        if next(setup_faults(replace(setup, work=work)), None) is None:
            material = setup.materials["work"]
            chain = work_chain(work, material, stations=list(stations))
            note = float(chain.modes(1)[0][0] / (2 * np.pi))
            yield Bought(what, float(1.0 / work_static(work, material, stations=stations).max()), note)


def _otherwise(setup: Setup) -> Iterator[tuple[str, Work]]:
    """Yield the ways to hold the part that are near at hand, the present one first."""
    work = setup.work
    if work is None:
        return
    yield "as it is", work
    half = with_steady(work, 0.5 * work.length_mm)
    if work.held == "chuck":
        yield "with a centre", with_centre(work)
    yield "with a steady half-way", half
    yield "with a steady beside the cut", with_steady(work, beside_cut_mm(work))
    if work.held == "chuck":
        yield "with a centre and a steady half-way", with_centre(half)
    for gone in range(len(work.steadies)):
        yield f"without steady {gone + 1}", without_steady(work, gone)


def jaw_squeeze(load: float, *, radius: float, bending: float) -> tuple[float, float]:
    """Return how far a free ring under three equal jaw loads moves in under each and out half-way [m].

    Parameters
    ----------
    load
        Force of one jaw [N].
    radius
        Mean radius [m].
    bending
        ``E I`` of the ring's wall [N m^2].

    Source
    ------
    Roark, rings under equal radial loads (recalled, not opened) [B.ring3].
    """
    unit = load * radius**3 / bending
    return 0.0159385884 * unit, 0.0142567695 * unit
