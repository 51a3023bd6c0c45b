"""The command ``compare``: words, table, result file, cautions, loops, and what it refuses."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import setups
from answers import Told, told
from PIL import Image

from stickout.cli.text.comparison_screen import plain_verdict
from stickout.cli.text.verdict_words import entry_name, letter, verdict_text
from stickout.fem.compare.compare import Comparison, Entry
from stickout.fem.compare.verdict import judged
from stickout.fem.setup.bands import Spread

COARSE = ("--set=solve.accuracy=0.01", "--set=solve.modes=2")
SHIMMED = ("--with=shim.thickness=0.5", "--with=shim.material=annealed copper")
LOOSE = setups.changed(setups.WRAP, '"bonded"', '"loose"')


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Work where nothing else is."""
    monkeypatch.chdir(tmp_path)


def written(text: str, name: str = "bar.toml") -> str:
    """Write a set-up and return its file's name."""
    Path(name).write_text(text, encoding="utf-8")
    return name


def compare(*words: str) -> Told:
    """Run the command coarsely."""
    return told("compare", *words, *COARSE, "--more")


def words_of(answer: str) -> str:
    """Return an answer as one line."""
    return " ".join(answer.split())


@pytest.mark.slow
def test_before_and_after_a_shim() -> None:
    """The issue's first question: a verdict that claims nothing, copper's own share, taps, hot copper."""
    done = compare(written(setups.SLOT), *SHIMMED, "--json=out.json")
    assert (done.code, done.err) == (0, "")
    lines, text = done.out.splitlines(), words_of(done.out)
    assert max(map(len, lines)) <= 100
    # The verdict comes before any number of the tables.
    assert text.index("no difference that can be told") < text.index("Times what A has")
    for part in (
        "B Cannot be told. Springs",
        "on 0.5 mm annealed copper",
        "A with shim.thickness=0.5, with shim.material=annealed copper",
        "next to nothing",
        "one seat becomes two",
        "it cannot know",
        "Two taps settle it",
        "f²·ζ must rise",
        "annealed at a dull red heat",
        "no shim, shank 0.5 mm taller",
        "10 % less overhang: 36 mm",
    ):
        assert part in text, part
    assert "Lead" not in text
    assert "projectile" not in text
    record = json.loads(Path("out.json").read_text(encoding="utf-8"))
    assert_record(record)
    shimmed = record["entries"][1]
    assert (shimmed["role"], shimmed["verdict"]["kind"]) == ("change", "unclear")
    assert words_of(shimmed["verdict"]["sentence"]) in text
    assert shimmed["setup"]["shim"]["thickness_m"] == pytest.approx(0.5e-3)


def assert_record(record: dict[str, Any]) -> None:
    """Fail unless a record has the keys its own docstring names, with its bands in order."""
    assert set(record) == {"tool", "version", "bands", "assumptions", "entries"}
    assert [one["role"] for one in record["entries"]].count("first") == 1
    assert any("stiffness per area" in one["name"] for one in record["assumptions"])
    for entry in record["entries"]:
        keys = {"role", "name", "rival", "setup", "values", "ratios", "aligned_mode", "verdict", "widest"}
        keys |= {"cut"}
        assert set(entry) == keys
        for spread in (*entry["values"].values(), *entry["ratios"].values()):
            assert spread["low"] <= spread["likely"] <= spread["high"]
        assert (entry["verdict"] is None) == (entry["role"] == "first")
        assert sum(entry["aligned_mode"]["energy_shares"].values()) == pytest.approx(1.0)


def test_solder_bonded_and_loose() -> None:
    """Three files: lead and loose turns are warned of, rubbing is left unknown, steel does more."""
    bare = written(setups.ROUND)
    bonded, loose = written(setups.WRAPPED, "bonded.toml"), written(setups.ROUND + LOOSE, "loose.toml")
    done = compare(bare, bonded, loose)
    text = words_of(done.out)
    assert done.code == 0
    for part in (
        "no difference worth the work",
        "the note goes down",
        "Loose turns are counted as weight only",
        "or nothing",
        "Lead poisons",
        "Tin-silver solder does the same job without lead",
        "is a projectile",
        "4 mm thicker over the whole overhang",
        "pull the edge with a spring scale",
        "Surest of all: E.",
    ):
        assert part in text, part
    assert "dull red" not in text


