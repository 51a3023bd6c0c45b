"""A squeal in numbers against the check values, and synthetic cuts with lines of known origin."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
from bench_bounds import tone_sd
from bench_references import crest_step, wave_phase
from shop import RATE, write_wav
from values import assert_close

from stickout.fem.bench.cutting import FORCED, NONE, SINGS, UNTOLD, Machine, Recorded, hear_cut
from stickout.fem.bench.lines import GEAR, IDLE, MAINS, SPINDLE, Comb, Line, sorted_lines
from stickout.fem.bench.squeal import (
    ELSEWHERE,
    Candidate,
    blind_above,
    likelihood,
    mark_pitch,
    which_sings,
)
from stickout.fem.chatter.lobes import waves_per_turn
from stickout.fem.errors import InputError

HZ, RPM, D = 1071.2, 415.0, 0.024
MODES = [
    Candidate("tool", 1051.6, 0.03, 0.02),
    Candidate("work", 1454.0, 0.15, 0.01),
    Candidate("post", 600.0, 0.3, 0.03),
]


def test_waves_marks_and_tones() -> None:
    """Closed forms. [A4.waves, A4.blind, A4.eps.*, A4.pitch, A4.shift, A4.tone]."""
    assert_close("A4.waves", float(waves_per_turn(2 * math.pi * HZ, RPM)))
    assert_close("A4.blind", blind_above(RPM, HZ))
    assert_close("A4.eps.pos", math.degrees(wave_phase(0.03)))
    assert_close("A4.eps.neg", math.degrees(wave_phase(0.03, opens=False)))
    pitch = mark_pitch(D, RPM, hz=HZ)
    assert_close("A4.pitch", 1e3 * pitch)
    assert_close("A4.shift", 1e3 * crest_step(pitch, 0.03))
    assert crest_step(pitch, 0.03, opens=False) < 0 < crest_step(pitch, 0.03)
    assert_close("A4.tone", tone_sd(1.0, samples=4800, rate_hz=48_000.0))


def test_which_mode_sings() -> None:
    """Three candidates, the flat rest left out of the table's numbers and counted in ours. [A4.which.*]."""
    weights = {one.name: likelihood(1072.0, one) for one in MODES}
    for name, weight in weights.items():
        assert_close(f"A4.which.{name}", weight / sum(weights.values()))
    found = which_sings(1072.0, MODES)
    assert found.best == "tool"
    assert sum(found.shares.values()) == pytest.approx(1.0)
    assert found.shares[ELSEWHERE] == pytest.approx(0.013, abs=0.003)


def test_three_bad_candidates_do_not_make_a_good_one() -> None:
    """A note far from every mode, and one between two: nothing is named; one below all is said to be."""
    far = which_sings(5000.0, MODES)
    assert far.best is None
    assert far.shares[ELSEWHERE] > 0.9
    assert which_sings(1200.0, MODES).best is None
    low = which_sings(150.0, MODES)
    assert low.below
    assert not which_sings(1072.0, MODES).below


def cut(
    path: Path,
    tones: Mapping[float, float],
    *,
    turns: float = RPM / 60,
    comb: float = 0.02,
    seconds: float = 6,
) -> Path:
    """Write a cut: tones, the first nine lines of a spindle, and noise."""
    rng, t = np.random.default_rng(3), np.arange(round(seconds * RATE)) / RATE
    sound = 2e-3 * rng.standard_normal(len(t))
    for order in range(1, 10):
        sound += comb / order * np.sin(2 * np.pi * order * turns * t + order)
    for hz, size in tones.items():
        sound += size * np.sin(2 * np.pi * hz * t + hz)
    return write_wav(path, sound)


TURNS = RPM / 60 * 1.021  # the chart is off by two per cent


