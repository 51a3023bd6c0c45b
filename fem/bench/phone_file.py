"""Recordings as phones write them (m4a, 3gp, mp4, webm): decoded once by PyAV into a scratch file on disk."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from stickout.fem.bench.poles import FloatArray
from stickout.fem.bench.wav import broken
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain

if TYPE_CHECKING:
    from av.container import InputContainer

BY_PYAV: Final = (".m4a", ".mp4", ".3gp", ".3g2", ".aac", ".amr", ".webm", ".mka", ".wma", ".mov")
# Codecs made for speech, or bit rates at which only speech survives: the note is kept, the decay is not.
SPEECH: Final = (
    "amrnb",
    "amr_nb",
    "amrwb",
    "amr_wb",
    "gsm",
    "gsm_ms",
    "speex",
    "libspeex",
    "g729",
    "adpcm_g726",
)
_WHOLE: Final = ("alac", "flac", "pcm", "wavpack")
_VOICE_BITS: Final = 40_000  # a second and channel: below, an opus file is a voice message


@dataclass(frozen=True)
class PhoneFile:
    """A decoded file; same use as ``stickout.fem.bench.wav.WavFile``.

    Attributes
    ----------
    path
        The file.
    rate_hz
        Samples a second, as the container says.
    channels, frames
        Number of channels, and samples of each.
    codec
        How the sound was coded.
    store
        Samples in a scratch file on disk that goes when nobody reads it any more, shape (frames, channels).
    """

    path: Path
    rate_hz: int
    channels: int
    frames: int
    codec: str
    store: NDArray[np.float32]

    def read(self, first: int, count: int) -> FloatArray:
        """Return samples, full scale 1, shape (n, channels)."""
        return self.store[first : first + count].astype(float)


def open_phone_file(path: Path) -> PhoneFile:
    """Return a decoded file.

    Raises
    ------
    InputError
        PyAV is not installed, or the file holds no sound or cannot be decoded.

    Source
    ------
    PyAV, bindings to FFmpeg's libraries; rate and codec from the container only.
    """
    try:
        import av  # an extra: WAV needs none
    except ImportError:
        raise InputError(
            key="recording",
            given=Plain(f"{path.name}, which needs the library PyAV"),
            allowed="WAV without it",
            mend="Install stickout[phone], or set the recorder to WAV.",
        ) from None
    try:
        with av.open(str(path)) as container:
            if not container.streams.audio:
                raise broken(path, "without sound in it")
            return _decoded(path, container, av)
    except (av.error.FFmpegError, UnicodeDecodeError) as fault:
        told = getattr(fault, "strerror", None) or "not readable"
        raise broken(path, f"not readable ({str(told).rstrip('.').lower()})") from None


def _decoded(path: Path, container: InputContainer, av: ModuleType) -> PhoneFile:
    """Return the first sound of a container, written block by block to a scratch file."""
    stream = container.streams.audio[0]
    context = stream.codec_context
    rate, channels = int(context.sample_rate or 0), int(context.channels or 0)
    if rate < 1 or channels < 1:
        raise broken(path, "without a sample rate or channels in its container")
    resampler = av.AudioResampler(format="flt", layout=context.layout.name, rate=rate)
    frames = 0
    with tempfile.TemporaryFile() as scratch:
        for frame in container.decode(stream):
            for even in resampler.resample(frame):
                # The plane is padded at its end: only the samples count.
                scratch.write(bytes(even.planes[0])[: 4 * channels * even.samples])
                frames += even.samples
        scratch.flush()
        if not frames:
            raise broken(path, "empty")
        store = np.memmap(scratch, dtype="<f4", mode="r", shape=(frames, channels))
    return PhoneFile(path, rate, channels, frames, str(context.codec.name), store)


def codec_doubt(codec: str, *, rate_hz: int, bits_per_second: float) -> tuple[float, str]:
    """Return by how much coding may have changed a decay (relative; inf: wholly), and how it is said.

    Parameters
    ----------
    codec
        Name of the codec, empty for plain samples.
    rate_hz
        Samples a second.
    bits_per_second
        Bits a second and channel, 0 where not known.

    Source
    ------
    Round trips of taps with known damping (computed here). [A.codec.*]
    """
    name = codec.lower()
    if name in SPEECH or (name and rate_hz <= 8000 and not name.startswith(_WHOLE)):
        return np.inf, "a codec made for speech"
    if not name or name.startswith(_WHOLE):
        return 0.0, ""
    if "opus" in name and 0 < bits_per_second < _VOICE_BITS:
        return np.inf, "a voice message, coded so hard that only speech survives"
    if 0 < bits_per_second < 100_000:
        return 0.03, ""
    return 0.01, ""
