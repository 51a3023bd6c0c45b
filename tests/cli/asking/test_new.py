"""A set-up by question and answer: the file it ends in, wrong answers, going back, and nothing lost."""

from __future__ import annotations

import io
import re
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

import pytest

from stickout.cli.__main__ import main
from stickout.cli.asking.conversation import EndOfAnswersError, Known, converse
from stickout.cli.asking.questions import questions
from stickout.cli.asking.written import file_of, free_path, name_of, tables_of
from stickout.fem.force.case import cut_case
from stickout.fem.setup.file import parse_setup, parse_tables
from stickout.fem.setup.grips import SleeveGrip, SlotGrip

# The three conversations of the design: a turning tool in mm, a bar in a sleeve in inches, a bar in a block.
TURNING = ["t", "10", "hss", "35", "4", "mild steel", "40", "0.5 0.1", "0.4", "200 400 800"]
SLEEVE = ["b", '1/2"', "silver steel", "2", "s", "mild steel", "1", "0.010 0.002", "1/64", "200 350 600 1000"]
BLOCK = ["b", "12", "steel", "60", "k", "mild steel", "20", "0,2 0,05", "0.4", "200 400 800 1250"]
PARTING = ["p", "2 12", "", "20", "4", "6082", "20", "0.04", "300 600 1200"]


def asked(answers: Sequence[str]) -> tuple[Known, str]:
    """Return what is known after the answers, and all that was shown."""
    shown: list[str] = []
    known = converse(questions(), iter(answers), say=shown.append)
    return known, "".join(shown)


def test_a_turning_tool() -> None:
    """The file is the one of the design; what was not asked stands behind a # and is not read as given."""
    text, usual = file_of(asked(TURNING)[0])
    assert usual == 6
    assert (
        text.splitlines()[0] == "# Written by `stickout new`. Change any line and run `stickout cut` again."
    )
    assert parse_tables(text) == {
        "title": "10 mm HSS tool, 35 mm out",
        "units": "mm",
        "bar": {
            "section": "square",
            "width": 10,
            "overhang": 35,
            "material": "high speed steel",
        },
        "grip": {"style": "slot"},
        "cut": {
            "operation": "turning",
            "work_material": "mild steel",
            "depth": 0.5,
            "feed": 0.1,
            "nose_radius": 0.4,
            "work_diameter": 40,
            "speeds_rpm": [200, 400, 800],
        },
        "solve": {"accuracy": 0.003},  # what the faces of a grip allow without a warning
    }
    lines = {line.partition(" = ")[0]: line for line in text.splitlines()}
    assert lines["work_material"].endswith("# read as low carbon steel")
    assert lines["# gripped"].endswith("# usual: not asked, measure it")
    assert lines["# screws"].endswith("# usual")
    taken = parse_setup(text).setup.usual
    assert {one.key: one.band.likely for one in taken} == {
        "bar.gripped": 60,
        "grip.screws": 2,
        "grip.screw_diameter": 8,
        "grip.first_screw": 12,
        "grip.screw_spacing": 25,
        "cut.edge_angle_deg": 90,
    }
    assert all(one.band.low < one.band.likely < one.band.high for one in taken)


def test_a_bar_in_a_split_sleeve_in_inches() -> None:
    """One inch mark makes all bare lengths inches, said once; 1/2 in is 12.7 mm."""
    known, shown = asked(SLEEVE)
    assert shown.count("Inches from here on.") == 1
    setup = parse_setup(file_of(known)[0]).setup
    assert setup.title == "1/2 in bar in a split sleeve"  # as a turner says it
    assert setup.units == "inch"
    assert setup.bar.diameter_mm == pytest.approx(12.7)
    assert setup.bar.overhang_mm == pytest.approx(50.8)
    assert setup.bar.gripped_mm == pytest.approx(3 * 12.7)
    assert isinstance(setup.grip, SleeveGrip)
    assert setup.grip.split
    assert setup.grip.block_width_mm == pytest.approx(1.25 * 25.4)
    assert setup.cut is not None
    assert setup.cut.depth_mm == pytest.approx(0.254)
    assert setup.cut.nose_radius_mm == pytest.approx(25.4 / 64, rel=1e-5)


