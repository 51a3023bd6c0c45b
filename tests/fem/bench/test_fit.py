"""The fit against solids with a grip that is known: recovered, predicted, told apart."""

from __future__ import annotations

import math

import numpy as np
import pytest
from values import assert_close

from stickout.fem.bench.evidence import Evidence, Note, PulledCompliance
from stickout.fem.bench.fit import Fitted, fit_setup
from stickout.fem.bench.posterior import predicted_compliance, predicted_note, prior_draw
from stickout.fem.compare.inputs import setup_inputs
from stickout.fem.compare.reduced import reduced_model
from stickout.fem.errors import InputError
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import HeardCut, Setup
from stickout.fem.study.study import run_study

BAR = """units = "mm"
[bar]
section = "round"
diameter = 16
overhang = {overhang}
gripped = 60
material = "steel"
[grip]
style = "bed"
{bed}
[cut]
operation = "boring"
work_material = "medium carbon steel"
depth = 0.2
feed = 0.05
nose_radius = 0.4
edge_angle_deg = 95
work_diameter = 24
"""
TRUE = "bed_n_per_um_mm2 = 0.9\nbed_shear_ratio = 0.5\nbed_loss_factor = 0.09"
UP = np.array([0.0, 0.0, 1.0])


def bar(overhang: float = 80, bed: str = "") -> Setup:
    """Return the bar, its seat as assumed or as given."""
    return parse_setup(BAR.format(overhang=overhang, bed=bed)).setup


@pytest.fixture(scope="module")
def truth() -> dict[str, float]:
    """Return note, loss and spring of the true bar from full studies, and its note at another overhang."""
    here, there = run_study(bar(bed=TRUE)), run_study(bar(60, TRUE))
    loss = float(here.loss.likely[0])
    return {
        "hz": float(here.frequency_hz[0]),
        "zeta": loss / 2,
        "spring": here.compliance_along,
        "hz60": float(there.frequency_hz[0]),
    }


def fitted(
    truth: dict[str, float], *, error: float = 0.0, pull: float = 1.0, at: float | None = None
) -> Fitted:
    """Return the fit to a note with a model error, and to a pull."""
    note = Note(truth["hz"] * (1 + error), 0.0005, truth["zeta"], 0.03)
    spring = PulledCompliance(pull * truth["spring"], 0.03, 0.08, 0.08, UP)
    return fit_setup(bar(), Evidence([note], [spring]), elsewhere=None if at is None else bar(at))


@pytest.mark.slow
@pytest.mark.parametrize("error", [-0.006, 0.0, 0.006])
def test_the_grip_is_recovered(truth: dict[str, float], error: float) -> None:
    """Stiffness and loss of the seat lie in their intervals, also with a model error; few models solved."""
    found = fitted(truth, error=error)
    stiffness, loss = found.parameters["grip.bed_n_per_um_mm2"], found.parameters["grip.bed_loss_factor"]
    assert stiffness.low < 0.9 < stiffness.high
    assert loss.low < 0.09 < loss.high
    assert stiffness.high / stiffness.low < 2.5
    assert found.disagreement is None
    assert found.full_solves <= 5
    assert found.predictions.compliance_along.low < truth["spring"] < found.predictions.compliance_along.high


def test_ten_taps_narrow_what_a_tap_can_tell(truth: dict[str, float]) -> None:
    """The tool's own part from a factor of two to 1.1; what is left of the margin is the material's force."""
    found = fitted(truth)
    now, then = found.predictions, found.before
    assert now.tool is not None
    assert then.tool is not None
    assert then.tool.high / then.tool.low > 2.0
    assert now.tool.high / now.tool.low < 1.2
    assert now.margin_without_rubbing is not None
    assert then.margin_without_rubbing is not None
    left = math.log(now.margin_without_rubbing.high / now.margin_without_rubbing.low)
    was = math.log(then.margin_without_rubbing.high / then.margin_without_rubbing.low)
    assert left < 0.6 * was
    # Force table 0.75 to 1.3, triangular in the logarithm, nine tenths of it: by quadrature of that law.
    assert left > 0.9 * 0.36
    assert [name for name, _ in found.steps] == ["note", "damping"]
    assert {one.what for one in found.worths} == {"heard", "spring_passes"}
    sprung = next(one for one in found.worths if one.what == "spring_passes")
    assert sprung.without_rubbing < 0.85 * math.exp(left)
    assert then.shares_without_rubbing["tool"] > 0.5
    assert now.shares_without_rubbing["tool"] < 0.1
    assert sum(now.shares.values()) == pytest.approx(1.0)


