"""Pulls against least squares by hand, part A2 of the check values, and readings with known answers."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.stats import t as student
from values import assert_close

from stickout.fem.bench.log import read_log
from stickout.fem.bench.pull import (
    Pull,
    fit_line,
    loop_loss,
    read_pull,
    slope_sd,
)
from stickout.fem.bench.split import split_by_base
from stickout.fem.errors import InputError
from stickout.fem.setup.setup_error import SetupError

LOADS = np.array([20.0, 40, 60, 80, 100])
READINGS = np.array([13, 24.5, 37, 48, 60])


def test_line_and_errors() -> None:
    """Slope, its 95 % interval, what to expect before reading, and the better plan. [A2.ols.*, A2.design]."""
    line = fit_line(LOADS, READINGS)
    assert_close("A2.ols.slope", line.slope)
    assert_close("A2.ols.ci", line.sd * float(student.ppf(0.975, line.free)))
    assert_close("A2.ols.sd_a_priori", slope_sd(LOADS, slope=0.5875, reading_sd=2.0, load_sd=1.0))
    even = slope_sd(np.linspace(20, 100, 6), slope=0.6, reading_sd=2.0, load_sd=1.0)
    ends = slope_sd(np.array([20.0] * 3 + [100.0] * 3), slope=0.6, reading_sd=2.0, load_sd=1.0)
    assert_close("A2.design", even / ends)


def test_loop() -> None:
    """An ellipse. [A2.loop]."""
    assert_close("A2.loop", loop_loss(0.5, compliance=0.6, load=50.0))


def pulled(true: float, *, seed: int = 0, slack: float = 0.0, base: str = "post", bend: float = 0.0) -> Pull:
    """Return readings of a known compliance: up and down, noise of a dial and a scale."""
    rng = np.random.default_rng(seed)
    loads = np.array([0.0, 20, 40, 60, 80, 100, 80, 60, 40, 20, 0])
    real = loads * (1 + 0.015 * rng.standard_normal()) + np.where(loads > 0, rng.standard_normal(11), 0.0)
    moved = true * real + bend * real**2 + slack * (loads > 0)
    return Pull(base, 0.08, 0.08, loads, moved + 2e-6 * rng.standard_normal(11))


def test_the_interval_holds() -> None:
    """Ninety per cent asked for: at least 33 of 40 seeds (fewer: about 1 in 20)."""
    held = 0
    for seed in range(40):
        band = read_pull(pulled(0.6e-6, seed=seed)).compliance
        assert band is not None
        assert band.high - band.low < 0.25 * band.likely
        held += band.low <= 0.6e-6 <= band.high
    assert held >= 33


def test_slack_and_bend_are_told() -> None:
    """20 µm before it bites; a spring that gives more under load."""
    slack = read_pull(pulled(0.6e-6, slack=20e-6))
    assert slack.slack == pytest.approx(20e-6, rel=0.25)
    assert slack.compliance is not None
    assert slack.compliance.likely == pytest.approx(0.6e-6, rel=0.08)
    assert any("slack" in note for note in slack.notes)
    bent = read_pull(pulled(0.4e-6, bend=4e-9))
    assert any("loosens" in note for note in bent.notes)
    assert bent.compliance is not None
    assert bent.compliance.likely == pytest.approx(0.4e-6 + 2 * 4e-9 * 100, rel=0.2)


@pytest.mark.parametrize(
    ("loads", "readings", "words"),
    [
        ([0, 20, 0, 20], [0, 12, 0, 12], "different loads"),
        ([0, 2, 4, 6], [0, 1, 2, 3], "less than 10"),
        ([0, 20, 40, 60], [0, 30, 5, 12], "scatter"),
    ],
)
def test_refusals(loads: list[float], readings: list[float], words: str) -> None:
    """Too few loads, too little movement, readings without a slope."""
    one = read_pull(Pull("bed", 0.08, 0.08, np.array(loads, float), 1e-6 * np.array(readings, float)))
    assert one.compliance is None
    assert words in str(one.refused)


def test_two_bases_split_the_movement() -> None:
    """Dial on bed, post and holder: springs in series."""
    pulls = [
        read_pull(pulled(c, base=b)) for c, b in ((0.9e-6, "bed"), (0.6e-6, "post"), (0.25e-6, "holder"))
    ]
    split = split_by_base(pulls)
    assert split["carrier"].low < 0.3e-6 < split["carrier"].high
    assert split["grip"].low < 0.35e-6 < split["grip"].high
    assert set(split) == {"tool", "grip", "carrier"}


GOOD = (
    '[[pull]]\nbase = "post"\nload_at = 80\ndial_at = 75\nloads_n = [0, 20, 40]\nreadings_um = [0, 11, 23]\n'
)


def test_a_log_is_read(tmp_path: Path) -> None:
    """SI inside, recordings beside the log."""
    path = tmp_path / "log.toml"
    path.write_text(GOOD + '[[tap]]\nrecording = "t.wav"\noverhang = 60\nmass_g = 20\n')
    log = read_log(path)
    assert log.pulls[0].dial_at == pytest.approx(0.075)
    assert log.pulls[0].readings[2] == pytest.approx(23e-6)
    assert log.taps[0].recording == tmp_path / "t.wav"
    assert (log.taps[0].overhang, log.taps[0].mass) == (pytest.approx(0.06), pytest.approx(0.02))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (GOOD.replace('"post"', '"pots"'), "post"),
        (GOOD.replace("dial_at = 75\n", ""), "dial_at"),
        (GOOD.replace("[0, 11, 23]", "[0, 11]"), "2 readings for 3 loads"),
        (GOOD.replace("load_at", "laod_at"), "load_at"),
        (GOOD.replace("[[pull]]", "[[pul]]"), "pull"),
        ("", "empty"),
        ("pull = 3", "list of tables"),
    ],
)
def test_a_faulty_log_is_one_message(tmp_path: Path, text: str, words: str) -> None:
    """What was given, what is allowed, how to mend it."""
    path = tmp_path / "log.toml"
    path.write_text(text)
    with pytest.raises((InputError, SetupError)) as told:
        read_log(path)
    assert words in str(told.value)