@pytest.mark.parametrize("grip", ["s", "k", "v", "f"])
@pytest.mark.parametrize("size", ["8", "12", "25", "40"])
def test_every_grip_of_a_bar_is_a_set_up(grip: str, size: str) -> None:
    """Each is read without a mistake and its cut can be worked out; a block is not split, a sleeve is."""
    known, _ = asked(["b", size, "", "", grip, "", "", "", "", ""])
    setup = parse_setup(file_of(known)[0]).setup
    assert cut_case(setup).force.c > 0
    if isinstance(setup.grip, SleeveGrip):
        assert setup.grip.split == (grip == "s")
    else:
        assert grip in "vf"


@pytest.mark.parametrize("grip", ["4", "q", "c"])
@pytest.mark.parametrize("size", ["6", "10", "16 12", '1/2"', "25 25"])
def test_every_grip_of_a_tool_is_a_set_up(grip: str, size: str) -> None:
    """Screws fit the shank whatever its size; a clamp presses once."""
    known, _ = asked(["", size, "", "", grip, "", "", "", "", ""])
    setup = parse_setup(file_of(known)[0]).setup
    assert cut_case(setup).force.c > 0
    assert isinstance(setup.grip, SlotGrip)
    assert setup.grip.screws == (1 if grip == "c" else 2)


def test_other_set_ups() -> None:
    """A bored block with decimal commas, and a blade, which is asked for no nose."""
    block = parse_setup(file_of(asked(BLOCK)[0])[0]).setup
    assert block.cut is not None
    assert (block.cut.depth_mm, block.cut.feed_mm) == (0.2, 0.05)
    known, shown = asked(PARTING)
    blade = parse_setup(file_of(known)[0]).setup
    assert (blade.bar.width_mm, blade.bar.height_mm) == (2, 12)
    assert blade.cut is not None
    assert blade.cut.depth_mm == 2
    assert "Nose" not in shown


@pytest.mark.parametrize(
    "answers",
    [["b", size, "", "", grip, *[""] * 5] for size in ("8", "25", '1/2"') for grip in "skvf"]
    + [["t", size, "", "", grip, *[""] * 5] for size in ("6", "16 12", '1/2"') for grip in "4qc"]
    + [["p", size, "", "", grip, *[""] * 4] for size in ("2 12", '1/8" 3/4"') for grip in "4qc"],
    ids=lambda answers: "-".join(answers[:2] + answers[4:5]),
)
def test_what_stands_behind_a_mark_is_what_the_reader_takes(answers: list[str]) -> None:
    """Principle: with every mark taken away the file means the same; inches to their six digits."""
    known, _ = asked(answers)
    text, usual = file_of(known)
    taken = parse_setup(text).setup
    given = parse_setup(re.sub(r"(?m)^# (?=\w+ = )", "", text)).setup
    assert given.usual == ()
    assert 2 <= len(taken.usual) <= usual
    for part in ("bar", "grip", "cut"):
        one, other = (asdict(getattr(setup, part)) for setup in (taken, given))
        for key, value in one.items():
            assert other[key] == (pytest.approx(value, rel=5e-6) if isinstance(value, float) else value), key


def test_never_more_than_ten_questions() -> None:
    """Ten for each kind at most, all of them with a usual answer."""
    for kind in "tbp":
        known, shown = asked([kind, *[""] * 9])
        assert parse_setup(file_of(known)[0]).setup.cut is not None
        assert "11 " not in [line[:3] for line in shown.splitlines()]


