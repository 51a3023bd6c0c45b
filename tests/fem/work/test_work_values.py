"""Section B of the check values: beams and solids at slices, loops of tool and work, mirrors, rings."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from beam_references import Spindle, nose_compliance, without_shear
from chatter_references import modes_only
from values import assert_close, check_value

from stickout.fem.beam.sections import round_section
from stickout.fem.beam.spans import make_span
from stickout.fem.beam.stepped import PointSpring, SprungChain, sprung_chain
from stickout.fem.beam.thin_wall import free_ring_notes
from stickout.fem.beam.work import step_length, work_model, work_spans
from stickout.fem.beam.work_holding import JAWS
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.receptance import relative_model
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.setup.grips import RigidGrip
from stickout.fem.setup.material_table import STEEL
from stickout.fem.setup.parts import Cut, Setup
from stickout.fem.setup.work_parts import Work, WorkStep
from stickout.fem.solid.modes import solve_modes
from stickout.fem.study.study import levels_of
from stickout.fem.work.solid import as_bar, held_rings, held_solid, ring_waves, solid_work
from stickout.fem.work.turning import pushed_ratio, turning_pair
from stickout.meshes.parts import Bar
from stickout.meshes.pieces import Fineness

INF = math.inf
ROOT = PointSpring(0.0, INF, INF)
W1 = Work(20, 150, "chuck", 75)
CASES: dict[str, tuple[Work, list[PointSpring]]] = {
    "W1": (W1, [ROOT]),
    "W2": (replace(W1, diameter_mm=25, steps=(WorkStep(60, 16),)), [ROOT]),
    "W3": (W1, [ROOT, PointSpring(0.148, 15e6)]),
    "W4": (W1, [PointSpring(0.0, 0.0), PointSpring(0.002, 60e6), PointSpring(0.148, 15e6)]),
    "W5": (replace(W1, length_mm=300), [ROOT, PointSpring(0.2, 30e6)]),
}
GAUSS = np.polynomial.legendre.leggauss(4)
SOLID_K = {
    "W1": (75.0, 112.5),
    "W2": (30.0, 105.0, 148.0),
    "W3": (50.0, 88.0, 100.0, 125.0),
    "W4": (2.0, 50.0, 100.0, 148.0),
    "W5": (150.0, 250.0, 298.0),
}
BEAMS = (
    *("B.W1.Timoshenko.k.75.0", "B.W1.Timoshenko.k.148.0", "B.W2.Timoshenko.k.148.0"),
    *("B.W3.Timoshenko.k.88.0", "B.W3.Timoshenko.k.125.0", "B.W4.Timoshenko.k.50.0"),
    *("B.W4.Timoshenko.k.100.0", "B.W4.Timoshenko.k.148.0", "B.W5.Timoshenko.k.100.0"),
    *("B.W5.Timoshenko.k.150.0", "B.W5.Timoshenko.k.200.0"),
    *("B.W1.EB.k.37.5", "B.W1.EB.k.75.0", "B.W1.EB.k.112.5", "B.W2.EB.k.30.0", "B.W2.EB.k.105.0"),
    *("B.W2.EB.k.148.0", "B.W3.EB.k.50.0", "B.W3.EB.k.88.0", "B.W3.EB.k.148.0", "B.W4.EB.k.2.0"),
    *("B.W4.EB.k.75.0", "B.W4.EB.k.100.0", "B.W5.EB.k.100.0", "B.W5.EB.k.150.0", "B.W5.EB.k.200.0"),
    *("B.W5.EB.k.250.0", "B.W5.EB.k.298.0"),
)
NOTES = (
    *("B.W2.Timoshenko.f1", "B.W5.Timoshenko.f1", "B.W1.EB.f1", "B.W2.EB.f1", "B.W3.EB.f1"),
    *("B.W4.EB.f1", "B.W5.EB.f1"),
)


def beam(record_id: str, stations: list[float]) -> SprungChain:
    """Return the beam of a record: thin or shear-flexible, its steps not softened."""
    _, case, theory = record_id.split(".")[:3]
    work, springs = CASES[case]
    spans = work_spans(work, STEEL, softened_steps=False)
    spans = [without_shear(one) for one in spans] if theory == "EB" else spans
    if case != "W5":
        return sprung_chain(spans, springs, stations=stations)
    under = [0.2 + 0.002 * x for x in GAUSS[0]]
    chain = sprung_chain(spans, [ROOT], stations=[*stations, *under])
    mean = np.zeros(len(chain.stiffness))  # the record's steady feels the mean motion of its slice
    for place, weight in zip(under, GAUSS[1], strict=True):
        mean[2 * int(np.argmin(abs(chain.places - place)))] = weight / 2
    return replace(chain, stiffness=chain.stiffness + 30e6 * np.outer(mean, mean))


def slice_stiffness(chain: SprungChain, middle: float) -> float:
    """Return force over mean deflection of a slice of 4 mm whose load is spread evenly [N/m]."""
    points, weights = GAUSS
    at = [int(np.argmin(abs(chain.places - (middle + 0.002 * one)))) for one in points]
    return float(4.0 / (weights @ chain.compliance[np.ix_(at, at)] @ weights))


@pytest.mark.parametrize("record_id", BEAMS)
def test_beams_at_a_slice(record_id: str) -> None:
    """Other beam elements: load spread over a slice and the slice's mean motion, N/um."""
    middle = float(record_id.partition(".k.")[2]) * 1e-3
    points = GAUSS[0]
    chain = beam(record_id, [middle + 0.002 * one for one in points])
    assert_close(record_id, 1e-6 * slice_stiffness(chain, middle))


