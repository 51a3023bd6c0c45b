"""Sounds that people recorded for other ends, of a library: speech, music, drums, a hall; none a tap.

They are the samples that the package pyo carries (LGPL); the package itself is never imported.
"""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, PackagePath, files
from pathlib import Path

import numpy as np
import pytest
import soundfile
from shop import write_wav

from stickout.fem.bench.listening import listen
from stickout.fem.bench.poles import refine

# Not its struck tubes (alum), which are taps, though of too few blows.
NAMES = {
    "baseballmajeur_m.aif": "speech",
    "ounkmaster.aif": "voices and noises",
    "transparent.aif": "a word",
    "flute.aif": "a flute",
    "accord.aif": "a chord",
    "drumloop.wav": "drums",
    "IRMediumHallStereo.wav": "a hall's answer to one blow",
}


def sample(name: str) -> Path:
    """Return the path of a sample."""
    try:
        listed: list[PackagePath] = files("pyo") or []
    except PackageNotFoundError:
        pytest.skip("pyo has no wheel for this machine")
    [found] = [one for one in listed if one.name == name]
    return Path(str(found.locate()))


SECONDS = 2.0


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_a_sound_of_a_library_is_no_tap(tmp_path: Path, name: str) -> None:
    """Its first two seconds are refused as a whole, with words, and no note told."""
    sound, rate = soundfile.read(sample(name), always_2d=True)
    heard = listen([write_wav(tmp_path / "s.wav", sound[: round(SECONDS * rate)], rate=rate)])
    assert heard.refused
    assert not heard.modes


def test_a_pole_that_no_record_holds_stays() -> None:
    """Silence tells nothing of a pole: it is left as it was, and nothing fails."""
    pole = np.array([-80.0 + 6600j])
    found = refine(np.zeros((1, 400)), pole, rate_hz=12_000)
    assert found.poles == pytest.approx(pole)
    assert np.all(found.amplitudes == 0.0)