@pytest.mark.parametrize(
    ("at", "typed", "said"),
    [
        (1, "250", "250 mm fits no post. 25? Or .250 in?"),
        (1, "abc", "A length, please: 35, or 1-3/8 in."),
        (1, "-5", "A length, please: 35, or 1-3/8 in."),
        (2, "unobtainium", "Not in the list."),
        (3, "350", "35 heights out. 35?"),
        (4, "x", "One of these: 4 four-way post"),
        (5, "unobtainium", "Nearest by cutting: soft, tough or hard? (mild steel, stainless, tool steel)"),
        (7, "5 0.1", "5 mm on the radius is a very heavy cut. 0.5? Enter 5 0.1 again to keep it."),
        (7, "0.5", "Two numbers, please"),
        (8, "0.01", "The feed must stay below twice the nose radius."),
        (9, "fast", "Spindle speeds, please"),
    ],
)
def test_a_wrong_answer_is_asked_again(at: int, typed: str, said: str) -> None:
    """One line says why; the right answer after it gives the same file as without it."""
    known, shown = asked([*TURNING[:at], typed, *TURNING[at:]])
    assert said in shown
    assert file_of(known) == file_of(asked(TURNING)[0])


def test_a_bar_that_does_not_enter_its_bore() -> None:
    """Bar or bore: one of them is wrong."""
    answers = ["b", "16", "", "", "s", "", "12", "20", "", "", ""]
    assert "A 16 mm bar does not enter a 12 mm hole. Bar or bore?" in asked(answers)[1]


def test_a_heavy_cut_is_kept_on_the_second_asking() -> None:
    """Entered again, it is meant."""
    answers = [*TURNING[:7], "5 0.1", "5 0.1", *TURNING[8:]]
    assert tables_of(asked(answers)[0])[0]["cut"]["depth"] == 5


def test_three_wrong_answers_take_the_usual_one() -> None:
    """The third time, and marked so in the file."""
    known, shown = asked([*TURNING[:3], "far", "350", "x", *TURNING[4:]])
    assert "The usual 15 is taken; check it in the file." in shown
    text, _ = file_of(known)
    [line] = [one for one in text.splitlines() if one.startswith("overhang")]
    assert line.startswith("overhang = 15 ")
    assert line.endswith("# usual: check")


def test_going_back_and_asking_why() -> None:
    """``b`` asks the question before again, ``?`` explains and counts as no try."""
    known, shown = asked(["t", "12", "b", "?", "10", *TURNING[2:]])
    assert "Measure it with callipers" in shown
    assert file_of(known) == file_of(asked(TURNING)[0])


def test_trade_names_are_written_as_they_are_read() -> None:
    """EN1A is free-cutting steel, said beside it; cutting speeds become spindle speeds by v = pi d n."""
    known, _ = asked([*TURNING[:5], "EN1A", "40", "", "", "50 m/min"])
    text, _ = file_of(known)
    assert "# read as low carbon steel" in text
    assert tables_of(known)[0]["cut"]["speeds_rpm"] == [400]  # 50 m/min on 40 mm is 398 rpm, two digits


def test_answers_that_end_early() -> None:
    """Nothing is known then."""
    with pytest.raises(EndOfAnswersError):
        converse(questions(), iter(TURNING[:4]), say=lambda _: None)


def test_a_free_name(tmp_path: Path) -> None:
    """A file that exists is kept, a broken link too."""
    assert name_of(asked(TURNING)[0]) == "10-mm-hss-tool.toml"
    wanted = tmp_path / "bar.toml"
    assert free_path(wanted) == wanted
    wanted.touch()
    (tmp_path / "bar-2.toml").symlink_to("nowhere")
    assert free_path(wanted) == tmp_path / "bar-3.toml"


def test_the_command_writes_and_answers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """From nothing to an answer; a file of that name stays as it was; an early end writes nothing."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "stdin", io.StringIO("\n".join(TURNING[:4]) + "\n"))
    assert main(["new", "bar.toml"]) == 2
    assert "Nothing was written" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
    Path("bar.toml").write_text("mine", encoding="utf-8")
    monkeypatch.setattr(sys, "stdin", io.StringIO("\n".join(TURNING) + "\n"))
    assert main(["new", "bar.toml"]) == 0
    told = capsys.readouterr().out
    assert "bar.toml is kept; saved as bar-2.toml. 6 numbers were not asked" in told
    assert "10 mm HSS tool, 35 mm out" in told
    assert Path("bar.toml").read_text(encoding="utf-8") == "mine"
    assert parse_setup(Path("bar-2.toml").read_text(encoding="utf-8")).setup.bar.overhang_mm == 35
