"""Write a loop as .mp4 or .webm, where the extra ``video`` is installed."""

from __future__ import annotations

import importlib
import importlib.util
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from stickout.cli.show.scene.picture import Pictures
from stickout.meshes.errors import InputError

LOOPS = 3
FRAMES_PER_S = 20
_CODECS: dict[str, tuple[str, list[str]]] = {
    ".mp4": ("libx264", ["-crf", "20", "-movflags", "+faststart"]),
    ".webm": ("libvpx-vp9", ["-crf", "32", "-b:v", "0"]),
}


def check_video(out: Path) -> None:
    """Raise InputError when the package that writes videos is not installed."""
    if importlib.util.find_spec("imageio_ffmpeg") is None:
        raise InputError(
            key="--out",
            given=str(out),
            allowed="a .gif as long as the extra 'video' is not installed",
            mend="Install it with: pip install 'stickout[video]'. Or ask for a .gif.",
        )


def write_video(pictures: Sequence[Pictures], path: Path) -> None:
    """Write pictures (height, width, 3) with even sides as a video of three loops.

    ``path`` ends in .mp4 (H.264, plain 4:2:0 colour, which every player reads) or .webm (VP9).
    """
    imageio_ffmpeg: Any = importlib.import_module("imageio_ffmpeg")
    codec, options = _CODECS[path.suffix.lower()]
    height, width, _ = pictures[0].shape
    writer: Any = imageio_ffmpeg.write_frames(
        str(path),
        (width, height),
        fps=FRAMES_PER_S,
        codec=codec,
        quality=None,
        pix_fmt_out="yuv420p",
        macro_block_size=2,
        output_params=options,
        ffmpeg_log_level="error",
    )
    writer.send(None)
    try:
        for picture in [*pictures] * LOOPS:
            writer.send(np.ascontiguousarray(picture))
    finally:
        writer.close()
