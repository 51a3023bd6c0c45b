"""One note out of all taps at once: its pole, tap by tap, whether it is a pair, and its intervals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.stats import t as student

from stickout.fem.bench.loudness import Doubt, doubts
from stickout.fem.bench.notes import Sounds, pencil_poles
from stickout.fem.bench.poles import ComplexArray, FloatArray, Refined, refine
from stickout.fem.setup.bands import Band

LEAST_TAPS: Final = 3
WINDOW: Final = 3.0  # time constants that are read
_LONGEST: Final = 8192  # samples of one fit
_PAIR_LEFT: Final = 0.01  # so much less is left of a tap by a second pole, and more than noise: perhaps two
_PAIR_BEND: Final = 0.048  # a pair fitted as one leaves so much of a tap, times (separation over decay)^2
_WORST_LEFT: Final = 0.10
_NOTE_SCATTER, _DAMPING_SCATTER = 0.01, 0.30
_TWINS: Final = 2.5  # two modes of one bar lose alike; a faster one beside it is the bend of its envelope
_BETTER: Final = 0.7  # two poles must leave so much less than one
_AS_ONE: Final = 4.0  # damping read too high over what is left, where a pair is fitted as one
_CONFIDENCE: Final = 0.975  # one-sided: taps are few and not normal, and at least 90 % is promised
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
    fitted, told = joint, 0.0
    tried = _split(records, joint, rate)
    if tried is not None:
        both = _each(records, tried, rate)
        told = _explained(each, both)
        apart = _separate(tried) and _left(tried) < _BETTER * _left(joint)
        if apart and told > _over_noise(records, sounds):
            fitted, each = tried, both
    count = 1 if fitted is joint else 2
    keep = [one for one in each if float(one.residual[0]) < _WORST_LEFT]
    if len(keep) < LEAST_TAPS:
        return []
    doubt = doubts(records, fitted, each=each, rate_hz=rate, sounds=sounds)
    pair = count == 2
    if count == 1:
        doubt, pair = _as_one(fitted, doubt, told=told, sounds=sounds, records=records)
    rows = []
    for k in range(count):
        poles = [one.poles[k] for one in keep]
        own = _between(poles, fitted.poles[k], doubt) if count == 2 else doubt
        mode = _mode(poles, fitted.sd[k], own, pair=pair)
        if mode is not None:
            rows.append((float(np.median(fitted.amplitudes[k])), mode))
    return rows


def _as_one(
    fitted: Refined, doubt: Doubt, *, told: float, sounds: Sounds, records: FloatArray
) -> tuple[Doubt, bool]:
    """Return the doubts of a note fitted as one, and whether it is perhaps a pair.

    ``told`` is the part of a tap that a second pole explains: no pair can lie further apart than it says.
    """
    alpha = -float(fitted.poles[0].real)
    apart = alpha * float(np.sqrt(told / _PAIR_BEND))
    doubt = replace(doubt, aside=0.5 * apart)
    # A gain bends an envelope as a pair does.
    if sounds.recovery_db_s > 0.0 or told < max(_PAIR_LEFT, _over_noise(records, sounds)):
        return doubt, False
    why = f"perhaps a pair, split below {max(apart, alpha) / np.pi:.0f} Hz: as one it reads too much damping"
    low = doubt.low + _AS_ONE * told * alpha
    return replace(doubt, low=low, reasons=(*doubt.reasons, why)), True


def _even(records: FloatArray) -> FloatArray:
    """Return records scaled to one size each."""
    whole = np.sqrt((records**2).mean(axis=1, keepdims=True))
    return np.asarray(records / np.maximum(whole, 1e-300), dtype=np.float64)


def _records(sounds: Sounds, pole: complex) -> tuple[FloatArray, float]:
    """Return the taps over three time constants of a pole, thinned where that is very long."""
    count = round(min(WINDOW / -pole.real, 1.0) * sounds.rate_hz)
    count = min(max(count, 96), *(len(one) for one in sounds.taps))
    records = np.stack([one[:count] for one in sounds.taps])
    step = min(int(np.ceil(count / _LONGEST)), max(int(sounds.rate_hz / (6.0 * pole.imag / (2 * np.pi))), 1))
    if step > 1:
        from scipy.signal import firwin

        kernel = firwin(8 * step + 1, 0.4 * sounds.rate_hz / step, fs=sounds.rate_hz)
        windows = np.lib.stride_tricks.sliding_window_view(records, len(kernel), axis=1)
        records = windows[:, ::step] @ kernel
    return records, sounds.rate_hz / step


def _split(records: FloatArray, joint: Refined, rate: float) -> Refined | None:
    """Return the fit with two poles in place of the first; None where they are not those of a held bar."""
    two = pencil_poles(records, complex(joint.poles[0]), rate_hz=rate, order=2)
    if len(two) < 2:
        d = -joint.poles[0].real
        two = joint.poles[0] + np.array([0.5j * d, -0.5j * d])
    tried = refine(_even(records), np.array([*two[:2], *joint.poles[1:]]), rate_hz=rate)
    ratio = -tried.poles[:2].real / np.abs(tried.poles[:2])
    return tried if bool(np.all((ratio > 5e-4) & (ratio < 0.15))) else None


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


def _between(poles: Sequence[complex], common: complex, doubt: Doubt) -> Doubt:
    """Return the doubts of one note of a pair: single taps and all together split a close one differently."""
    apart = complex(np.mean(poles)) - common
    aside, faster = max(doubt.aside, abs(apart.imag)), abs(apart.real)
    return replace(doubt, aside=aside, low=doubt.low + faster, high=doubt.high + faster)


def _left(fitted: Refined) -> float:
    """Return what a fit leaves of a usual record."""
    return float(np.median(fitted.residual))


def _explained(one: Sequence[Refined], two: Sequence[Refined]) -> float:
    """Return what a second pole explains of single taps: that they scatter is no second mode."""
    gone = [float(a.residual[0] ** 2 - b.residual[0] ** 2) for a, b in zip(one, two, strict=True)]
    return float(np.sqrt(max(np.median(gone), 0.0)))


def _over_noise(records: FloatArray, sounds: Sounds) -> float:
    """Return which part of a tap is more than its noise."""
    noise = np.array([float(np.std(one)) if len(one) > 8 else 0.0 for one in sounds.before])
    whole = float(np.median(np.sqrt((records**2).mean(axis=1))))
    return 2.0 * float(np.median(noise)) / whole


def _mode(poles: Sequence[complex], sd: float, doubt: Doubt, *, pair: bool) -> HeardMode | None:
    """Return a note from its poles tap by tap; None where they scatter too much."""
    n = len(poles)
    omega = np.abs(np.array(poles))
    alpha = -np.array(poles).real
    ratio = alpha / omega
    hz = omega / (2 * np.pi)
    if float(hz.std(ddof=1)) > _NOTE_SCATTER * float(hz.mean()) or float(ratio.mean()) <= 0:
        return None
    reach = float(student.ppf(_CONFIDENCE, n - 1))
    half = reach * float(np.sqrt(hz.var(ddof=1) + (sd / (2 * np.pi)) ** 2) / np.sqrt(n))
    half += doubt.aside / (2 * np.pi)
    mean = float(hz.mean())
    note = Band(mean - half, mean, mean + half, _SOURCE)
    zeta = float(ratio.mean())
    if float(ratio.std(ddof=1)) > _DAMPING_SCATTER * zeta:
        why = "the decay differs too much from tap to tap: the damping is not given"
        return HeardMode(note, None, pair, 1.0, (why,))
    wide = reach * float(np.sqrt(ratio.var(ddof=1) + (sd / omega.mean()) ** 2) / np.sqrt(n))
    low, high = zeta - wide - doubt.low / omega.mean(), zeta + wide + doubt.high / omega.mean()
    return HeardMode(note, Band(max(float(low), 0.0), zeta, float(high), _SOURCE), pair, 1.0, doubt.reasons)
