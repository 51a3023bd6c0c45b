"""The one screen of ``cut`` on every example and every everyday set-up: its size, its words, their order.

Solved on the first mesh alone: words and lines are looked at here, digits elsewhere.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from answers import EXAMPLES
from cutting_cases import BED, BORE, FLATTED

from stickout.cli.text.cut_answer import cut_text
from stickout.cli.text.cut_screen import cut_screen
from stickout.cli.text.lever_words import SPEEDS, change_rows, helps, idle_words
from stickout.cli.text.screen import RULE
from stickout.cli.text.speed_words import in_ten
from stickout.fem.cut.answer import CutAnswer, cut_answer
from stickout.fem.cut.quick import quick_study
from stickout.fem.errors import InputError
from stickout.fem.force.case import cut_case
from stickout.fem.setup.file import read_setup
from stickout.fem.setup.parts import Cut, HeardCut, Setup
from stickout.meshes.parts import Edge

PRACTICE = sorted((Path(__file__).parents[2] / "data" / "practice").glob("*.toml"))


def complete(file: Path) -> bool:
    """Return whether a set-up's cut is described far enough for an answer."""
    try:
        cut_case(read_setup(file).setup)
    except InputError:
        return False
    return True


FILES = [one for one in [*sorted(EXAMPLES.glob("*.toml")), *PRACTICE] if complete(one)]
# What a person at the lathe has no use for; answers.md, section 8.
NEVER = ("margin", "loss factor", "eigen", "stiffness times damping", "a trend", "rerun to check", "cures")


@cache
def answer_of(setup_file: Path) -> CutAnswer:
    """Return the answer of a file, on the first mesh."""
    return cut_answer(quick_study(read_setup(setup_file).setup))


def of_setup(setup: Setup) -> CutAnswer:
    """Return the answer of a set-up, on the first mesh."""
    return cut_answer(quick_study(setup))


@pytest.mark.parametrize("file", FILES, ids=lambda one: one.stem)
def test_one_screen_in_the_words_of_the_trade(file: Path) -> None:
    """answers.md, section 1: 25 lines of 100 columns, verdict, spring, what to try, a rule; no margins."""
    answer = answer_of(file)
    text = cut_screen(answer)
    lines = text.splitlines()
    assert len(lines) <= 25, text
    assert max(map(len, lines)) <= 100, text
    above, _, below = text.partition(RULE)
    order = [above.find(one) for one in (" rpm", " springs ", "Try ", "Nothing needs changing")]
    assert -1 < order[1] < max(order[2], order[3]), text
    assert [word for word in NEVER if word in text.lower()] == []
    rows = [one for one in below.splitlines() if re.match(r" +(\d+|-) +\d+   ", one)]
    assert len(rows) == min(len(answer.verdict.speeds), 6)
    # Beside each word its chance, rounded down: 7 and up is quiet, 2 and down noisy.
    for row in rows:
        word, chance = re.search(r"(quiet|may sing|noisy) +(\d|<1)", row).groups()  # type: ignore[union-attr]
        told = 0 if chance == "<1" else int(chance)
        assert (word == "quiet") == (told >= 7), row
        assert (word == "noisy") == (told <= 2), row


def test_there_are_set_ups_to_look_at() -> None:
    """Fourteen everyday ones, and the examples."""
    assert len(PRACTICE) == 14
    assert len(FILES) >= 20


def test_every_practice_word_is_one_that_turners_would_accept() -> None:
    """Common practice: what the fourteen set-ups do, one author's judgement, words with their chance."""
    said = {file.stem: [one.verdict for one in answer_of(file).verdict.speeds] for file in PRACTICE}
    assert said["t02"][:2] == ["quiet", "quiet"]
    assert said["b07"] == ["quiet", "may sing", "noisy"]
    assert said["b08"] == ["noisy"]


@pytest.mark.parametrize("file", PRACTICE, ids=lambda one: one.stem)
def test_what_is_tried_first_is_no_worse_than_what_is_left_out(file: Path) -> None:
    """A change that helps stands in the table; one that does not, in the breath of those that are no help."""
    answer = answer_of(file)
    shown = {one.key for one, _, _, _ in change_rows(answer)}
    for one in answer.levers:
        if helps(one) and one.key not in SPEEDS:
            assert one.key in shown
            assert in_ten(one.after.p_quiet) != in_ten(one.before.p_quiet)
    assert not shown & set(idle_words(answer).split(", "))


