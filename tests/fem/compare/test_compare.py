"""Comparisons: shared numbers cancel, others do not; rivals spend the same space; verdicts keep to bands."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import setups
from mistakes_work import BETWEEN
from values import check_value

from stickout.fem.compare import reduced
from stickout.fem.compare.compare import Comparison, Entry, compare
from stickout.fem.compare.inputs import Input, draw, setup_inputs
from stickout.fem.compare.measures import dynamic_stiffness, sampled_measures
from stickout.fem.compare.rivals import rivals
from stickout.fem.compare.turning import best_turn
from stickout.fem.compare.verdict import judged, told
from stickout.fem.errors import InputError
from stickout.fem.setup.bands import Band, Spread
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.model import tie_layers
from stickout.fem.solid.modes import solve_modes, static_compliance
from stickout.fem.solid.setting import support_of

pytestmark = pytest.mark.slow

RIGID = setups.changed(setups.ROUND, '"bed"', '"rigid"')
FLAT = setups.changed(setups.FLATTED, '"bed"', '"rigid"') + setups.CUT
LOOSE = setups.changed(setups.WRAP, '"bonded"', '"loose"')
# One per cent is enough for what is asked here, and every mesh is solved twice at least.
COARSE = ("solve.accuracy=0.01", "solve.modes=2")
DOWN = np.array([0.0, 0.0, -1.0])


def setup_of(text: str, *changes: str) -> Setup:
    """Return a set-up that is solved coarsely."""
    return parse_setup(text, changes=[*COARSE, *changes]).setup


@cache
def compared(*texts: str) -> Comparison:
    """Return the comparison of set-ups, solved once."""
    return compare([setup_of(text) for text in texts])


def by_kind(comparison: Comparison) -> dict[str, Entry]:
    """Return the rivals of a comparison by their kind."""
    return {one.rival.kind: one for one in comparison.rivals if one.rival is not None}


def test_a_set_up_against_itself() -> None:
    """Principle: every ratio is one, without a band, however wide the bands of the inputs."""
    found = compare([setup_of(setups.SLOT)] * 2).changes[0]
    assert all((r.low, r.likely, r.high) == pytest.approx((1, 1, 1)) for r in found.ratios.values())
    assert found.verdict is not None
    assert found.verdict.kind == "alike"
    # The values themselves do have bands: nobody knows the joints.
    assert found.values["spring_m_per_n"].high > 1.2 * found.values["spring_m_per_n"].low


def test_a_new_face_is_not_known() -> None:
    """Computed apart: a shim may do anything, since its faces are new; its metal does nothing."""
    change = compared(setups.SLOT, setups.SLOT + setups.SHIM).changes[0]
    assert change.verdict is not None
    assert (change.verdict.kind, change.verdict.limit) == ("unclear", "untold")
    stiffness = change.ratios["stiffness_n_per_m"]
    # Two usual faces in a row lose; both at the stiff end of the band gain.
    assert stiffness.low < stiffness.likely < 1 < stiffness.high
    share = change.result.shares["shim"][change.result.aligned]
    own = share * change.result.setup.materials["shim"].loss_factor.likely
    assert own < 0.01 * change.values["loss_factor"].likely
    assert change.widest is not None
    assert "floor" in change.widest[0] or "shim" in change.widest[0]


def test_a_face_left_alone_cancels() -> None:
    """Less overhang keeps the seat: the ratio is known to a few per cent, the values to tens of per cent."""
    short = by_kind(compared(setups.SLOT, setups.SLOT + setups.SHIM))["shorter"]
    ratio, value = short.ratios["stiffness_n_per_m"], short.values["stiffness_n_per_m"]
    assert ratio.high / ratio.low < 1.06 < 1.3 < value.high / value.low
    assert short.verdict is not None
    assert short.verdict.kind == "better"


def test_less_overhang_of_a_rigid_bar() -> None:
    """Closed form: stiffness with the cube of the overhang, 1.372; shear takes a hundredth of it."""
    short = by_kind(compared(RIGID))["shorter"]
    assert short.result.setup.bar.overhang_mm == pytest.approx(72)
    assert short.ratios["stiffness_n_per_m"].likely == pytest.approx(1 / 0.9**3, rel=0.012)
    # The usual loss of a seat is the same for both, so k zeta follows the stiffness.
    assert short.ratios["k_zeta_n_per_m"].likely == pytest.approx(
        short.ratios["stiffness_n_per_m"].likely, rel=0.01
    )
    assert short.values["loss_factor"].likely == pytest.approx(0.04 + 3e-4, rel=1e-9)


def test_the_wraps_space_as_steel() -> None:
    """[d.sleeve.vs_steel] 2 mm all over a slender rigid bar: (20/16)^4; nothing won by the wrap."""
    long = setups.changed(RIGID, "= 80", "= 320") + setups.changed(LOOSE, "start = 50", "start = 200")
    found = compared(long)
    kinds = by_kind(found)
    assert set(kinds) == {"plain", "thicker there", "thicker all over", "shorter"}
    gain = kinds["thicker all over"].result.compliance_along / kinds["plain"].result.compliance_along
    # Twenty diameters: shear and the held face are some per mille.
    assert 1 / gain == pytest.approx(check_value("d.sleeve.vs_steel").value, rel=6e-3)
    assert kinds["plain"].result.compliance_along == pytest.approx(
        found.first.result.compliance_along, rel=1e-3
    )
    there = kinds["thicker there"].result.setup.bar
    assert [(s.start_mm, s.diameter_mm) for s in there.steps] == [(200.0, 20.0), (230.0, 16.0)]


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        (setups.ROUND, ["shorter"]),
        (setups.FLATTED, ["shorter", "turned"]),
        (setups.WRAPPED, ["plain", "thicker there", "thicker all over", "shorter"]),
        (setups.SLOT + setups.SHIM, ["plain", "taller", "shorter"]),
        (BETWEEN, ["shorter", "thicker all over", "held otherwise"]),
        # A slot's floor needs the flats as they lie.
        (
            setups.FLATTED.replace('"bed"', '"slot"\nscrews = 1\nscrew_diameter = 6\nfirst_screw = 20'),
            ["shorter"],
        ),
    ],
)
def test_rivals_of_a_set_up(text: str, kinds: list[str]) -> None:
    """Every wrap, shim and flat has its rivals; what cannot be held so is left out; none occurs twice."""
    assert [one.kind for one in rivals([setup_of(text)])] == kinds
    twice = rivals([setup_of(text), setup_of(text)])
    assert [one.kind for one in twice] == kinds


def test_a_taller_shank_is_taller_as_it_stands() -> None:
    """A rectangle lying on its side grows in what is upright there."""
    lying = setups.changed(setups.SLOT, '"square"\nwidth = 12', '"rectangle"\nwidth = 12\nheight = 16')
    for turn, sizes in ((0, (12, 16.5)), (90, (12.5, 16))):
        text = setups.with_line(lying + setups.SHIM, "bar", f"rotation_deg = {turn}")
        taller = next(one for one in rivals([setup_of(text)]) if one.kind == "taller").setup
        assert (taller.bar.width_mm, taller.bar.height_mm) == sizes
        assert taller.shim is None


def test_flats_turned_a_quarter() -> None:
    """Invariance: notes stay, and what sprang up and down springs sideways."""
    found = compared(FLAT)
    first, turned = found.first.result, by_kind(found)["turned"].result
    assert turned.frequency_hz[:2] == pytest.approx(first.frequency_hz[:2], rel=1e-4)
    assert turned.compliance[2, 2] == pytest.approx(first.compliance[1, 1], rel=1e-4)


def test_the_best_turn_is_what_it_says() -> None:
    """Turned modes promise a margin; the turned set-up, meshed and solved anew, keeps it."""
    leaning = setups.with_line(FLAT, "bar", "rotation_deg = -30")
    found = compared(leaning)
    turn = best_turn(found.first.result)
    assert turn is not None
    best = by_kind(found)["best turn"]
    assert best.ratios["cut_margin"].likely == pytest.approx(turn.ratio, rel=0.02)
    # Answers page, C4: the section that swings along the cut, where no flank rubs, is the one to turn.
    assert turn.ratio > 2.0
    # With its flats level it already stands where it is quietest: nothing is to be won by turning it.
    assert best_turn(compared(FLAT).first.result) is None
    assert best.ratios["cut_margin"].likely > by_kind(found)["turned"].ratios["cut_margin"].likely


def test_k_zeta_of_one_mode_and_of_a_pair() -> None:
    """Closed forms: k eta / 2 for one mode; equal modes give that of their summed motion, however turned."""
    omega, eta = 2 * math.pi * 1000.0, 0.02
    one = dynamic_stiffness(np.array([omega]), np.array([5.0]), eta=np.array([eta]))
    # The least of the real part lies at w^2 = omega^2 (1 + eta) exactly, and is looked at there.
    assert float(one) == pytest.approx(omega**2 / 25 * eta / 2, rel=1e-12)
    for angle in (0.0, 0.4, 1.1):
        pair = 5 * np.array([math.cos(angle), math.sin(angle)])
        two = dynamic_stiffness(np.array([omega, omega]), pair, eta=np.array([eta, eta]))
        assert float(two) == pytest.approx(float(one), rel=1e-12)


@pytest.mark.parametrize("text", [setups.SLOT + setups.SHIM, setups.SLEEVE], ids=["shim", "sleeve"])
def test_the_small_model_against_the_whole(text: str) -> None:
    """Another route: the whole mesh solved anew with joints of its own stiffness, anywhere in the band."""
    setup = setup_of(text)
    model = reduced._coarse(setup)
    layers = tie_layers(model.mesh, support_of(setup))
    inputs = setup_inputs(setup, regions=model.mesh.regions, ties=tuple(model.ties))
    joints = {name: f"stiffness of {name}" for name in model.ties}
    drawn = {one.key: np.full(4, one.band.likely) for one in inputs}
    keys = {
        name: next(one.key for one in inputs if one.key.startswith(words)) for name, words in joints.items()
    }
    rng = np.random.default_rng(5)
    for key in keys.values():
        drawn[key][1:] = [0.3, 10.0, math.exp(rng.uniform(math.log(0.3), math.log(10)))]
    found = sampled_measures(reduced.reduced_model(setup), inputs, drawn=drawn, force=DOWN)
    for n in range(4):
        ties = {name: reduced._scaled(layers[name], drawn[keys[name]][n] / 2.5) for name in model.ties}
        whole = replace(model, ties=ties)
        modes = solve_modes(whole, 4)
        at = int(np.argmax((modes.edge @ DOWN) ** 2 / modes.frequency_hz**2))
        # Rayleigh: above, and by the square of what the space misses; measured 3e-4.
        assert found.values["note_hz"][n] == pytest.approx(modes.frequency_hz[at], rel=5e-4)
        assert found.values["spring_m_per_n"][n] == pytest.approx(static_compliance(whole)[2, 2], rel=1e-3)


def test_draws() -> None:
    """A shared key is drawn once; draws fill the band, the likely one first; the same seed draws the same."""
    wide, one_sided = Band(0.3, 2.5, 10.0, "x"), Band(0.0, 0.0, 0.2, "x")
    inputs = [Input("k", wide), Input("k", wide), Input("rub", one_sided), Input("sure", Band(1, 1, 1, "x"))]
    drawn = draw(inputs, count=400)
    assert set(drawn) == {"k", "rub", "sure"}
    assert drawn["k"][0] == 2.5
    assert 0.3 <= drawn["k"].min() < 0.4
    assert 8.0 < drawn["k"].max() <= 10.0
    # Mean of a triangle is a third of its three corners; stratified, so 0.1 % of its width.
    assert np.log(drawn["k"][1:]).mean() == pytest.approx(np.log([0.3, 2.5, 10.0]).mean(), abs=0.01)
    assert drawn["rub"][1:].mean() == pytest.approx(0.2 / 3, rel=0.01)
    assert set(drawn["sure"]) == {1}
    assert np.array_equal(draw(inputs, count=400)["k"], drawn["k"])


@pytest.mark.parametrize(
    ("stiffness", "limit", "kind"),
    [
        (Spread(1.1, 1.2, 1.3), Spread(1.1, 1.3, 1.5), "better"),
        (Spread(1.1, 1.2, 1.3), Spread(0.95, 1.0, 1.05), "better"),
        (Spread(0.7, 0.8, 0.9), Spread(0.5, 0.6, 0.7), "worse"),
        (Spread(0.7, 0.8, 0.9), Spread(1.2, 1.5, 1.9), "mixed"),
        (Spread(1.1, 1.2, 1.3), Spread(0.7, 1.3, 1.5), "partly"),
        (Spread(0.7, 1.2, 1.3), Spread(0.7, 1.3, 1.5), "unclear"),
        (Spread(0.99, 1.0, 1.01), Spread(0.95, 1.0, 1.05), "alike"),
        # Surely more, but less than two clampings of one tool differ: no difference to speak of.
        (Spread(1.01, 1.02, 1.03), Spread(1.01, 1.03, 1.05), "alike"),
    ],
)
def test_verdicts(stiffness: Spread, limit: Spread, kind: str) -> None:
    """Better or worse only where no band crosses 1."""
    assert judged(stiffness, limit).kind == kind


def test_no_verdict_claims_more_than_its_band() -> None:
    """Principle, on everything compared in this file: more means all above 1, less all below."""
    comparisons = [compared(setups.SLOT, setups.SLOT + setups.SHIM), compared(RIGID), compared(FLAT)]
    entries = [one for found in comparisons for one in found.entries if one.verdict is not None]
    assert len(entries) >= 6
    for entry in entries:
        stiffness = entry.ratios["stiffness_n_per_m"]
        says = entry.verdict.stiffness if entry.verdict is not None else ""
        assert {"more": stiffness.low > 1, "less": stiffness.high < 1}.get(says, True)
        for name, ratio in entry.ratios.items():
            assert ratio.low <= ratio.likely <= ratio.high, name
    assert told(Spread(0.999, 2.0, 3.0)) == "untold"


def test_a_loose_wrap_that_rubs_is_told_as_a_band() -> None:
    """From none to the user's figure: k zeta is never surely more; the low end is weight alone."""
    rubbing = setups.changed(LOOSE, "bond =", "rubbing_loss_factor = 0.1\nbond =")
    change = compare([setup_of(setups.ROUND), setup_of(setups.ROUND + rubbing)]).changes[0]
    ratio = change.ratios["k_zeta_n_per_m"]
    assert ratio.low == pytest.approx(ratio.likely, rel=0.1)
    assert ratio.high > 1.5
    assert change.verdict is not None
    assert change.verdict.limit == "untold"


def test_what_cannot_be_compared() -> None:
    """No set-up, or names that do not match."""
    with pytest.raises(InputError, match="setups is"):
        compare([])
    with pytest.raises(InputError, match="a name for each"):
        compare([setup_of(RIGID)], names=["one", "two"])
