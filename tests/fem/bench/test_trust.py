"""Why a note may be believed: what of it is true of sounds whose rooms and recorders are known."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from shop import RATE, TWO, in_shop, taps, write_wav

from stickout.fem.bench.clusters import WINDOW
from stickout.fem.bench.curves import decay_curve, level_curve, tap_spectrum
from stickout.fem.bench.listening import Heard, listen
from stickout.fem.bench.trust import trust


@pytest.fixture(scope="module")
def heard(tmp_path_factory: pytest.TempPathFactory) -> Heard:
    """Return six taps of two notes in a quiet place."""
    return listen([write_wav(tmp_path_factory.mktemp("t") / "t.wav", taps(TWO, count=6, seed=5))])


def test_a_quiet_place_passes_every_test(heard: Heard) -> None:
    """The other ways to the damping find what the synthesis holds, within a tenth."""
    told = trust(heard, heard.modes[0])
    assert (told.used, told.refused) == (6, 0)
    assert told.by_envelope == pytest.approx(TWO[0][1], rel=0.1)
    assert told.by_width == pytest.approx(TWO[0][1], rel=0.1)
    assert (told.agree, told.even, told.loudness_alike, told.steady) == (True, True, True, True)


def test_a_recorder_that_turns_itself_up_is_told(tmp_path: Path) -> None:
    """A limiter with a slow release: the noise rises after the taps, and loud ones die away otherwise."""
    sound, _ = in_shop(seed=1, release=20.0)
    told = trust(heard := listen([write_wav(tmp_path / "t.wav", sound)]), heard.modes[0])
    assert (told.steady, told.loudness_alike) == (False, False)


def test_what_could_not_be_tested_is_not_called_passed(tmp_path: Path) -> None:
    """Three taps of one loudness, two notes close together: no comparison of either kind."""
    pair = ((1052.0, 0.012, 1.0), (1065.0, 0.012, 0.7))
    sound = taps(pair, count=4, sizes=(0.5, 0.6), seed=2)
    told = trust(heard := listen([write_wav(tmp_path / "t.wav", sound)]), heard.modes[0])
    assert told.loudness_alike is None
    assert (told.by_envelope, told.by_width, told.agree) == (None, None, None)


def test_curves_of_a_known_sound(heard: Heard) -> None:
    """Level at the taps, the loudest line at the note, and a decay of the true slope."""
    (file,) = heard.files
    level = level_curve(file, most=300)
    assert len(level.x) <= 300
    assert level.y.max() == pytest.approx(file.recording.level.max())
    assert abs(level.x[level.y.argmax()] - max(file.taps, key=lambda one: one.peak).start / RATE) < 0.05
    spectrum = tap_spectrum(file)
    assert spectrum is not None
    assert spectrum.x[spectrum.y.argmax()] == pytest.approx(TWO[0][0], abs=5.0)
    decay = decay_curve(heard.modes[0], file)
    assert decay is not None
    alpha = TWO[0][1] * 2 * np.pi * TWO[0][0]
    slope = np.polyfit(decay.seconds, decay.read_db, 1)[0]
    assert slope == pytest.approx(-8.686 * alpha, rel=0.03)
    assert decay.window == pytest.approx(WINDOW / alpha, rel=0.03)
    inside = decay.seconds < decay.window
    assert np.abs(decay.level_db - decay.read_db)[inside].max() < 1.5
