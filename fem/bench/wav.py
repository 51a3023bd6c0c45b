"""WAV files read block by block: whole or refused, never more in memory than one block."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from stickout.fem.bench.poles import FloatArray
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain

_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
_UNTOLD: Final = (0, 0xFFFFFFFF)  # a recorder that writes as it goes leaves these for the length
_MOST_CHANNELS: Final = 32
_RATES: Final = (1, 1_000_000)


@dataclass(frozen=True)
class WavFile:
    """Where the samples of a WAV file lie.

    Attributes
    ----------
    path
        The file.
    rate_hz
        Samples a second, from the file's own header.
    channels
        Number of channels.
    frames
        Samples of each channel.
    start
        Byte of the first sample.
    bits
        Bits of a sample.
    real
        Whether samples are floating-point numbers.
    """

    path: Path
    rate_hz: int
    channels: int
    frames: int
    start: int
    bits: int
    real: bool

    def read(self, first: int, count: int) -> FloatArray:
        """Return samples, full scale 1, shape (n, channels)."""
        width = self.bits // 8 * self.channels
        with self.path.open("rb") as file:
            file.seek(self.start + first * width)
            raw = file.read(max(min(count, self.frames - first), 0) * width)
        return _samples(raw, bits=self.bits, real=self.real).reshape(-1, self.channels)


def _samples(raw: bytes, *, bits: int, real: bool) -> FloatArray:
    """Return the numbers of a run of bytes, full scale 1."""
    if real:
        return np.frombuffer(raw, dtype=f"<f{bits // 8}").astype(float)
    if bits == 8:
        return (np.frombuffer(raw, dtype=np.uint8).astype(float) - 128.0) / 128.0
    if bits == 24:
        three = np.frombuffer(raw, dtype=np.uint8).reshape(-1, 3)
        four = np.zeros((len(three), 4), dtype=np.uint8)
        four[:, 1:] = three
        return four.view("<i4").ravel().astype(float) / 2.0**31
    return np.frombuffer(raw, dtype=f"<i{bits // 8}").astype(float) / 2.0 ** (bits - 1)


def open_wav(path: Path) -> WavFile:
    """Return where the samples of a WAV file lie; the header is checked against the file.

    Raises
    ------
    InputError
        It is not a WAV file, its form is not known, or it is shorter than its header says.

    Source
    ------
    RIFF, WAVE and RF64 chunks as in EBU Tech 3306 (recalled, not opened).
    """
    size = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(12)
        if len(head) < 12 or head[:4] not in (b"RIFF", b"RF64") or head[8:] != b"WAVE":
            raise broken(path, "not a WAV file, whatever its name says")
        form: tuple[int, ...] | None = None
        large = None
        while len(chunk := file.read(8)) == 8:
            name, length = struct.unpack("<4sI", chunk)
            at = file.tell()
            if name == b"data":
                if form is None:
                    raise broken(path, "without a description of its samples before them")
                if length == 0xFFFFFFFF and large is not None:
                    length = large
                elif length in _UNTOLD:
                    length = size - at
                return _described(path, form, at, length, size)
            body = file.read(min(length, 64))
            if name == b"ds64" and len(body) >= 16:
                large = int(struct.unpack("<Q", body[8:16])[0])
            if name == b"fmt " and len(body) >= 16:
                form = struct.unpack("<HHIIHH", body[:16])
                if form[0] == _EXTENSIBLE and len(body) >= 26:
                    form = (struct.unpack("<H", body[24:26])[0], *form[1:])
            file.seek(at + length + length % 2)
    raise broken(path, "cut off before its samples")


def _described(path: Path, form: tuple[int, ...], at: int, length: int, size: int) -> WavFile:
    """Return the samples that a header describes, checked."""
    code, channels, rate, _, _, bits = form
    known = (code == _PCM and bits in (8, 16, 24, 32)) or (code == _FLOAT and bits in (32, 64))
    if not known:
        raise broken(path, f"coded in a way not read here (format {code}, {bits} bits)")
    if not 1 <= channels <= _MOST_CHANNELS or not _RATES[0] <= rate <= _RATES[1]:
        raise broken(path, f"said to have {channels} channels at {rate} samples a second")
    if length > size - at:
        raise broken(path, f"cut off: {length} bytes of sound are declared, {max(size - at, 0)} are there")
    frames = length // (channels * bits // 8)
    return WavFile(path, rate, channels, frames, at, bits, code == _FLOAT)


def broken(path: Path, why: str) -> InputError:
    """Return the error of a recording that cannot be used."""
    return InputError(
        key="recording",
        given=Plain(f"{path.name}, {why}"),
        allowed="a whole recording (WAV, FLAC, OGG, MP3, m4a or 3gp)",
        mend="Record again, the recorder set to WAV.",
    )
