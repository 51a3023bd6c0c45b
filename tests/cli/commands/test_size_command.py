"""The command ``size``: the answer, its files, units, and what it refuses."""

from __future__ import annotations

import json
import math
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import setups
from answers import Told, spring, told

import stickout.fem.size.size as size_module
from stickout.cli.commands.size_reading import RoomOptions, WorkOptions, read_job
from stickout.fem.beam.hand_bar import hand_compliance_along
from stickout.fem.setup.file import read_setup
from stickout.fem.size.options import options

HOLE = ("--bore", "20", "--depth", "60")
RIGID = (*HOLE, "--grip", "rigid")


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Work where nothing else is."""
    monkeypatch.chdir(tmp_path)


@cache
def hole_run() -> tuple[Told, dict[str, Any]]:
    """Return answer and record for a 20 mm hole, solved once."""
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "size.json"
        done = told("size", *HOLE, "--more", "--json", target)
        return done, json.loads(target.read_text(encoding="utf-8"))


def record_of(*words: str) -> dict[str, Any]:
    """Run the command and return its record."""
    done = told("size", *words, "--json", "-")
    assert done.code == 0, done.err
    record: dict[str, Any] = json.loads(done.out)
    return record


def words_of(answer: str) -> str:
    """Return an answer as one line."""
    return " ".join(answer.split())


def test_the_bar_comes_first() -> None:
    """Hole less a tenth less 15 hundredths: 15 mm; then the ranking, room, sources, cautions."""
    done, _ = hole_run()
    assert (done.code, done.err) == (0, "")
    lines, text = done.out.splitlines(), words_of(done.out)
    assert max(map(len, lines)) <= 100
    assert lines[1] == "A steel bar, round 15 mm, as sold, 65 mm out of the holder (4.3 times its size)."
    for part in (
        "for every 10 N",
        "1 steel, round 15 mm",
        "Solid model (FE)",
        "in front 2 mm",
        "behind 3 mm",
        "0.75 of the hole",
        "Each millimetre more for chips",
        "How far out? The trade says 3 to 4 times its size",
        "Which metal?",
        "Which shape?",
        "How long a grip?",
        "Where to drill?",
        "within the bands of seat and metal",
        "common practice, no source",
        "An estimate, not a promise",
    ):
        assert part in text, part


def screen_of(*words: str) -> list[str]:
    """Return the lines of the answer, which must fit one screen."""
    done = told("size", *words)
    assert done.code == 0, done.err
    lines = done.out.splitlines()
    assert len(lines) <= 25
    assert max(map(len, lines)) <= 100
    return lines


@pytest.mark.slow
@pytest.mark.parametrize(
    "words",
    [
        RIGID,
        (*HOLE, "--holder", "25", "--materials", "steel, carbide"),
        ("--shoulder", "40", "--reach", "6", "--height", "10", "--gripped", "20"),
        ("--units", "inch", "--bore", "0.75", "--depth", "2", "--holder", "1"),
    ],
    ids=["hole", "sleeved", "shoulder", "inch"],
)
def test_the_answer_fits_one_screen(words: tuple[str, ...]) -> None:
    """Answers page, section 5: the bar, spring, room; a rule; the ranking; never a margin above the rule."""
    lines = screen_of(*words)
    above = " ".join(lines[: lines.index("-" * 64)])
    assert "Springs " in above
    assert "margin" not in above
    assert any(line.startswith("Metal") for line in lines)
    assert any("--more" in line for line in lines)


def test_the_same_words_twice() -> None:
    """Same input, same output."""
    one, two = (told("size", *RIGID, "--materials", "carbide", "--more") for _ in range(2))
    assert one == two
    assert (one.code, "Metals in this bar's place" in one.out) == (0, True)


def test_the_record_has_what_its_docstring_names() -> None:
    """Keys, ranks, places, and the hand formula beside the solid."""
    _, record = hole_run()
    assert set(record) == {"tool", "version", "job", "force", "bars", "assumptions", "questions"}
    asked = record["questions"]
    keys = "spring_m_per_n frequency_hz stiffness_lost_per_m_of_clearance materials shapes drilled "
    keys += "overhang grip assumptions"
    assert set(asked) == set(keys.split())
    assert asked["spring_m_per_n"]["likely"] == record["bars"][0]["spring_m_per_n"]
    assert asked["grip"]["knee_m"]["low"] < asked["grip"]["knee_m"]["high"]
    assert [one["along"] for one in asked["drilled"]] == ["y", "z"]
    springs = [one["spring_m_per_n"] for one in record["bars"]]
    assert springs == sorted(springs)
    first = record["bars"][0]
    assert (first["shape"], first["made"], first["from"]) == ("round", "stock", "solid")
    assert first["size_m"] == pytest.approx(0.015)
    assert first["place"]["behind_m"] == pytest.approx(0.003)
    assert first["margin"] is None
    for one in record["bars"]:
        # Plain bars on a bed: beam and solid agree within one per cent (check values, section e).
        assert one["hand"]["spring_m_per_n"] == pytest.approx(one["spring_m_per_n"], rel=0.01)
        assert one["hand"]["frequency_hz"] == pytest.approx(one["frequency_hz"], rel=0.01)
        assert one["place"]["least_m"] >= 0.002 - 1e-9


def test_inches_and_millimetres_agree() -> None:
    """The same hole told in mm, in inches and thou, and mixed: the same largest bars, the same springs."""
    told_so = (
        (WorkOptions(bore="19.05", depth="50.8"), RoomOptions(allowance="6.35")),
        (WorkOptions(bore="0.75", depth="2", units="inch"), RoomOptions(allowance="250 thou")),
        (WorkOptions(bore="3/4 in", depth="2 in"), RoomOptions(allowance="1/4 in")),
    )
    plain, *others = (
        {one.shape: one for one in options(read_job(*words)) if one.made == "largest"} for words in told_so
    )
    for other in others:
        for shape in ("tube", "flatted"):
            assert other[shape].size_mm == pytest.approx(plain[shape].size_mm, rel=1e-9)
            springs = [hand_compliance_along(one[shape].setup) for one in (plain, other)]
            assert springs[0] == pytest.approx(springs[1], rel=1e-9)


def test_the_best_bar_as_a_set_up(tmp_path: Path) -> None:
    """The file reads back without a warning as the bar that was ranked first; with a drawing beside it."""
    done = told("size", *HOLE, "--holder", "25", "--out", "best.toml", "--plot", "best.svg")
    assert done.code == 0, done.err
    read = read_setup(tmp_path / "best.toml")
    assert read.warnings == ()
    assert (read.setup.bar.diameter_mm, read.setup.bar.steps[0].diameter_mm) == (25.0, pytest.approx(15.0))
    assert read.setup.edge.offset_y_mm == pytest.approx(9.5)
    # The command ``modes`` on that file is the same solid, to its own accuracy of 1e-3.
    modes = told("modes", "best.toml", "--json", "-", "--set", "solve.modes=2")
    ranked = float(words_of(done.out).partition("1 steel, round 15 mm, turned from 25 mm ")[2].split()[0])
    assert 1e7 * spring(json.loads(modes.out)) == pytest.approx(ranked, abs=0.051)  # printed to 0.1 µm
    assert "<svg" in Path("best.svg").read_text(encoding="utf-8")


def test_a_cut_gives_margin_and_depth() -> None:
    """Bands in order; the whole [cut] of the set-up is asked for."""
    Path("cut.toml").write_text(setups.CUTTING, encoding="utf-8")
    wanted = ("--spring-off", "0.01", "--wanted-depth", "0.02")
    record = record_of(*HOLE, "--cut", "cut.toml", "--materials", "carbide", *wanted)
    [first] = record["bars"][:1]
    for name in ("margin", "depth_limit_m"):
        # Null is no limit: at these speeds the flank may hold any depth.
        low, likely, high = (
            math.inf if first[name][side] is None else first[name][side] for side in ("low", "likely", "high")
        )
        assert 0 < low <= likely <= high
    assert record["force"]["from"] == "force model"
    out = record["questions"]["overhang"]
    for name in ("for_spring_m", "for_depth_m"):
        assert 0 <= out[name]["low"] <= out[name]["likely"] <= out[name]["high"]
    assert any("clamping" in one["name"] for one in record["assumptions"])


def test_a_hopeless_hole() -> None:
    """A bar that springs through its room is told so, besides how slender it is."""
    done = told("size", "--bore", "8", "--depth", "250", "--grip", "rigid", "--materials", "carbide")
    text = words_of(done.out)
    assert done.code == 0
    assert "springs further than the room it has" in text
    assert "times its size; beyond 30 it whips" in text


MISTAKES = {
    "no hole": (("--depth", "60"), "--bore", ("missing", "--shoulder")),
    "both": ((*HOLE, "--shoulder", "40"), "--bore", ("together",)),
    "zero": (("--bore", "0", "--depth", "60"), "--bore", ("above 0 mm",)),
    "negative": (("--bore", "-20", "--depth", "60"), "--bore", ("is -20", "above 0 mm")),
    "no depth": (("--bore", "20"), "--depth", ("missing",)),
    "no height": (("--shoulder", "40", "--reach", "10"), "--height", ("missing",)),
    "groove in a hole": ((*HOLE, "--groove", "3"), "--groove", ("left out",)),
    "no length": (("--bore", "wide", "--depth", "60"), "--bore", ("'wide'", "bare number")),
    "comma": (("--bore", "20,5", "--depth", "60"), "--bore", ("decimal",)),
    "not a number": (("--bore", "nan", "--depth", "60"), "--bore", ("above",)),
    "units": ((*HOLE, "--units", "inches"), "--units", ("'inch'",)),
    "material": ((*HOLE, "--materials", "steel,stele"), "--materials", ("'stele'", "Did you mean 'steel'")),
    "two materials": ((*HOLE, "--materials", "solder"), "--materials", ("'solder'",)),
    "no materials": ((*HOLE, "--materials", ","), "--materials", ("missing",)),
    "tiny": (("--bore", "1", "--depth", "60"), "--bore", ("large enough",)),
    "depth in another unit": (("--bore", "20", "--depth", "60000"), "--depth", ("2000 mm", "its unit")),
    "clearance": ((*HOLE, "--clearance", "25"), "--clearance", ("below 18 mm",)),
    "cutter": ((*HOLE, "--cutter", "25"), "--cutter", ("below 17 mm",)),
    "raised": ((*HOLE, "--raised", "9"), "--raised", ("within 7.5 mm",)),
    "reach": (("--shoulder", "40", "--reach", "20", "--height", "16"), "--reach", ("below half",)),
    "grip": ((*HOLE, "--grip", "vice"), "--grip", ("bed, rigid or centres",)),
    "plot": ((*HOLE, "--plot", "bar.bmp"), "--plot", (".svg",)),
    "out": ((*HOLE, "--out", "bar.txt"), "--out", (".toml",)),
    "folder": ((*HOLE, "--plot", "none/bar.svg"), "--plot", ("folder",)),
    "hole too wide": (
        (*RIGID, "--cutter-hole", "14"),
        "--cutter-hole",
        ("below 0.9",),
    ),
    "hole outside": (
        (*RIGID, "--hole-from-end", "64"),
        "--hole-from-end",
        ("from",),
    ),
    "no spring": ((*HOLE, "--spring-off", "0"), "--spring-off", ("above 0",)),
    "depth of no cut": ((*HOLE, "--wanted-depth", "1"), "--wanted-depth", ("left out",)),
    "no cut": ((*HOLE, "--cut", "none.toml"), "none.toml", ("missing",)),
    "other cut": (
        ("--shoulder", "60", "--reach", "9", "--height", "16", "--cut", "c.toml"),
        "cut.operation",
        ("turning",),
    ),
    "pick beyond the ranking": ((*HOLE, "--pick", "99"), "--pick", ("1 to 5",)),
    "half a cut": ((*HOLE, "--cut", "r.toml"), "cut", ("section [cut]",)),
}


@pytest.mark.parametrize("wrong", MISTAKES)
def test_what_it_refuses(wrong: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Exit code 2, one line that names the option, nothing written."""
    Path("c.toml").write_text(setups.CUTTING, encoding="utf-8")
    Path("r.toml").write_text(setups.ROUND, encoding="utf-8")
    words, key, parts = MISTAKES[wrong]
    if "--pick" in words:
        monkeypatch.setattr(size_module, "_solved", None)  # nothing is computed first
    done = told("size", *words)
    assert (done.code, done.out) == (2, "")
    lines = done.err.splitlines()
    assert len(lines) == 1, done.err
    assert lines[0].startswith(f"{key} is "), lines[0]
    assert [part for part in parts if part not in lines[0]] == [], lines[0]
    assert sorted(one.name for one in Path.cwd().iterdir()) == ["c.toml", "r.toml"]


@pytest.mark.slow
def test_a_measured_post_beside_the_cut_changes_the_answer(tmp_path: Path) -> None:
    """``--cut`` takes [post] with [cut]: all of them spring more, by what the springs alone say at least."""
    text = setups.changed(setups.ROUND, 'title = "', 'title = "On a post: ') + setups.CUT
    (tmp_path / "bare.toml").write_text(text, encoding="utf-8")
    (tmp_path / "post.toml").write_text(f"{text}[post]\nn_per_um = [12, 3, 3]\n", encoding="utf-8")
    answers = {}
    for name in ("bare", "post"):
        done = told(
            "size", "--bore", "30", "--depth", "60", "--cut", f"{name}.toml", "--json", f"{name}.json"
        )
        assert done.code == 0, done.err
        answers[name] = json.loads((tmp_path / f"{name}.json").read_text(encoding="utf-8"))["bars"][0]
        said = " ".join(done.out.split())
        assert ("in post and slides, which no bar mends" in said) == (name == "post")
    more = answers["post"]["spring_m_per_n"] - answers["bare"]["spring_m_per_n"]
    assert more > 0.9 / 3e6  # 3 N/um sideways and up, and the tilting besides