@pytest.mark.slow
def test_cuts_heard_narrow_the_rest(truth: dict[str, float]) -> None:
    """Quiet at one speed, singing at a faster one: the margin at the worst speed, rubbing counted."""
    note = Note(truth["hz"], 0.0005, truth["zeta"], 0.03)
    cuts = [HeardCut(rpm=280, heard="quiet"), HeardCut(rpm=420, heard="sang")]
    alone, both = fit_setup(bar(), Evidence([note])), fit_setup(bar(), Evidence([note], cuts=cuts))
    one, other = alone.predictions.margin, both.predictions.margin
    assert one is not None
    assert other is not None
    assert math.log(other.high / other.low) < 0.6 * math.log(one.high / one.low)
    assert [name for name, _ in both.steps] == ["note", "damping", "heard"]
    elsewhere = HeardCut(rpm=280, heard="sang", pitch_hz=5.0 * truth["hz"])
    strange = fit_setup(bar(), Evidence([note], cuts=[elsewhere])).predictions.margin
    assert strange == one


def test_another_overhang_is_predicted(truth: dict[str, float]) -> None:
    """The note at 60 mm, never shown to the fit: inside the interval, which is a third of the assumed one."""
    found = fitted(truth, at=60.0)
    now, then = found.predictions.frequency_hz, found.before.frequency_hz
    assert now.low < truth["hz60"] < now.high
    assert now.high - now.low < 0.34 * (then.high - then.low)
    assert found.full_solves == 2


def test_what_moves_unseen_is_told(truth: dict[str, float]) -> None:
    """A pull half as soft again: told, and the note's answer stays as it was."""
    alone, both = fitted(truth), fitted(truth, pull=1.5)
    assert both.disagreement is not None
    assert "softer" in both.disagreement
    assert both.predictions.compliance_along.likely == pytest.approx(
        alone.predictions.compliance_along.likely
    )
    low = fit_setup(bar(), Evidence([Note(0.6 * truth["hz"], 0.001)]))
    assert low.disagreement is not None
    assert "lower" in low.disagreement


def test_a_pull_alone_counts(truth: dict[str, float]) -> None:
    """Without a note the pull narrows the spring, to no better than itself."""
    found = fit_setup(bar(), Evidence(compliances=[PulledCompliance(truth["spring"], 0.03, 0.08, 0.08, UP)]))
    band, before = found.predictions.compliance_along, found.before.compliance_along
    assert band.low < truth["spring"] < band.high
    assert band.high - band.low < before.high - before.low


def test_nothing_measured_is_refused() -> None:
    """No note and no pull."""
    with pytest.raises(InputError, match="listen and pull"):
        fit_setup(bar(), Evidence())


@pytest.mark.parametrize(("bed", "ids"), [(0.05, "k"), (0.2, "f1 k"), (1.0, "f1")])
def test_the_bar_on_a_bed_against_another_solid(bed: float, ids: str) -> None:
    """First frequency and tip stiffness of another code's solids, whole and reduced. [A3.bed3d.*]."""
    setup = bar(bed=f"bed_n_per_um_mm2 = {bed}\nbed_shear_ratio = 0.5")
    whole = run_study(setup)
    model = reduced_model(setup, places=[0.08])
    drawn = prior_draw(setup_inputs(setup, regions=["bar", "grip"], ties=model.ties), seed=1)
    if "f1" in ids:
        assert_close(f"A3.bed3d.f1.{bed}", float(whole.frequency_hz[0]))
        hz = predicted_note(model, drawn, note=Note(1000.0, 0.01))[0]
        assert hz == pytest.approx(float(whole.frequency_hz[0]), rel=0.005)
    if "k" in ids:
        assert_close(f"A3.bed3d.k.{bed}", 1e-6 / float(whole.compliance[2, 2]))
        spring = predicted_compliance(model, drawn, pulled=PulledCompliance(1e-6, 0.1, 0.08, 0.08, UP))[0]
        assert spring == pytest.approx(float(whole.compliance[2, 2]), rel=0.01)


def test_a_clipped_mass_counts_at_its_place() -> None:
    """Small masses lower a note by the square of the mode there: a clamped beam's at three quarters, 0.6546.

    Rayleigh's principle and the closed form ``cosh - cos - 0.7341 (sinh - sin)`` of 1.8751 x / L.
    """
    held = parse_setup(BAR.format(overhang=160, bed="bed_n_per_um_mm2 = 50\nbed_shear_ratio = 0.5")).setup
    model = reduced_model(held, places=[0.12])
    inputs = setup_inputs(held, regions=["bar", "grip"], ties=model.ties, faces_lose=True)
    drawn = prior_draw(inputs, seed=1)
    bare = predicted_note(model, drawn, note=Note(500.0, 0.01))
    lowered = [
        np.median(
            (bare / predicted_note(model, drawn, note=Note(500.0, 0.01, mass=1e-3, mass_at=at))) ** 2 - 1
        )
        for at in (None, 0.12)
    ]
    x = 0.75 * 1.8751
    shape = (math.cosh(x) - math.cos(x) - 0.7341 * (math.sinh(x) - math.sin(x))) / 2.0
    assert lowered[1] / lowered[0] == pytest.approx(shape**2, rel=0.04)  # the root gives a little


def test_a_mass_off_the_bar_is_refused() -> None:
    """Beyond the edge: one message."""
    with pytest.raises(InputError, match="at most 80 mm"):
        fit_setup(bar(), Evidence([Note(1100.0, 0.01, mass=0.02, mass_at=0.09)]))