def test_without_a_wrap_alone_on_standard_output() -> None:
    """``--without`` makes the change; with ``--json -`` the record is all there is."""
    done = compare(written(setups.WRAPPED), "--without=wrap", "--json=-")
    record = json.loads(done.out)
    first, change = record["entries"][:2]
    assert (done.code, change["name"]) == (0, "A without wrap")
    assert "wrap" in first["setup"]
    assert "wrap" not in change["setup"]
    # The rival "without it" would be the same set-up again.
    assert [one["rival"]["kind"] for one in record["entries"][2:]] == [
        "thicker there",
        "thicker all over",
        "shorter",
    ]


def test_one_set_up_alone_meets_its_rivals() -> None:
    """No change asked for: still what the same space could do, and a rigid grip's missing loss is told."""
    done = compare(written(setups.changed(setups.ROUND, '"bed"', '"rigid"')))
    text = words_of(done.out)
    assert done.code == 0
    assert "The same space spent otherwise: B 10 % less overhang: 72 mm: better." in text
    assert "What a clamped tool usually loses, loss factor 0.04 (0.02 to 0.07)" in text
    assert "Take care" not in text


@pytest.mark.slow
def test_a_loop_of_two_panes() -> None:
    """One file, twice as wide as a pane, pictures that move; the words say what both panes share."""
    done = compare(written(setups.ROUND), "--with=bar.overhang=79", "--film=both.gif")
    assert done.code == 0, done.err
    assert "One clock, one magnification, one colour range." in done.out
    with Image.open("both.gif") as film:
        assert film.size == (1280, 540)
        assert film.n_frames >= 24
        assert film.info["loop"] == 0


@pytest.mark.parametrize(
    ("words", "key", "parts"),
    [
        (("--with", "shim.thickness"), "--with", ("key=value",)),
        (("--without", "warp"), "--without", ("'warp'", "wrap")),
        (("--with", "bar.overhand=3"), "bar.overhand", ("unknown key", "'overhang'")),
        (("--with", "shim.thickness=0.5"), "shim.material", ("missing",)),
        (("--with", "grip.style=rigid"), "shim", ("held or slot",)),
        (("--film", "both.png"), "--film", (".gif",)),
        (("--film", "no/such/both.gif"), "--film", ("folder",)),
        (("--film", "both.gif", "--json", "both.gif"), "--film", ("another file",)),
        (("other.toml",), "other.toml", ("missing",)),
    ],
)
def test_what_it_refuses(words: tuple[str, ...], key: str, parts: tuple[str, ...]) -> None:
    """Exit code 2, one line, nothing solved and nothing written but the error."""
    text = setups.SQUARE + setups.SHIM if key == "shim" else setups.WRAPPED
    text = setups.SLOT if key == "shim.material" else text
    done = told("compare", written(text), *words)
    assert (done.code, done.out) == (2, "")
    lines = done.err.splitlines()
    assert len(lines) == 1, done.err
    assert lines[0].startswith(f"{key} is "), lines[0]
    assert [part for part in parts if part not in lines[0]] == [], lines[0]
    assert not Path("both.gif").exists() or "--json" in words


def test_the_help_says_what_several_changes_make() -> None:
    """Several ``--with`` are one changed set-up."""
    done = told("compare", "--help")
    assert done.code == 0
    # The help is drawn in boxes.
    assert "Several together make one changed set-up." in words_of(done.out.replace("│", " "))