def test_a_note_off_the_comb_sings(tmp_path: Path) -> None:
    """Lines sorted; the speed is taken from the comb; sidebands at one turn are seen."""
    note = 155.4 * TURNS
    tones = {note: 0.2, note - TURNS: 0.05, note + TURNS: 0.05, 100.0: 0.05, 37 * TURNS: 0.05}
    found = hear_cut(
        Recorded(cut(tmp_path / "c.wav", tones, turns=TURNS), RPM), machine=Machine(teeth=(37,)), modes=MODES
    )
    assert found.comb.heard
    assert found.comb.turns == pytest.approx(TURNS, rel=1e-3)
    assert found.note is not None
    assert found.note.hz == pytest.approx(note, abs=0.1)
    assert found.verdict == SINGS
    assert found.sidebands == (1,)
    kinds = {round(one.hz): one.kind for one in found.lines}
    assert kinds[100] == MAINS
    assert kinds[round(37 * TURNS)] == GEAR
    assert kinds[round(TURNS * 3)] == SPINDLE
    assert found.match is not None
    assert found.match.best == "tool"


def test_a_line_of_the_comb_is_forced(tmp_path: Path) -> None:
    """Ninety times the spindle's speed, on the line."""
    found = hear_cut(Recorded(cut(tmp_path / "c.wav", {90 * TURNS: 0.2}, turns=TURNS), RPM))
    assert found.verdict == FORCED
    assert "line 90" in found.why


def test_near_a_line_by_chance_is_not_forced(tmp_path: Path) -> None:
    """The comb is heard, but so high up the note could stand there anyway."""
    found = hear_cut(Recorded(cut(tmp_path / "c.wav", {400.05 * TURNS: 0.2}, turns=TURNS), RPM))
    assert found.verdict == UNTOLD
    assert "chance" in found.why


def test_a_speed_not_known_is_refused(tmp_path: Path) -> None:
    """No comb to be heard and a belt chart: nothing is said from one recording, but from two."""
    one = cut(tmp_path / "a.wav", {1071.2: 0.2}, comb=0.0)
    found = hear_cut(Recorded(one, RPM))
    assert found.verdict == UNTOLD
    assert "0.16 %" in found.why
    kept = hear_cut(Recorded(one, RPM), other=Recorded(cut(tmp_path / "b.wav", {1075: 0.2}, comb=0), 460.0))
    assert kept.verdict == SINGS
    follows = cut(tmp_path / "d.wav", {1071.2 * 460 / RPM: 0.2}, comb=0.0)
    assert hear_cut(Recorded(one, RPM), other=Recorded(follows, 460.0)).verdict == FORCED
    with pytest.raises(InputError, match="five per cent"):
        hear_cut(Recorded(one, RPM), other=Recorded(follows, 430.0))


def test_what_idles_too_is_no_note(tmp_path: Path) -> None:
    """The same whine with and without a cut."""
    tones = {742.3: 0.1}
    idle = cut(tmp_path / "i.wav", tones)
    found = hear_cut(Recorded(cut(tmp_path / "c.wav", tones), RPM, idle=idle))
    assert {one.kind for one in found.lines if abs(one.hz - 742.3) < 1} == {IDLE}
    assert found.verdict == NONE


@pytest.mark.parametrize(("rpm", "seconds", "words"), [(0.0, 6, "rpm"), (415.0, 0.3, "three turns")])
def test_a_cut_that_cannot_be_read(tmp_path: Path, rpm: float, seconds: float, words: str) -> None:
    """One message each."""
    path = cut(tmp_path / "c.wav", {1000.0: 0.1}, seconds=seconds)
    with pytest.raises(InputError, match=words):
        hear_cut(Recorded(path, rpm))


def test_a_high_multiple_of_the_mains_needs_a_low_one() -> None:
    """1081.6 Hz is within a fifth of a per cent of 18 times 60 Hz: mains only where 120 Hz hums too."""
    alone, hum = Line(1081.6, 0.06, 0.0), Line(120.0, 0.06, -10.0)
    comb = Comb(7.3, 1e-4, heard=True)
    assert sorted_lines([alone], comb)[0].kind != MAINS
    assert [one.kind for one in sorted_lines([alone, hum], comb)] == [MAINS, MAINS]
