"""Sound as a phone would store it: coded by FFmpeg's own encoders, through PyAV."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest


def write_coded(path: Path, sound: Any, *, rate: int, codec: str, bits: int = 0) -> Path:
    """Write one channel by a codec; the test is skipped where PyAV or the encoder is not there."""
    av = pytest.importorskip("av")
    if codec not in av.codecs_available:
        pytest.skip(f"no encoder {codec}")
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=rate)
        stream.layout = "mono"
        if bits:
            stream.bit_rate = bits
        frame = av.AudioFrame.from_ndarray(np.asarray(sound, dtype="<f4")[None], format="fltp", layout="mono")
        frame.sample_rate, frame.pts = rate, 0
        even = av.AudioResampler(
            format=stream.format.name, layout="mono", rate=rate, frame_size=stream.frame_size or 1024
        )
        for part in [*even.resample(frame), *even.resample(None)]:
            container.mux(stream.encode(part))
        container.mux(stream.encode(None))
    return path