@pytest.mark.parametrize("record_id", NOTES)
def test_first_notes_of_beams(record_id: str) -> None:
    """Other beam elements, Hz."""
    assert_close(record_id, beam(record_id, []).modes(1)[0][0] / (2 * np.pi))


@pytest.mark.parametrize("case", sorted(SOLID_K))
def test_solids_at_a_slice(case: str) -> None:
    """NGSolve: stiffness at slices and the first note of solids on springs.

    The corner of a step (W2) is singular and the record's mesh stopped short of it: the program's first mesh
    has its values, a finer one is softer by up to 0.7 %.
    """
    work, springs = CASES[case]
    stations = np.array(SOLID_K[case]) * 1e-3
    first = levels_of(as_bar(work, STEEL)).fineness[0]
    fineness = first if case == "W2" else None
    found = solid_work(work, STEEL, springs=springs, stations=stations, fineness=fineness)
    for place, give in zip(SOLID_K[case], found.compliance, strict=True):
        assert_close(f"B.{case}.solid.k.{place:g}", 1e-6 / give)
    if case in ("W1", "W2", "W5"):
        assert_close(f"B.{case}.solid.f1", found.frequency_hz[0])


@pytest.mark.parametrize("wide", [25.0, 32.0, 48.0])
def test_stepped_solids(wide: float) -> None:
    """NGSolve: first note of a step from D to 16 mm, 40 + 60 mm, root held, Hz; extra length of the beam."""
    work = Work(wide, 100, "chuck", 90, steps=(WorkStep(40, 16),))
    first = levels_of(as_bar(work, STEEL)).fineness[0]
    found = solid_work(work, STEEL, springs=[ROOT], stations=np.array([0.09]), fineness=first)
    assert_close(f"B.step.{wide:.0f}.f1", found.frequency_hz[0])


def test_extra_length_of_a_step() -> None:
    """NGSolve against beams: how much sooner the thin part begins, in its diameters."""
    for wide in (20.0, 48.0):
        assert_close(f"B.step.{wide:.0f}", step_length(wide * 1e-3, 0.016, room=1.0) / 0.016)


def test_shares_of_a_spindle() -> None:
    """Closed form, checked by beam elements: the work's own bending in what gives at 15, 30, 60 mm."""
    bending = 210e9 * np.pi / 64 * (0.035**4 - 0.021**4)
    spindle = Spindle(0.16, 0.06, 80e6, 50e6, bending)
    for a in (0.015, 0.03, 0.06):
        own = a**3 / (3 * 210e9 * np.pi / 64 * 0.02**4)
        total = nose_compliance(spindle, a) + 1 / 60e6 + a**2 / 3e4 + own
        assert_close(f"B.spindle.{1e3 * a:.1f}.share_work", own / total)