def test_a_change_in_one_screen() -> None:
    """Answers page, section 4: better or not, spring, ring, chance; a rule; the set-ups side by side."""
    done = told("compare", written(setups.ROUND + setups.CUT), "--with=bar.overhang=64", *COARSE)
    assert (done.code, done.err) == (0, "")
    lines = done.out.splitlines()
    assert len(lines) <= 20
    assert max(map(len, lines)) <= 100
    rule = lines.index("-" * 64)
    above = words_of("\n".join(lines[:rule]))
    # Cube of the overhang and some seat: (80/64)^3 is 1.95, less the share that the seat gives.
    assert "B 64 mm out B Better: " in above
    assert "in 10 quiet instead of" in above
    assert not {"margin", "k·ζ"} & set(above.split())
    assert "72 mm out, a tenth less" in done.out
    assert "B should ring at" in done.out
    assert any("--more" in line for line in lines[rule:])


@pytest.mark.parametrize(
    ("stiffness", "limit", "head"),
    [
        (Spread(1.2, 1.3, 1.4), Spread(1.5, 2.5, 3.5), "Better: 23 % less spring (17 to 29)."),
        (Spread(1.05, 1.06, 1.07), Spread(1.05, 1.12, 1.2), "Slightly better: 6 % less spring"),
        (Spread(0.6, 0.7, 0.8), Spread(0.4, 0.5, 0.6), "Worse: 43 % more spring (25 to 67)."),
        (Spread(0.8, 1.1, 1.4), Spread(0.5, 1.2, 2.5), "Cannot be told. Springs 29 % less to 25 % more."),
        (Spread(1.2, 1.3, 1.4), Spread(0.5, 1.2, 2.5), "Stiffer; whether quieter cannot be told:"),
        (Spread(0.6, 0.7, 0.8), Spread(1.5, 2.0, 2.5), "A trade, softer but quieter:"),
        (Spread(0.99, 1.0, 1.01), Spread(0.95, 1.0, 1.05), "Not worth the work: same spring."),
    ],
)
def test_the_one_word_stays_inside_the_bands(stiffness: Spread, limit: Spread, head: str) -> None:
    """Better or worse only where the bands allow; a band across one cannot be told."""
    spring = Spread(1 / stiffness.high, 1 / stiffness.likely, 1 / stiffness.low)
    ratios = {
        "note_hz": Spread(1.0, 1.0, 1.0),
        "spring_m_per_n": spring,
        "stiffness_n_per_m": stiffness,
        "k_zeta_n_per_m": limit,
    }
    one = Entry("first", "x", None, None, {}, ratios, None, None)  # type: ignore[arg-type]
    two = replace(one, role="change", verdict=judged(stiffness, limit))
    assert plain_verdict(Comparison([one, two], []), two).startswith(head)


def test_letters() -> None:
    """A, B, and beyond Z a number, since a comparison may be long."""
    assert [letter(n) for n in (0, 1, 25, 26)] == ["A", "B", "Z", "#27"]


def test_the_words_stay_inside_the_bands() -> None:
    """A band across 1 is never told as more or less; one on a side is told with both its ends."""

    def told_of(stiffness: Spread, limit: Spread) -> str:
        spring = Spread(1 / stiffness.high, 1 / stiffness.likely, 1 / stiffness.low)
        ratios = {
            "note_hz": Spread(1.0, 1.0, 1.0),
            "spring_m_per_n": spring,
            "stiffness_n_per_m": stiffness,
            "k_zeta_n_per_m": limit,
        }
        entry = Entry("change", "x", None, None, {}, ratios, None, judged(stiffness, limit))  # type: ignore[arg-type]
        assert entry_name(entry) == "x"
        return verdict_text(entry)

    vague = told_of(Spread(0.8, 1.1, 1.4), Spread(0.5, 1.2, 2.5))
    assert vague.startswith("no difference that can be told.")
    assert "anything from -29 % to +25 %" in vague
    assert "anything from 0.5 to 2.5 times" in vague
    assert not {"rises", "falls", "better", "worse"} & set(vague.replace(".", "").split())
    sure = told_of(Spread(1.2, 1.3, 1.4), Spread(1.5, 2.5, 3.5))
    assert sure.startswith("better. The edge springs 23 % less (-29 % to -17 %)")
    assert "becomes 2.5 times as large (1.5 to 3.5)" in sure
    lost = told_of(Spread(0.99, 1.0, 1.01), Spread(0.0, 1.0, float("inf")))
    assert "has no value" in lost
