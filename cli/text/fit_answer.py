"""What the bench taught about a set-up, in words: predictions before and after, then the grip."""

from __future__ import annotations

from typing import Final

from stickout.cli.text.words import LOAD_N, folded, plain
from stickout.fem.bench.fit import Fitted, Predictions
from stickout.fem.setup.bands import Band

_WIDTH: Final = 28
CAUTION: Final = (
    "Intervals hold nine times in ten if the model is right; 0.75 % of the note is allowed for mesh, modulus "
    "and diameter. The shear ratio of the seat cannot be learnt from taps and stays assumed. A tap moves the "
    "seat far less than a cut does: its damping is right for where chatter begins, low for loud chatter."
)


def fit_text(fitted: Fitted, *, at: str) -> str:
    """Return the answer of ``fit``; ``at`` is what was changed for the prediction, or nothing."""
    after, before = fitted.predictions, fitted.before
    lines = folded(_headline(fitted))
    if fitted.disagreement:
        lines += ["", *folded(f"Note and model disagree: {fitted.disagreement}. Nothing was averaged.")]
    head = f"Predicted{' at ' + at if at else ''}"
    lines += ["", f"{head.ljust(_WIDTH + 2)}{'measured'.ljust(_WIDTH)}before"]
    for words, now, then in _rows(after, before):
        lines.append(f"  {words.ljust(_WIDTH)}{now.ljust(_WIDTH)}{then}".rstrip())
    if fitted.parameters:
        lines += ["", "By-product, the grip"]
        lines += [f"  {key} = {_band(band)}" for key, band in fitted.parameters.items()]
    solves = f"Models solved: {fitted.full_solves}."
    return "\n".join([*lines, "", *folded(CAUTION), solves]) + "\n"


def _headline(fitted: Fitted) -> str:
    """Return how much narrower the margin, or the note, has become."""
    after, before = fitted.predictions, fitted.before
    if after.margin is not None and before.margin is not None:
        now, then = _factor(after.margin), _factor(before.margin)
        return (
            f"Margin {_band(after.margin)}: known to a factor of {plain(now)}, before to {plain(then)} "
            "(high over low, at any speed, rubbing of the flank left out)."
        )
    return f"Note {_band(after.frequency_hz, 4)} Hz, before {_band(before.frequency_hz, 4)} Hz."


def _rows(after: Predictions, before: Predictions) -> list[tuple[str, str, str]]:
    """Return the table: words, measured, before."""
    rows = [
        ("note, Hz", _band(after.frequency_hz, 4), _band(before.frequency_hz, 4)),
        (
            f"spring under {plain(LOAD_N)} N, µm",
            _band(after.spring, scale=1e6 * LOAD_N),
            _band(before.spring, scale=1e6 * LOAD_N),
        ),
    ]
    if after.margin is not None and before.margin is not None:
        rows.append(("margin at any speed", _band(after.margin), _band(before.margin)))
    return rows


def _factor(band: Band) -> float:
    """Return high over low."""
    return band.high / band.low


def _band(band: Band, digits: int = 3, *, scale: float = 1.0) -> str:
    """Return "likely (low to high)"."""
    likely, low, high = (plain(scale * one, digits) for one in (band.likely, band.low, band.high))
    return f"{likely} ({low} to {high})"