def heard(setup: Setup, *cuts: HeardCut) -> str:
    """Return the screen of a set-up with cuts that were heard."""
    cut = setup.cut or Cut()
    return cut_screen(of_setup(replace(setup, cut=replace(cut, heard=cuts))))


def test_a_heard_cut_is_told_before_and_after() -> None:
    """answers.md, C9: it sang where an even chance was given, so the edge rubs less than thought."""
    text = heard(BED, HeardCut(rpm=500.0, heard="sang"))
    assert "Heard: sang at 500 rpm, 0.2 mm deep." in text
    assert "with what you heard" in text
    assert "Try next: " in text
    assert "Your edge seems to rub less than usual: waves under " in text
    assert "One cut moves the odds, no more." in text
    quiet = heard(BED, HeardCut(rpm=1250.0, heard="quiet"))
    assert "Your edge seems to rub more than usual" in quiet


def test_a_pitch_far_off_leaves_the_odds() -> None:
    """answers.md, C9: evidence against the model, told as such; the table is that of no heard cut."""
    text = heard(BED, HeardCut(rpm=500.0, heard="sang", pitch_hz=300.0))
    assert "You heard 300 Hz; this tool rings at " in text
    assert "Something else sang: post, slides or work. The odds" in text
    assert "with what you heard" not in text
    rows = [one for one in text.splitlines() if re.match(r" +(120|500|1250) ", one)]
    plain = cut_screen(of_setup(BED)).splitlines()
    assert rows
    assert set(rows) <= set(plain)


def test_flats_are_turned_and_named_by_what_is_seen() -> None:
    """answers.md, C4: slantwise swing, slowing does not help, flats level; a slot's flats stay."""
    # Flats 30 degrees the wrong way round, as seen in a cut at the front wall; the edge on the axis.
    bar = replace(FLATTED.bar, rotation_deg=-30.0)
    setup = replace(FLATTED, bar=bar, edge=Edge(), cut=replace(BORE, speeds_rpm=(200.0, 500.0, 1250.0)))
    text = cut_screen(of_setup(setup))
    assert "Slowing down will not help this one." in text
    assert "Try first: flats level, 0° instead of -30°" in text
    assert "it swings slantwise, mostly along the cut, where the flank does not rub" in text
    assert "the screws must still bear" in text


def test_no_speeds_and_no_diameter() -> None:
    """25, 50 and 100 m/min are tried and said; without a diameter speeds are told as cutting speeds."""
    cut = replace(BORE, speeds_rpm=None, work_diameter_mm=None)
    text = cut_screen(of_setup(replace(BED, cut=cut)))
    assert "You gave no speeds: 25, 50 and 100 m/min were tried." in text
    assert re.search(r"One change at a time, at (25|50|100) m/min", text)


def test_over_six_speeds_those_beside_a_change_of_word_are_told() -> None:
    """answers.md, principle 2."""
    many = tuple(float(rpm) for rpm in (60, 80, 100, 120, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250))
    answer = of_setup(replace(BED, cut=replace(BORE, speeds_rpm=many)))
    text = cut_screen(answer)
    words = [one.verdict for one in answer.verdict.speeds]
    shown = {int(one.split()[0]) for one in text.splitlines() if re.match(r" +\d+ +\d+   ", one)}
    assert len(shown) == 6
    for at, (one, two) in enumerate(pairwise(words)):
        if one != two:
            assert {int(many[at]), int(many[at + 1])} <= shown


def test_per_cents_of_the_mesh_stand_under_more() -> None:
    """What misses an accuracy by a little changes no verdict: said under --more, not above the table."""
    found = of_setup(replace(BED, cut=BORE))
    short = "The frequencies are not known better than 0.17 %, the static spring not better than 0.2 %."
    result = replace(found.result, shortfall=short, warnings=[*found.result.warnings, short])
    told = replace(found, result=result)
    assert "not known better" not in cut_screen(told)
    assert "not known better than 0.17 %" in " ".join(cut_text(told).split())
    far = replace(told, result=replace(result, frequency_error=0 * result.frequency_error + 0.2))
    assert "not known better than 0.17 %" in " ".join(cut_screen(far).split())
