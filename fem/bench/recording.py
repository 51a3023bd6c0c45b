"""A recording as a source of samples: opened by its kind, scanned once in blocks, read where it matters."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
from scipy.signal import butter, sosfilt

from stickout.fem.bench.phone_file import BY_PYAV, PhoneFile, codec_doubt, open_phone_file
from stickout.fem.bench.poles import FloatArray
from stickout.fem.bench.wav import WavFile, broken, open_wav
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain

BY_SOUNDFILE: Final = (".flac", ".ogg", ".oga", ".opus", ".mp3", ".aiff", ".aif", ".caf")
_BLOCK_S: Final = 5.0
_HOP_S: Final = 1e-3
_BAND_HZ: Final = (200.0, 12_000.0)
_LEAST_S: Final = 0.1
_SILENT: Final = 1e-5


@dataclass(frozen=True)
class SoundFile:
    """A file that the library soundfile reads; same use as ``WavFile``."""

    path: Path
    rate_hz: int
    channels: int
    frames: int
    codec: str
    library: Any

    def read(self, first: int, count: int) -> FloatArray:
        """Return samples, full scale 1, shape (n, channels)."""
        try:
            with self.library.SoundFile(str(self.path)) as file:
                file.seek(first)
                return np.asarray(file.read(count, dtype="float64", always_2d=True))
        except self.library.LibsndfileError as fault:
            raise broken(self.path, f"damaged ({str(fault).rstrip('.')})") from None


@dataclass(frozen=True)
class Recording:
    """A recording scanned once.

    Attributes
    ----------
    path
        The file.
    rate_hz
        Samples a second.
    frames
        Samples of a channel.
    channel
        The louder channel; the others are not used.
    level
        Root mean square of each thousandth of a second between 200 Hz and 12 kHz, shape (n,).
    hop
        Samples of each entry of ``level``.
    peak
        Largest sample.
    read
        Returns samples of all channels: first sample and number in, shape (n, channels) out.
    coding_error
        By how much its coding may have changed a decay, relative; inf where a decay cannot be read from it.
    coding
        What kind of coding makes it so, for people; empty where it does not matter.
    """

    path: Path
    rate_hz: int
    frames: int
    channel: int
    level: FloatArray
    hop: int
    peak: float
    read: Callable[[int, int], FloatArray]
    coding_error: float = 0.0
    coding: str = ""

    def samples(self, first: int, count: int) -> FloatArray:
        """Return samples of the louder channel, shape (n,)."""
        return self.read(first, count)[:, self.channel]


def open_recording(path: Path) -> Recording:
    """Return a recording, scanned block by block: never more in memory than five seconds and its level.

    Raises
    ------
    InputError
        It cannot be read, is empty, silent, too short, or holds values that are no numbers.
    """
    source = _source(path)
    if source.frames < _LEAST_S * source.rate_hz:
        raise broken(path, "empty" if source.frames == 0 else "shorter than a tenth of a second")
    return _scanned(source)


def _source(path: Path) -> WavFile | SoundFile | PhoneFile:
    """Return the opened file, by what it begins with and how it is called."""
    if not path.is_file():
        given = Plain(f"{path}, which is {'a folder' if path.is_dir() else 'not there'}")
        raise InputError(
            key="recording", given=given, allowed="a sound file", mend="Give the name of the recording."
        )
    if path.stat().st_size == 0:
        raise broken(path, "empty")
    with path.open("rb") as file:
        head = file.read(4)
    suffix = path.suffix.lower()
    if head in (b"RIFF", b"RF64") or suffix in (".wav", ".wave"):
        return open_wav(path)
    if suffix in BY_SOUNDFILE:
        return _by_soundfile(path)
    if suffix in BY_PYAV:
        return open_phone_file(path)
    raise InputError(
        key="recording",
        given=Plain(f"{path.name}, a kind of file not read here"),
        allowed="WAV, or FLAC, OGG or MP3 with the extra sound, or m4a and 3gp with the extra phone",
        mend="Set the recorder to WAV, or save it as WAV in any sound editor.",
    )


def _by_soundfile(path: Path) -> SoundFile:
    """Return a file opened by soundfile."""
    try:
        import soundfile  # an extra: WAV needs none
    except ImportError:
        raise InputError(
            key="recording",
            given=Plain(f"{path.name}, which needs the library soundfile"),
            allowed="WAV without it",
            mend="Install stickout[sound], or set the recorder to WAV.",
        ) from None
    try:
        told = soundfile.info(str(path))
    except soundfile.LibsndfileError as fault:
        raise broken(path, f"not readable ({str(fault).rstrip('.')})") from None
    codec = {"PCM": "", "FLOAT": "", "DOUBLE": "", "MPEG": "mp3"}.get(
        told.subtype.split("_")[0], told.subtype
    )
    codec = "" if told.format in ("FLAC", "ALAC") else codec
    return SoundFile(path, told.samplerate, told.channels, told.frames, codec, soundfile)


def _scanned(source: WavFile | SoundFile | PhoneFile) -> Recording:
    """Return the recording with its level; two passes over none of it at once."""
    rate = source.rate_hz
    hop = max(round(_HOP_S * rate), 1)
    block = max(round(_BLOCK_S / _HOP_S), 1) * hop
    top = min(_BAND_HZ[1], 0.45 * rate)
    bank = butter(2, (min(_BAND_HZ[0], 0.2 * top), top), btype="band", fs=rate, output="sos")
    state = np.zeros((len(bank), 2, source.channels))
    levels, power = [], np.zeros(source.channels)
    low, high = np.full(source.channels, np.inf), np.full(source.channels, -np.inf)
    for first in range(0, source.frames, block):
        part = source.read(first, block)
        if not len(part):
            raise broken(source.path, "cut off before its end")
        if not np.isfinite(part).all():
            raise broken(source.path, "with samples that are no numbers")
        low, high = np.minimum(low, part.min(axis=0)), np.maximum(high, part.max(axis=0))
        band, state = sosfilt(bank, part, axis=0, zi=state)
        whole = band[: len(band) // hop * hop].reshape(-1, hop, source.channels)
        levels.append(np.sqrt((whole**2).mean(axis=1)))
        power += (band**2).sum(axis=0)
    if float((high - low).max()) < _SILENT:
        steady = float(np.abs(high).max()) > _SILENT
        raise broken(source.path, "a steady value without sound" if steady else "silent")
    channel = int(np.argmax(np.maximum(high, -low)))
    peak = float(max(high[channel], -low[channel]))
    level = np.concatenate(levels)[:, channel]
    codec = "" if isinstance(source, WavFile) else source.codec
    bits = 8.0 * source.path.stat().st_size * rate / (source.frames * source.channels)
    error, coding = codec_doubt(codec, rate_hz=rate, bits_per_second=bits)
    return Recording(source.path, rate, source.frames, channel, level, hop, peak, source.read, error, coding)
