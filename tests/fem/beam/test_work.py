"""The work piece as a beam against the closed forms of the check values, section g."""

from __future__ import annotations

import numpy as np
import pytest
from cutting_cases import CASES, answer
from values import assert_close, check_value

from stickout.fem.beam.work import SPINDLE_AXIS, beam_modes, work_beam, work_compliance, work_model
from stickout.fem.setup.parts import Work

HELD = {"chuck": "chuck", "centre": "chuck and centre", "centres": "between centres"}
STATIC = (
    *("g.chuck.k.a0.5", "g.chuck.k.a0.75", "g.centre.k.a0.25", "g.centre.k.a0.5", "g.centre.k.a0.75"),
    "g.centres.k.a0.75",
)


def beam_of(record_id: str):  # noqa: ANN201 - a beam of the record's inputs
    """Return the beam of a record and the place of its cut [m]."""
    given = check_value(record_id).inputs
    work = Work(given["D_mm"], given["L_mm"], HELD[record_id.split(".")[1]], given["L_mm"])
    place = record_id.rsplit(".a", 1)
    at = float(place[1]) * given["L_mm"] * 1e-3 if len(place) == 2 else 0.0
    return work_beam(work, youngs_modulus=given["E_GPa"] * 1e9, density=7850.0), at


@pytest.mark.parametrize("record_id", STATIC)
def test_stiffness_at_the_cut(record_id: str) -> None:
    """Beam tables: force over deflection at the cut, N/um."""
    beam, at = beam_of(record_id)
    assert_close(record_id, 1e-6 / work_compliance(beam, at))


def test_springs_under_the_ends() -> None:
    """Head and tailstock springs add by the lever rule; a chuck's two springs by superposition."""
    given = check_value("g.centres.springs.k.a0.75").inputs
    beam, at = beam_of("g.centres.springs.k.a0.75")
    soft = work_compliance(beam, at, head=given["kh"] * 1e6, tail=given["kt"] * 1e6)
    assert_close("g.centres.springs.k.a0.75", 1e-6 / soft)
    given = check_value("g.chuck.spring.k.a1").inputs
    beam, at = beam_of("g.chuck.spring.k.a1")
    soft = work_compliance(beam, at, head=given["kt"] * 1e6, swing=given["k_theta"])
    assert_close("g.chuck.spring.k.a1", 1e-6 / soft)


@pytest.mark.parametrize("record_id", ["g.chuck.f1", "g.centre.f1"])
def test_first_note(record_id: str) -> None:
    """Closed forms of thin beams, Hz."""
    beam, _ = beam_of(record_id)
    assert_close(record_id, beam_modes(beam, 0.05)[0][0] / (2 * np.pi))


@pytest.mark.parametrize("held", HELD.values())
def test_modes_add_up_to_the_static_compliance(held: str) -> None:
    """Principle: the modal sum tends to the static compliance from below, four modes reach 98 %."""
    beam = work_beam(Work(20, 150, held, 90), youngs_modulus=210e9, density=7850.0)
    omega, motion = beam_modes(beam, 0.09)
    share = float((motion**2 / omega**2).sum()) / work_compliance(beam, 0.09)
    # The next modes add less than beta_1^4 / beta_5^4 times a few: 2 %.
    assert 0.98 < share < 1.0


@pytest.mark.parametrize(("held", "still"), [("chuck and centre", 0.15), ("between centres", 0.15)])
def test_a_held_end_stands_still(held: str, still: float) -> None:
    """Principle: at a centre neither the compliance nor any mode moves."""
    beam = work_beam(Work(20, 150, held, 90), youngs_modulus=210e9, density=7850.0)
    scale = float(np.abs(beam_modes(beam, 0.08)[1]).max())
    assert work_compliance(beam, still) == 0.0
    # Rounding of cosh and sinh of the fourth root, 14.1: e^14 times 1e-16.
    assert np.abs(beam_modes(beam, still)[1]).max() < 1e-9 * scale


def test_the_work_bends_across_the_spindle() -> None:
    """Principle: along the spindle it does not give, across it alike; design page, section 1."""
    model = work_model(CASES["slender work"], loss=0.03)
    assert model is not None
    along = SPINDLE_AXIS["turning"]
    across = [axis for axis in range(3) if axis != along]
    assert not model.phi[:, along].any()
    assert model.static[along].tolist() == [0.0, 0.0, 0.0]
    assert model.static[across, across] == pytest.approx(model.static[across[0], across[0]] * np.ones(2))
    assert model.omega[0] == model.omega[1]
    assert work_model(CASES["square"], loss=0.03) is None


def test_the_softer_side_is_named() -> None:
    """A slender shaft against a stubby tool: springs in series, and the cure is a centre."""
    found = answer("slender work")
    assert found.side is not None
    tool, work = (model.static for model in (found.tool, found.work) if model is not None)
    e = found.case.on_tool / np.linalg.norm(found.case.on_tool)
    assert found.side.static_share == pytest.approx(e @ tool @ e / (e @ (tool + work) @ e))
    assert (found.side.soft_side, found.limiting) == ("work", None)
    assert found.levers[0].key == "support"
    # A centre under the very end that is cut takes all give from the work: the tool's own limit is left.
    alone = answer("square").margin
    assert found.levers[0].factor * found.margin == pytest.approx(alone, rel=1e-6)  # two searches
    assert found.margin < answer("square").margin


def test_series_springs_of_tool_and_work() -> None:
    """g.share.tool: share of a tool of 1.687 N/um against 150 mm of chucked bar."""
    beam, at = beam_of("g.chuck.k.a0.5")
    tool, work = 1 / 1.687402e6, work_compliance(beam, 2 * at)
    # The record's tool is the sprung bar of i.*, 1.687402 N/um; its last digit is not printed.
    assert tool / (tool + work) == pytest.approx(check_value("g.share.tool").value, rel=1e-6)


def test_taper_of_a_chucked_shaft() -> None:
    """g.taper: twice the deflection under 11 N at the free end, um; here for our own passive force."""
    found = answer("slender work")
    assert found.spring.taper is not None
    beam = work_beam(CASES["slender work"].work, youngs_modulus=210e9, density=7850.0)  # type: ignore[arg-type]
    expected = 2 * found.case.force.p * work_compliance(beam, 0.09)
    # The work gives along the passive direction only by the passive force: no coupling in a round shaft.
    assert found.spring.taper == pytest.approx(expected, rel=1e-9)
    assert_close(
        "g.taper", 1e6 * 2 * 11 * work_compliance(*(lambda b: (b[0], 0.15))(beam_of("g.chuck.k.a0.5")))
    )
