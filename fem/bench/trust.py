"""Why a note and its damping may be believed: taps that counted, their scatter, other ways to the damping.

None of it is the answer; each is a test that could have failed. What failed has widened the interval.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.bench.clusters import WINDOW, HeardMode
from stickout.fem.bench.cross_checks import envelope_decay, half_power_ratio
from stickout.fem.bench.listening import Heard
from stickout.fem.bench.loudness import BENDS, BY_LOUDNESS, TURNS_UP, loud_and_soft

AGREE: Final = 0.10  # of a damping ratio: the other ways are no better than that in a shop
_ALONE_HZ: Final = 400.0  # the envelope lets through 200 Hz to either side
_LONG: Final = 12.0  # time constants: enough for a width, and hardly more room than the ringing has
_MOST: Final = 12  # taps of a recording: the middle one of them is told
_SETTLED_S: Final = 3e-3  # of the filter of the envelope


@dataclass(frozen=True)
class Trust:
    """What a note rests on; None where a test could not be made.

    Attributes
    ----------
    used, refused
        Taps that counted, and those that did not.
    note_share, damping_share
        Half the 90 % interval of note and damping ratio over the likely value, scatter between taps in it.
    by_envelope, by_width
        Damping ratio by the slope of the envelope and by the width of the peak at half power.
    agree
        Whether these lie as near as they can be trusted.
    even
        Whether the early and the late part of a tap die away alike: no room, no gain.
    loudness_alike
        Whether loud and soft taps die away alike: no gain, and a joint that is linear.
    steady
        Whether the noise does not rise after the taps, as it does where a recorder's gain comes back.
    """

    used: int
    refused: int
    note_share: float
    damping_share: float | None
    by_envelope: float | None
    by_width: float | None
    agree: bool | None
    even: bool | None
    loudness_alike: bool | None
    steady: bool | None


def trust(heard: Heard, mode: HeardMode) -> Trust:
    """Return what one of the notes that were heard rests on.

    Parameters
    ----------
    heard
        What was heard.
    mode
        One of its notes.

    Returns
    -------
    Trust

    Source
    ------
    Envelope and half-power width on a lone mode; they are good to a tenth (computed here).
    """
    used = sum(len(one.taps) for one in heard.files)
    refused = sum(len(one.refused_taps) for one in heard.files)
    hz, loss = mode.frequency_hz, mode.damping_ratio
    envelope, width = _other_ways(heard, mode)
    found = [one for one in (envelope, width) if one is not None]
    agree = None
    if loss is not None and found:
        near = max(AGREE, 0.5 * (loss.high - loss.low) / loss.likely)
        agree = all(abs(one / loss.likely - 1.0) <= near for one in found)
    told = loss is not None
    peaks = np.array([tap.peak for one in heard.files for tap in one.taps])
    return Trust(
        used,
        refused,
        0.5 * (hz.high - hz.low) / hz.likely,
        None if loss is None else 0.5 * (loss.high - loss.low) / loss.likely,
        envelope,
        width,
        agree,
        BENDS not in mode.notes if told else None,
        BY_LOUDNESS not in mode.notes if told and loud_and_soft(peaks) else None,
        not any(note.startswith(TURNS_UP) for note in mode.notes) if told else None,
    )


def _other_ways(heard: Heard, mode: HeardMode) -> tuple[float | None, float | None]:
    """Return the damping ratio by envelope and by half-power width, the middle one of all taps."""
    hz, loss = mode.frequency_hz.likely, mode.damping_ratio
    beside = [abs(one.frequency_hz.likely - hz) for one in heard.modes if one is not mode]
    if loss is None or mode.pair or min(beside, default=np.inf) < _ALONE_HZ:
        return None, None
    omega = 2 * np.pi * hz
    window = WINDOW / (loss.likely * omega)
    by_envelope, by_width = [], []
    for one in heard.files:
        rate = float(one.recording.rate_hz)
        for tap in one.taps[:: max(-(-len(one.taps) // _MOST), 1)]:
            sound = one.recording.samples(tap.start, min(tap.room, round(_LONG * window / WINDOW * rate)))
            if len(sound) / rate < _SETTLED_S + window:
                continue
            alpha = envelope_decay(sound, hz, rate_hz=rate, seconds=(_SETTLED_S, _SETTLED_S + window))
            by_envelope.append(alpha / omega)
            width = half_power_ratio(sound, hz, rate_hz=rate)
            if width is not None:
                by_width.append(width)
    return _middle(by_envelope), _middle(by_width)


def _middle(values: list[float]) -> float | None:
    """Return the median; None of nothing."""
    return float(np.median(values)) if values else None