def modal(chain: SprungChain, at: float, zeta: float) -> ModalModel:
    """Return the model of a place of a chain: four modes, alike in x and z, and all of its compliance."""
    omega, shapes = chain.modes(4)
    node = int(np.argmin(abs(chain.places - at)))
    phi, static = np.zeros((8, 3)), np.zeros((3, 3))
    for number, axis in enumerate((0, 2)):
        phi[number::2, axis] = shapes[:, node]
        static[axis, axis] = chain.compliance[node, node]
    return ModalModel(
        omega=np.repeat(omega, 2), phi=phi, eta=np.full(8, 2 * zeta), static=static, viscous=True
    )


def loop_tool() -> ModalModel:
    """Return the tool of B.loop: 16 x 80 on 2e4 N m/rad and 50 N/um, a thin beam."""
    section = round_section(0.016, poisson_ratio=0.3)
    span = make_span(0.08, section, youngs_modulus=210e9, poisson_ratio=0.3, density=7850.0)
    return modal(sprung_chain([without_shear(span)], [PointSpring(0.0, 50e6, 2e4)]), 0.08, 0.02)


def loop_work(at: float, *, centre: bool) -> ModalModel:
    """Return the work of B.loop cut at a place, with or without its centre of 15 N/um."""
    springs = [PointSpring(0.0, 60e6, 3e4), *([PointSpring(0.15, 15e6)] if centre else [])]
    spans = [without_shear(one) for one in work_spans(W1, STEEL)]
    return modal(sprung_chain(spans, springs, stations=[at]), at, 0.01)


def limit_of(model: ModalModel) -> tuple[float, float]:
    """Return the limiting width [mm] of 2000 N/mm^2 at cos beta 0.4 to the normal x, and the pitch [Hz]."""
    n, e = np.eye(3)[0], np.array([0.4, 0.0, math.sqrt(1 - 0.4**2)])
    limit = absolute_limit(model, 2e9 * np.outer(e, n))
    return 1e3 * float(limit.margin), float(limit.chatter_hz)


@pytest.mark.parametrize(
    ("at", "centre", "ids"),
    [
        (0.15, False, ("B.loop.work_chuck_a150", "B.loop.work_chuck_a150.fc")),
        (0.10, False, (None, "B.loop.work_chuck_a100.fc")),
        (0.05, False, ("B.loop.work_chuck_a50", None)),
        (0.09, True, ("B.loop.work_chuck+centre15_a90", "B.loop.work_chuck+centre15_a90.fc")),
        (0.15, True, ("B.loop.work_chuck+centre15_a150", "B.loop.work_chuck+centre15_a150.fc")),
    ],
)
def test_tool_and_work_in_one_loop(at: float, centre: bool, ids: tuple[str | None, str | None]) -> None:
    """One minimum of the sum, mm and Hz; never the sum of two minima, which is wrong by up to 37 %."""
    tool, work = loop_tool(), loop_work(at, centre=centre)
    found = limit_of(relative_model(tool, work))
    for record_id, value in zip(ids, found, strict=True):
        if record_id is not None:
            assert_close(record_id, value)
    alone = [limit_of(one)[0] for one in (tool, work)]
    added = 1 / sum(1 / one for one in alone)
    assert added < 0.95 * found[0]
    assert found[0] == pytest.approx(min(alone), rel=0.06)


def test_the_tool_of_the_loop_alone() -> None:
    """B.loop: limiting width of the tool, mm."""
    assert_close("B.loop.tool_alone", limit_of(loop_tool())[0])


@pytest.mark.parametrize("angle", [0.0, 15.0, 35.0, 60.0, 90.0])
def test_mirror_and_rotation(angle: float) -> None:
    """A weak axis off the normal: mirroring t moves the limit, turning n and e together does not."""
    a = math.radians(angle)
    axes = np.array([[math.cos(a), 0.0, math.sin(a)], [-math.sin(a), 0.0, math.cos(a)]])
    omega = 2 * np.pi * np.array([150.0, 240.0])
    phi = axes * (omega / np.sqrt([8e6, 20e6]))[:, None]
    model = modes_only(omega, phi, eta=np.full(2, 0.06), viscous=True)
    beta = math.radians(70)

    def width(n: tuple[float, float], t: tuple[float, float]) -> float:
        normal, tangent = (np.array([one[0], 0.0, one[1]]) for one in (n, t))
        e = math.cos(beta) * normal + math.sin(beta) * tangent
        return 1e3 * float(absolute_limit(model, 2e9 * np.outer(e, normal)).margin)

    front, down, turned = width((1, 0), (0, 1)), width((1, 0), (0, -1)), width((-1, 0), (0, -1))
    assert_close(f"B.mirror.{angle:.0f}", [front, down, turned])
    assert turned == pytest.approx(front, rel=1e-9)
    assert (down == pytest.approx(front, rel=1e-6)) == (angle in (0.0, 90.0))


