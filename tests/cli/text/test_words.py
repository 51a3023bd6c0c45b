"""The words and roundings a person sees, and the relative numbers of the beam law behind them."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from answers import EXAMPLES, result_of, spring

from stickout.cli.text import reasons, words
from stickout.cli.text.modes_answer import answer_text
from stickout.fem.setup.bands import exactly
from stickout.fem.setup.changes import thickened, with_overhang
from stickout.fem.setup.file import read_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.study import levers
from stickout.fem.study.result import Result
from stickout.fem.study.study import run_study


def setup_of(name: str, *changes: str) -> Setup:
    """Return the set-up of an example."""
    return read_setup(EXAMPLES / f"{name}.toml", changes=changes).setup


@pytest.fixture(scope="module")
def flatted() -> Result:
    """Return the study of the flatted bar."""
    return run_study(setup_of("flatted_bar_30deg"))


@pytest.mark.parametrize(
    ("frequency", "name"),
    [
        # Published: equal temperament, A4 = 440 Hz (ISO 16); piano keys by their printed frequencies, memory.
        (440.0, "A4"),
        (1760.0, "A6"),
        (261.63, "C4"),
        (277.18, "C#4"),
        (4186.01, "C8"),
        (27.5, "A0"),
        (1800.0, "A6"),
        (1811.5, "A6"),  # the middle between A6 and A#6 is 1760 * 2^(1/24) = 1811.57
        (1811.6, "A#6"),
        (8800.0, "C#9 (above the piano)"),
    ],
)
def test_note_names(frequency: float, name: str) -> None:
    """The nearest half tone."""
    assert words.note_name(frequency) == name


@pytest.mark.parametrize(
    ("value", "text"),
    [(740.2, "740 Hz"), (999.6, "1.00 kHz"), (1257.5, "1.26 kHz"), (11634.0, "11.6 kHz"), (63.4, "63.4 Hz")],
)
def test_hertz(value: float, text: str) -> None:
    """Three digits."""
    assert words.hertz(value) == text


@pytest.mark.parametrize(
    ("value", "relative", "text"),
    [
        (1257.53, 2.1e-4, "1257.5 ±0.3"),
        (8262.2, 8.7e-4, "8262 ±7"),
        (8759.1, 1e-6, "8759.1 ±0.1"),
        (5000.0, 0.01, "5000 ±50"),
    ],
)
def test_errors_limit_the_digits(value: float, relative: float, text: str) -> None:
    """No digit more than the error allows, a tenth of a hertz at most."""
    assert words.with_error(value, relative) == text


def test_numbers_without_powers_of_ten() -> None:
    """Small ones stay readable, idle zeros go, a little is not nothing."""
    assert [words.plain(value) for value in (2e-5, 0.5, 0.0123, 1250.0)] == [
        "0.00002",
        "0.5",
        "0.012",
        "1200",
    ]
    assert [words.percent(share) for share in (0.9566, 0.004, 0.0)] == ["96 %", "below 1 %", "0 %"]
    assert [words.change(ratio) for ratio in (0.0028, -0.1668)] == ["+0.3 %", "-17 %"]
    assert words.listed(["a", "b", "c"]) == "a, b and c"
    assert words.listed([]) == ""


def test_springs_in_both_units() -> None:
    """3.7e-7 m/N is 3.7 µm under 10 N, or 0.65 thou under 10 lbf (44.48 N; 1 thou is 25.4 µm)."""
    assert words.spring_text(3.7e-7, "mm") == "3.7 µm"
    assert words.spring_text(3.7e-7, "inch") == "0.65 thou"
    assert words.stiffness_text(2.59e6, "mm") == "2.59 N/µm"
    assert words.stiffness_text(2.59e6, "inch") == "14.8 lbf/thou"
    assert words.load_words("inch") == "10 lbf"


@pytest.mark.parametrize(
    ("direction", "kind", "text"),
    [
        ((0, 0, 1), "bending", "up and down"),
        ((0, 1, 0), "bending", "sideways"),
        ((1, 0, 0), "axial", "along the bar"),
        ((0, 0.5, math.sqrt(0.75)), "bending", "30° right of upright"),
        ((0, 0.5, -math.sqrt(0.75)), "bending", "30° left of upright"),
        ((0, math.sqrt(0.75), 0.5), "bending", "60° right of upright"),
        ((0.6, 0, 0.8), "mixed", "up and down and endwise"),
        ((0, 0, 0), "torsion", "twisting, edge still"),
        ((0, 0, 1), "torsion", "twisting"),
        ((0, 0, 0), "breathing", "edge stands still"),
    ],
)
def test_directions(direction: tuple[float, float, float], kind: str, text: str) -> None:
    """Right is +y, up is +z, as seen from the free end."""
    assert words.way_words(direction, kind=kind) == text


def test_the_sign_of_a_motion_does_not_matter() -> None:
    """Principle: a vibration goes both ways."""
    for y, z in ((0.5, 0.9), (0.5, -0.9), (1.0, 0.0), (0.0, 1.0), (0.03, 1.0)):
        assert words.way_words((0, y, z)) == words.way_words((0, -y, -z))


def test_along_the_cut() -> None:
    """Three degrees, and the share behind them."""
    assert words.along_words(0.96) == "along the cutting force (96 % of the motion)"
    assert words.along_words(0.43).startswith("partly along")
    assert words.along_words(0.05, force="the force").startswith("mostly across the force")
    assert words.force_words((-0.21, -0.29, -0.93)) == "down 0.93, left 0.29, back 0.21"
    assert words.force_words((1.0, 0.0, 0.0)) == "out 1.00"


def test_units_stay_by_their_numbers() -> None:
    """A line may break anywhere but between a number and its unit."""
    lines = words.folded(" ".join(["filler"] * 13) + " at last 12 mm and more", "  ")
    assert len(lines) == 2
    assert not any(line.endswith("12") for line in lines)
    assert max(map(len, lines)) <= words.WIDTH


@pytest.mark.parametrize(
    ("source", "short"),
    [
        (
            "Levina & Reshetov 1971, dry machined faces (recalled, not opened)",
            "Levina & Reshetov 1971 (recalled)",
        ),
        ("Cremer & Heckl, Structure-Borne Sound (opened): 0.002", "Cremer & Heckl (opened)"),
        ("common practice, no source; taken between two", "common practice, no source"),
        ("Adams, J. Sound Vib. 23 (1972) 199 (abstract opened)", "Adams (abstract opened)"),
    ],
)
def test_short_sources_keep_their_mark(source: str, short: str) -> None:
    """The table has room for the head of a source; whether it was read is never left out."""
    assert reasons.short_source(source) == short


def test_a_pair_is_told_as_a_pair(flatted: Result) -> None:
    """Round: two equal ways, none preferred. Flatted: two modes that share the spring, both named."""
    assert "two equal ways to bend and prefers neither" in reasons.pair_words(setup_of("boring_bar_16mm"))
    text = answer_text(flatted)
    assert "two equal ways" not in text
    assert "Mode 2 at 1.84 kHz carries 45 % of the spring" in " ".join(text.split())


def test_verbose_says_more(flatted: Result) -> None:
    """Modal masses and full sources; what was there stays there."""
    short, full = answer_text(flatted), answer_text(flatted, verbose=True)
    assert "modal mass" in full
    assert "modal mass" not in short
    assert "they differ tenfold" in " ".join(full.split())
    assert set(short.splitlines()[:15]) <= set(full.splitlines())


def test_digits_follow_what_is_known(flatted: Result) -> None:
    """Two digits of the spring with an assumed modulus; three where the user gave what makes it stiff."""
    assert "springs 3.0 µm" in answer_text(flatted)
    own = [one for one in flatted.assumptions if "loss" in one.name or "density" in one.name]
    assert f"springs {1e7 * flatted.compliance_along:.2f} µm" in answer_text(
        replace(flatted, assumptions=own)
    )


def test_a_set_up_without_a_cut_says_so(flatted: Result) -> None:
    """The force is then taken straight down, and the answer does not call it a cutting force."""
    result = run_study(replace(flatted.setup, cut=None))
    text = " ".join(answer_text(result).split())
    assert "along the force, taken straight down" in text
    assert "because the set-up describes no [cut]" in text
    assert "cutting force" not in text


def test_warnings_are_told(flatted: Result) -> None:
    """Each on a line of its own."""
    assert "\nWarning: Mind the gap.\n" in answer_text(replace(flatted, warnings=["Mind the gap."]))


def test_a_difference_no_theory_explains_is_told(flatted: Result) -> None:
    """A hand formula a tenth off on a rigid bar has a wrong size somewhere."""
    assert flatted.hand is not None
    assert "check the sizes" not in answer_text(flatted)
    wrong = replace(flatted.hand, frequency_hz=flatted.hand.frequency_hz * 1.1)
    assert "check the sizes" in " ".join(answer_text(replace(flatted, hand=wrong)).split())


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("turning_tool_12mm", "takes the root as rigid"),
        ("stepped_bar", "At a step"),
        ("soft_clamp", "plane sections"),
        ("tube_bar", "narrowing"),
    ],
)
def test_why_the_hand_formula_differs(name: str, reason: str) -> None:
    """The reason belongs to the set-up."""
    result = run_study(replace(setup_of(name), solve=replace(setup_of(name).solve, modes=1, accuracy=0.01)))
    apart = levers.hand_difference(result)
    assert apart is not None
    text = reasons.hand_reason(result, apart)
    assert reason in text
    assert "check the sizes" not in text


def test_levers_are_reruns_and_near_the_beam_law(flatted: Result) -> None:
    """Closed form, rigid root: spring as overhang cubed over EI; shear makes both a little weaker (3 %)."""
    changed = [with_overhang(flatted.setup, 75.0), thickened(flatted.setup, 2.0)]
    short, thick = levers.rerun(flatted, [one for one in changed if one is not None])
    assert short.compliance_along == pytest.approx((75 / 80) ** 3, rel=0.03)
    assert short.note == pytest.approx((80 / 75) ** 2, rel=0.03)
    # Flats grow with the diameter: 18 mm, 15 mm across. Second moments about the weak axis by the formula
    # of a circle cut by two chords (computed here).
    assert thick.compliance_along == pytest.approx(chord_moment(8.0, 6.5) / chord_moment(9.0, 7.5), rel=0.03)


def chord_moment(radius: float, half: float) -> float:
    """Return the second moment of a circle between chords at ``half`` from its centre, by strips."""
    strips = 20000
    z = [half * (2 * (at + 0.5) / strips - 1) for at in range(strips)]
    return sum(2 * math.sqrt(radius**2 - one**2) * one**2 for one in z) * 2 * half / strips


def test_the_spread_of_a_rigid_bar_is_that_of_its_modulus(flatted: Result) -> None:
    """Closed form: spring as 1/E, 200 to 212 against 210 GPa; note as the root of E over density."""
    known = levers.spread(flatted)
    assert known is not None
    assert known.compliance_along == pytest.approx((210 / 212, 210 / 200), rel=1e-6)
    low, high = math.sqrt(200 / 210 * 7850 / 7870), math.sqrt(212 / 210 * 7850 / 7800)
    assert known.note == pytest.approx((low, high), rel=1e-6)
    steel = flatted.setup.bar_material
    sure = replace(steel, youngs_modulus=exactly(210e9), density=exactly(7850.0))
    settled = replace(flatted, setup=replace(flatted.setup, materials={"bar": sure}))
    assert "assumed ranges" not in answer_text(settled)


def test_the_spread_of_a_bed_holds_the_soft_clamp() -> None:
    """Principle: the same bar at the low end of the bed's band lies inside the spread of the likely one."""
    result = run_study(setup_of("boring_bar_16mm"))
    known = levers.spread(result)
    assert known is not None
    soft = spring(result_of("soft_clamp")) / result.compliance_along
    assert 1.2 < soft < known.compliance_along[1]


def test_mode_swings_sum_to_the_static_spring(flatted: Result) -> None:
    """Principle: the modes' parts of the static deflection add up to it, but for 3 % of those left out.

    The swing is that of the point that moves most, the end of the bar for the first two, so it is taken
    back to the edge and along the force before it is summed.
    """
    total = 0.0
    for mode in range(flatted.n_modes):
        if not flatted.moves[mode]:
            continue
        edge = flatted.modes.edge[mode]
        most = max(math.dist((0, 0, 0), point) for point in flatted.modes.shapes[mode])
        swing = levers.mode_swing(flatted, mode, force_n=100.0)
        total += swing * abs(float(edge @ flatted.loading.direction)) / most
    assert total == pytest.approx(100 * flatted.compliance_along, rel=0.03)


@pytest.mark.parametrize(
    ("margin", "told"),
    [
        (0.4712, "0.47"),
        (0.996, "0.996"),
        (0.99996, "0.99996"),
        (1.04, "1.0"),
        (float("inf"), "any"),
    ],
)
def test_a_margin_shows_the_side_of_one_that_it_lies_on(margin: float, told: str) -> None:
    """Below one never reads as 1, whatever is rounded: the side is the answer."""
    assert words.margin_figure(margin) == told
