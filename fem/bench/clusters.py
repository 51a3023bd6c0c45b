"""One note out of all taps at once: its pole, tap by tap, whether it is a pair, and its intervals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.stats import t as student

from stickout.fem.bench.loudness import doubts
from stickout.fem.bench.notes import Sounds, pencil_poles
from stickout.fem.bench.poles import ComplexArray, FloatArray, Refined, refine
from stickout.fem.setup.bands import Band

LEAST_TAPS: Final = 3
_WINDOW: Final = 3.0  # time constants
_LONGEST: Final = 8192  # samples of one fit
_PAIR_LEFT: Final = 0.01  # more than this left of a tap, and more than its noise: perhaps two modes
_WORST_LEFT: Final = 0.10
_NOTE_SCATTER, _DAMPING_SCATTER = 0.01, 0.30
_TWINS: Final = 2.5  # two modes of one bar lose alike; a faster one beside it is the bend of its envelope
_AS_ONE: Final = 4.0  # damping read too high over what is left, where a pair is fitted as one
_CONFIDENCE: Final = 0.95  # one-sided: the interval holds 90 %
_SOURCE: Final = "measured: taps recorded on the bench"


@dataclass(frozen=True)
class HeardMode:
    """One note.

    Attributes
    ----------
    frequency_hz
        Its 90 % interval [Hz].
    damping_ratio
        Its 90 % interval [-]; None where only the note is trusted.
    pair
        Whether it is one of two notes too close to be told apart by one tap.
    level
        Loudness over that of the loudest [-].
    notes
        What widened the interval, or why the damping is not given.
    """

    frequency_hz: Band
    damping_ratio: Band | None
    pair: bool
    level: float
    notes: tuple[str, ...]


def heard_near(sounds: Sounds, first: ComplexArray, *, number: int) -> list[tuple[float, HeardMode]]:
    """Return one note, or the two of a pair, with their sizes; nothing where the taps do not agree.

    Parameters
    ----------
    sounds
        The taps.
    first
        First poles of all notes [1/s], shape (n,).
    number
        Which of them.

    Source
    ------
    Common poles over all taps, scatter between them by Student's t (computed here).
    """
    pole = first[number]
    for _ in range(2):
        records, rate = _records(sounds, pole)
        near = pencil_poles(records, pole, rate_hz=rate, order=1)
        pole = near[0] if len(near) else pole
    others = np.delete(first, number)
    apart = np.abs(others.imag - pole.imag) > -2.0 * pole.real
    others = others[apart & (others.imag < 0.9 * np.pi * rate)]
    joint = refine(_even(records), np.array([pole, *others]), rate_hz=rate)
    each = _each(records, joint, rate)
    beats = _beats(each, records, sounds)
    fitted, count = joint, 1
    if beats:
        tried = _split(records, joint, rate)
        if len(tried.poles) > len(joint.poles) and _separate(tried):
            fitted, count, each = tried, 2, _each(records, tried, rate)
    unsplit = beats and count == 1 and sounds.recovery_db_s == 0.0  # a gain bends an envelope as a pair does
    left = float(np.median([float(one.residual[0]) for one in each])) if unsplit else 0.0
    keep = [one for one in each if float(one.residual[0]) < _WORST_LEFT]
    if len(keep) < LEAST_TAPS:
        return []
    change = doubts(records, fitted, rate_hz=rate, sounds=sounds)
    if unsplit:
        split = -2.0 * fitted.poles[0].real / (2 * np.pi)
        why = f"perhaps a pair, split below {split:.0f} Hz: as one it reads too much damping"
        change = (change[0] - _AS_ONE * left * fitted.poles[0].real, change[1], (*change[2], why))
    rows = []
    for k in range(count):
        mode = _mode([one.poles[k] for one in keep], fitted.sd[k], change, pair=count == 2 or unsplit)
        if mode is not None:
            rows.append((float(np.median(fitted.amplitudes[k])), mode))
    return rows


def _even(records: FloatArray) -> FloatArray:
    """Return records scaled to one size each."""
    whole = np.sqrt((records**2).mean(axis=1, keepdims=True))
    return np.asarray(records / np.maximum(whole, 1e-300), dtype=np.float64)


def _records(sounds: Sounds, pole: complex) -> tuple[FloatArray, float]:
    """Return the taps over three time constants of a pole, thinned where that is very long."""
    count = round(min(_WINDOW / -pole.real, 1.0) * sounds.rate_hz)
    count = min(max(count, 96), *(len(one) for one in sounds.taps))
    records = np.stack([one[:count] for one in sounds.taps])
    step = min(int(np.ceil(count / _LONGEST)), max(int(sounds.rate_hz / (6.0 * pole.imag / (2 * np.pi))), 1))
    if step > 1:
        from scipy.signal import firwin

        kernel = firwin(8 * step + 1, 0.4 * sounds.rate_hz / step, fs=sounds.rate_hz)
        windows = np.lib.stride_tricks.sliding_window_view(records, len(kernel), axis=1)
        records = windows[:, ::step] @ kernel
    return records, sounds.rate_hz / step


def _split(records: FloatArray, joint: Refined, rate: float) -> Refined:
    """Return the fit with two poles in place of the first, or the same fit where that is no better."""
    two = pencil_poles(records, complex(joint.poles[0]), rate_hz=rate, order=2)
    if len(two) < 2:
        d = -joint.poles[0].real
        two = joint.poles[0] + np.array([0.5j * d, -0.5j * d])
    tried = refine(_even(records), np.array([*two[:2], *joint.poles[1:]]), rate_hz=rate)
    better = float(np.median(tried.residual)) < 0.7 * float(np.median(joint.residual))
    ratio = -tried.poles[:2].real / np.abs(tried.poles[:2])
    return tried if better and bool(np.all((ratio > 5e-4) & (ratio < 0.15))) else joint


def _separate(fitted: Refined) -> bool:
    """Return whether two poles lie apart by more than they are known."""
    gap = abs(fitted.poles[0] - fitted.poles[1])
    lost = -fitted.poles[:2].real
    if lost.max() > _TWINS * lost.min():
        return False
    return bool(gap > 3.0 * float(np.hypot(fitted.sd[0], fitted.sd[1])))


def _each(records: FloatArray, joint: Refined, rate: float) -> list[Refined]:
    """Return every tap fitted by itself, from the common poles."""
    return [refine(one[None], joint.poles, rate_hz=rate) for one in _even(records)]


def _beats(each: Sequence[Refined], records: FloatArray, sounds: Sounds) -> bool:
    """Return whether what one pole leaves of the taps is more than a little and more than their noise."""
    noise = np.array([float(np.std(one)) if len(one) > 8 else 0.0 for one in sounds.before])
    left = float(np.median([float(one.residual[0]) for one in each]))
    whole = float(np.median(np.sqrt((records**2).mean(axis=1))))
    return left > _PAIR_LEFT and left * whole > 2.0 * float(np.median(noise))


def _mode(
    poles: Sequence[complex], sd: float, change: tuple[float, float, tuple[str, ...]], *, pair: bool
) -> HeardMode | None:
    """Return a note from its poles tap by tap; None where they scatter too much.

    ``change`` is how far the decay rate may be too low and too high [1/s], and why.
    """
    n = len(poles)
    omega = np.abs(np.array(poles))
    alpha = -np.array(poles).real
    ratio = alpha / omega
    hz = omega / (2 * np.pi)
    if float(hz.std(ddof=1)) > _NOTE_SCATTER * float(hz.mean()) or float(ratio.mean()) <= 0:
        return None
    reach = float(student.ppf(_CONFIDENCE, n - 1))
    half = reach * float(np.sqrt(hz.var(ddof=1) + (sd / (2 * np.pi)) ** 2) / np.sqrt(n))
    mean = float(hz.mean())
    note = Band(mean - half, mean, mean + half, _SOURCE)
    zeta = float(ratio.mean())
    if float(ratio.std(ddof=1)) > _DAMPING_SCATTER * zeta:
        why = "the decay differs too much from tap to tap: the damping is not given"
        return HeardMode(note, None, pair, 1.0, (why,))
    wide = reach * float(np.sqrt(ratio.var(ddof=1) + (sd / omega.mean()) ** 2) / np.sqrt(n))
    low, high = zeta - wide - change[0] / omega.mean(), zeta + wide + change[1] / omega.mean()
    return HeardMode(note, Band(max(float(low), 0.0), zeta, float(high), _SOURCE), pair, 1.0, change[2])
