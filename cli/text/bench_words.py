"""What the bench changed, for people: one sentence, bands before and after, and what to measure next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from stickout.cli.text.assumed_words import bar_scales
from stickout.cli.text.fit_answer import band_text, factor_text, next_words, speed_words, spring_row
from stickout.cli.text.speed_words import in_ten
from stickout.cli.text.words import margin_figure, plain
from stickout.fem.bench.fit import Fitted
from stickout.fem.bench.predictions import SpeedMargin
from stickout.fem.setup.bands import Band
from stickout.fem.setup.joints import Joint
from stickout.fem.setup.parts import Setup


def turned_line(fitted: Fitted, *, by: str, units: str) -> str:
    """Return the sentence of the answer: "Your taps turn the margin band from a to b into c to d."."""
    after, before = fitted.predictions, fitted.before
    now, then = after.margin_without_rubbing, before.margin_without_rubbing
    whose = f"Your {by} {'turns' if by == 'pull' else 'turn'}"
    if now is None or then is None or not after.speeds:
        notes = [_ends(one.frequency_hz, 4) for one in (before, after)]
        return f"{whose} the note from {notes[0]} Hz into {notes[1]} Hz."
    worst = min(range(len(after.speeds)), key=lambda at: after.speeds[at].margin.likely)
    here, there = after.speeds[worst], before.speeds[worst]
    return (
        f"{whose} the margin band without rubbing from {_sides(then)} into {_sides(now)}: a factor of "
        f"{factor_text(now)}, before {factor_text(then)}. At {speed_words(here, units)}, rubbing "
        f"counted, the margin was {_sides(there.margin)} and is now {_sides(here.margin)}; of ten lathes set "
        f"up like this {_lathes(here)} would stay quiet there, before {_lathes(there)}."
    )


def next_lines(fitted: Fitted, units: str) -> list[str]:
    """Return what to measure next and what would be left, the most telling first."""
    return [
        f"{next_words(one, units)}: without rubbing the margin would be known to a factor of "
        f"{plain(one.without_rubbing, 3)}, rubbing counted to {plain(one.factor, 3)}"
        for one in fitted.worths
    ]


def band_rows(fitted: Fitted, setup: Setup) -> list[dict[str, Any]]:
    """Return the bands of what matters before and after, as plain data with their words."""
    after, before = fitted.predictions, fitted.before
    now, then = after.margin_without_rubbing, before.margin_without_rubbing
    rows = []
    if now is not None and then is not None:
        rows.append(_row("margin without rubbing", then, now))
    if after.speeds:
        at = min(range(len(after.speeds)), key=lambda at: after.speeds[at].margin.likely)
        name = f"margin at {speed_words(after.speeds[at], setup.units)}"
        rows.append(_row(name, before.speeds[at].margin, after.speeds[at].margin))
    rows.append(_row("note, Hz", before.frequency_hz, after.frequency_hz, digits=4))
    spring, scale = spring_row(setup.units)
    rows.append(_row(spring, before.compliance_along, after.compliance_along, scale=scale))
    return rows + list(_seat(fitted, setup.grip.springs, setup.units))


def _seat(fitted: Fitted, faces: Joint | None, units: str) -> Iterator[dict[str, Any]]:
    """Yield what was learnt of the seat, where it has springs."""
    if faces is None:
        return
    for key, band in fitted.parameters.items():
        if not key.startswith("grip."):
            continue
        if key.endswith("loss_factor"):
            yield _row("loss factor of the seat", faces.loss_factor, band)
        elif key.endswith("n_per_um_mm2"):
            size, unit = bar_scales(units)["N/um/mm2"]
            words = f"stiffness of the seat, {unit}"
            yield _row(words, faces.normal_n_per_um_mm2, band, scale=1 / size)


def _row(words: str, then: Band, now: Band, *, scale: float = 1.0, digits: int = 3) -> dict[str, Any]:
    """Return one row as plain data."""
    apart = now.low > then.high or now.high < then.low
    return {
        "words": words,
        "outside": apart,
        "before": {"text": band_text(then, digits, scale=scale), **_scaled(then, scale)},
        "after": {"text": band_text(now, digits, scale=scale), **_scaled(now, scale)},
    }


def _scaled(band: Band, scale: float) -> dict[str, float]:
    """Return the ends and the likely value of a band, in the unit of its words."""
    return {"low": scale * band.low, "likely": scale * band.likely, "high": scale * band.high}


def _sides(band: Band) -> str:
    """Return the ends of a margin's band, each on its side of one."""
    return f"{margin_figure(band.low)} to {margin_figure(band.high)}"


def _lathes(one: SpeedMargin) -> str:
    """Return how many lathes of ten stay quiet, as a word of a sentence."""
    return in_ten(one.p_quiet).replace("<", "fewer than ")


def _ends(band: Band, digits: int = 2) -> str:
    """Return "0.12 to 0.2"."""
    return f"{plain(band.low, digits)} to {plain(band.high, digits)}"