def test_a_ring_of_three_waves() -> None:
    """NGSolve: a tube 60 x 80, wall 2, one end held: its note of three waves, Hz."""
    work = Work(60, 80, "chuck", 40, bore_mm=56)
    model = held_solid(work, STEEL, fineness=Fineness(20, 1, 0.033, 0.2, 0.05))
    modes = solve_modes(model, 6)
    waves = [ring_waves(model, shape) for shape in modes.shapes]
    assert_close("B.tube.n3", float(modes.frequency_hz[waves.index(3)]))
    rings = {one.waves: one for one in held_rings(work, STEEL)}
    assert rings[3].note_hz == pytest.approx(check_value("B.tube.n3").value, rel=rings[3].error)
    free = free_ring_notes(work, youngs_modulus=210e9, density=7850.0)
    assert_close("g.ring.f2", free[0])
    assert free[0] < rings[2].note_hz < rings[3].note_hz


def test_small_things_of_turning() -> None:
    """Closed forms: the pair of a turning shaft, a push of 500 N."""
    shaft = Work(20, 150, "between centres", 75)
    assert_close("B.gyro.D20_L150_1000rpm", list(turning_pair(shaft, STEEL, speed_rpm=1000.0)))
    assert_close("B.axial", pushed_ratio(Work(6, 200, "between centres", 90), STEEL, push=500.0))


def test_equal_jaws_hold_alike_every_way() -> None:
    """Three, four or six equal jaws have no soft way, nor has the part."""
    for jaws, ends in ((2, "B.jaws2"), (3, None), (4, None), (6, None)):
        angle = np.arange(jaws) * 2 * np.pi / jaws
        n = np.stack([np.cos(angle), np.sin(angle)])
        stiff = np.linalg.eigvalsh(n @ n.T)
        if ends is not None:
            assert_close(ends, stiff.tolist())
        else:
            assert stiff == pytest.approx([jaws / 2] * 2)
    cut = Cut(operation="turning")
    setup = Setup(bar=Bar(overhang_mm=20, diameter_mm=12), grip=RigidGrip(), work=W1, cut=cut)
    model = work_model(replace(setup, materials={**setup.materials, "work": STEEL}), loss=0.04)
    assert model is not None
    assert model.static[0, 0] == model.static[2, 2] > 0
    assert np.all(model.static[1] == 0)


def test_assumed_jaws_are_within_what_was_measured() -> None:
    """Ito: a power chuck with steel jaws bounds a scroll chuck's jaws, fibre jaws are like small ones."""
    assert_close("B.chuck.radial.steel", JAWS.high / 1e6)
    assert_close("B.chuck.radial.frp", JAWS.likely / 1e6)


def test_springs_under_both_ends_of_a_thin_beam() -> None:
    """Transfer matrices: chuck springs and a tailstock of 15 N/um at mid-span; first note of the chuck."""
    spans = [without_shear(one) for one in work_spans(W1, STEEL)]
    chuck, tail = PointSpring(0.0, 60e6, 3e4), PointSpring(0.15, 15e6)
    chain = sprung_chain(spans, [chuck, tail], stations=[0.075])
    assert_close("g.centre.springs.k.a0.5", 1e-6 / chain.compliance_at(np.array([0.075]))[0])
    note = sprung_chain(spans, [chuck]).modes(1)[0][0] / (2 * np.pi)
    assert note == pytest.approx(check_value("g.chuck.spring.f1").value, rel=2e-5)
    assert_close("g.I", round_section(20.0, poisson_ratio=0.3).second_moment)
