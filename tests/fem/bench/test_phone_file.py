"""Recordings as phones write them: what a codec leaves of a decay, and files that cannot be used."""

from __future__ import annotations

import builtins
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from phone import write_coded
from shop import ONE, RATE, decay, taps, write_wav
from values import assert_close

from stickout.fem.bench.listening import listen
from stickout.fem.bench.phone_file import codec_doubt
from stickout.fem.bench.poles import refine
from stickout.fem.bench.recording import open_recording
from stickout.fem.bench.taps import find_taps
from stickout.fem.errors import InputError

MODES = ((450.0, 0.02, 1.0), (1052.0, 0.012, 1.0), (2426.0, 0.01, 0.5), (8000.0, 0.005, 0.3))


def ratios(path: Path) -> dict[float, float]:
    """Return the median over taps of the damping ratio read over the true one, mode by mode."""
    recording = open_recording(path)
    rate, found = recording.rate_hz, []
    poles = np.array([2 * math.pi * hz * (1j - ratio) for hz, ratio, _ in MODES])
    for tap in find_taps(recording)[0]:
        row = []
        for at in range(len(MODES)):
            length = min(3 / -poles[at].real, 0.2)
            fitted = refine(recording.samples(tap.start, round(length * rate))[None], poles, rate_hz=rate)
            row.append(-fitted.poles[at].real / abs(fitted.poles[at]) / MODES[at][1])
        found.append(row)
    return {hz: float(one) for (hz, _, _), one in zip(MODES, np.median(found, axis=0), strict=True)}


def four_modes(rate: int, count: int) -> Any:
    """Return taps of four modes, noise 60 dB below."""
    rng = np.random.default_rng(1)
    sound = 3e-4 * rng.standard_normal(round((1 + 0.8 * count) * rate))
    for k in range(count):
        at = round((0.5 + 0.8 * k) * rate)
        for hz, ratio, size in MODES:
            ring = decay(hz, ratio, seconds=0.5, rate=rate, size=0.25 * size, phase=rng.uniform(0, 6.28))
            sound[at : at + len(ring)] += ring
    return sound


CODED = [
    ("aac", ".m4a", 64_000, 48_000, 5, {8000.0: "A.codec.aac64.8000"}),
    ("aac", ".m4a", 128_000, 44_100, 5, {1052.0: "A.codec.aac128.1052"}),
    (
        "libmp3lame",
        ".mp3",
        128_000,
        48_000,
        5,
        {1052.0: "A.codec.mp3_128.1052", 8000.0: "A.codec.mp3_128.8000"},
    ),
    # At 24 kb/s one draw of five taps scatters by 4 and 90 %: the median of thirty is asked for.
    (
        "libopus",
        ".webm",
        24_000,
        48_000,
        30,
        {1052.0: "A.codec.opus24.1052", 8000.0: "A.codec.opus24.8000"},
    ),
]


@pytest.mark.parametrize(("codec", "suffix", "bits", "rate", "count", "ids"), CODED)
def test_a_decay_through_a_codec(
    tmp_path: Path, codec: str, suffix: str, bits: int, rate: int, count: int, ids: dict[float, str]
) -> None:
    """Round trips through the encoders that the table names. [A.codec.*]."""
    path = write_coded(tmp_path / f"t{suffix}", four_modes(rate, count), rate=rate, codec=codec, bits=bits)
    found = ratios(path)
    for hz, record in ids.items():
        assert_close(record, found[hz])


def test_lossless_m4a_reads_as_wav_does(tmp_path: Path) -> None:
    """The same notes and dampings, to what 16 bits hold."""
    sound = taps(ONE, seed=1, count=5)
    phone = listen([write_coded(tmp_path / "t.m4a", sound, rate=RATE, codec="alac")])
    wav = listen([write_wav(tmp_path / "t.wav", sound)])
    assert phone.files[0].recording.rate_hz == RATE
    (one,), (other,) = phone.modes, wav.modes
    assert one.frequency_hz.likely == pytest.approx(other.frequency_hz.likely, rel=1e-6)
    assert one.damping_ratio is not None
    assert other.damping_ratio is not None
    assert one.damping_ratio.likely == pytest.approx(other.damping_ratio.likely, rel=1e-3)


def test_a_voice_message_gives_the_note_alone(tmp_path: Path) -> None:
    """The note within its interval, no damping, and why is told; coded harder it is refused whole."""
    path = write_coded(
        tmp_path / "t.webm", taps(ONE, seed=1, count=8), rate=RATE, codec="libopus", bits=24_000
    )
    heard = listen([path])
    assert heard.modes
    assert heard.modes[0].frequency_hz.likely == pytest.approx(1052.0, rel=2e-3)
    assert all(mode.damping_ratio is None for mode in heard.modes)
    assert any("voice message" in note for note in heard.modes[0].notes)
    hard = write_coded(
        tmp_path / "h.webm", taps(ONE, seed=1, count=8), rate=RATE, codec="libopus", bits=16_000
    )
    assert listen([hard]).refused


@pytest.mark.parametrize(
    ("codec", "rate", "bits", "wanted"),
    [
        ("", 8000, 0.0, 0.0),
        ("alac", 48_000, 0.0, 0.0),
        ("pcm_s16le", 8000, 0.0, 0.0),
        ("aac", 48_000, 128_000.0, 0.01),
        ("aac", 48_000, 64_000.0, 0.03),
        ("opus", 48_000, 24_000.0, math.inf),
        ("amrnb", 8000, 12_200.0, math.inf),
        ("amr_wb", 16_000, 23_000.0, math.inf),
        ("mp3", 8000, 16_000.0, math.inf),
    ],
)
def test_what_a_codec_leaves(codec: str, rate: int, bits: float, wanted: float) -> None:
    """Lossless nothing, good ones a per cent, speech no decay at all."""
    assert codec_doubt(codec, rate_hz=rate, bits_per_second=bits)[0] == wanted


@pytest.mark.parametrize("raw", [b"\0\0\0\x18ftypM4A " + bytes(200), b"no sound here, only letters" * 20])
def test_a_file_that_is_none(tmp_path: Path, raw: bytes) -> None:
    """One message, with the way out."""
    pytest.importorskip("av")
    path = tmp_path / "t.m4a"
    path.write_bytes(raw)
    with pytest.raises(InputError) as told:
        open_recording(path)
    assert "t.m4a" in str(told.value)
    assert "WAV" in told.value.mend


def test_without_the_library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The extra is named, and the other way out."""
    real = builtins.__import__

    def without(name: str, *rest: Any, **more: Any) -> Any:
        if name == "av":
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", without)
    path = tmp_path / "t.3gp"
    path.write_bytes(b"something")
    with pytest.raises(InputError) as told:
        open_recording(path)
    assert "stickout[phone]" in told.value.mend
    assert "set the recorder to WAV" in told.value.mend
