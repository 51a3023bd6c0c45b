"""One case as one row of a table: columns that wear their units, in an order that stays."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from stickout.fem.units import MM, N_PER_UM, UM

if TYPE_CHECKING:  # names only: what writes a table need not load the solver
    from stickout.fem.setup.parts import Setup
    from stickout.fem.sweep.batches import Outcome
    from stickout.fem.sweep.case_answer import CaseAnswer

Value = float | int | str | bool | None
Row = dict[str, Value]

DONE: Final = "done"
FAILED: Final = "failed"
DIGITS: Final = 7  # significant digits of a number in a row: beyond them machines differ
LOAD_N: Final = 10.0
OVERHANG_OVER_SIZE: Final = "overhang_over_size"

# Columns after those of the varied keys; each mode then has three of its own.
COLUMNS: Final = (
    *("units", "status", "reason", OVERHANG_OVER_SIZE),
    *("note_hz", "note_low_hz", "note_high_hz", "note_error", "kind"),
    *("spring_um_per_10n", "spring_low_um_per_10n", "spring_high_um_per_10n", "stiffness_n_per_um"),
    *("direction_x", "direction_y", "direction_z", "alignment", "static_share"),
    *("loss_factor", "loss_factor_low", "loss_factor_high"),
    *("margin", "margin_low", "margin_high"),
    *("depth_limit_mm", "depth_limit_low_mm", "depth_limit_high_mm", "chatter_hz"),
    *("verdict", "p_quiet"),
    *("unknowns", "way", "reduction_error", "accurate"),
)
TEXTS: Final = ("units", "status", "reason", "kind", "way", "verdict")
COUNTS: Final = ("case", "unknowns")
TRUTHS: Final = ("accurate",)


def columns_of(keys: Sequence[str], *, modes: int) -> tuple[str, ...]:
    """Return the columns of a table, in order.

    Parameters
    ----------
    keys
        The varied keys, in the order they were given.
    modes
        The most modes that a case may have.
    """
    each = (f"mode_{n}_{what}" for n in range(1, modes + 1) for what in ("hz", "error", "kind"))
    return ("case", *keys, *COLUMNS, *each)


def row_of(outcome: Outcome, *, setup: Setup | None) -> Row:
    """Return a case's row without its number and its varied keys; what is not known is None.

    Parameters
    ----------
    outcome
        What became of the case.
    setup
        Its set-up; None where there is none that could be used.

    Returns
    -------
    dict
        Values by column; numbers to seven significant digits, infinity where no depth limits.
    """
    row: Row = dict.fromkeys(COLUMNS)
    row["status"] = FAILED if outcome.answer is None else DONE
    row["reason"] = outcome.reason
    if setup is not None:
        row["units"] = setup.units
        row[OVERHANG_OVER_SIZE] = overhang_over_size(setup)
    if outcome.answer is not None:
        row |= _aligned(outcome.answer) | _cut(outcome.answer) | _modes(outcome.answer)
    return {name: _plain(value) for name, value in row.items()}


def overhang_over_size(setup: Setup) -> float:
    """Return the overhang over the diameter, or over the height of a square or rectangular bar.

    Sizes of the bar at the holder face; the shop rule of four diameters speaks of them.
    """
    bar = setup.bar
    return bar.overhang_mm / bar.size_mm if bar.size_mm else math.nan


def _aligned(answer: CaseAnswer) -> Row:
    """Return what the mode along the force does, and the spring."""
    at = answer.aligned
    edge = [float(one) for one in answer.edge[at]]
    size = math.hypot(*edge) if answer.moves[at] else 0.0
    way = [one / size for one in edge] if size else [math.nan] * 3
    spring = (answer.compliance_along.low, answer.compliance_along.likely, answer.compliance_along.high)
    return {
        **_ends((answer.note.low, answer.note.likely, answer.note.high), "note", "hz", scale=1.0),
        "note_error": float(answer.frequency_error[at]),
        "kind": answer.kinds[at],
        **_ends(spring, "spring", "um_per_10n", scale=UM / LOAD_N),
        "stiffness_n_per_um": 1 / (answer.compliance_along.likely * N_PER_UM),
        **{f"direction_{axis}": way[n] + 0.0 for n, axis in enumerate("xyz")},
        "alignment": float(answer.alignment[at]),
        "static_share": float(answer.static_share[at]),
        "loss_factor": float(answer.loss.likely[at]),
        "loss_factor_low": float(answer.loss.low[at]),
        "loss_factor_high": float(answer.loss.high[at]),
        "unknowns": int(answer.unknowns),
        "way": answer.way,
        "reduction_error": float(answer.reduction_error),
        "accurate": bool(answer.accurate),
    }


def _cut(answer: CaseAnswer) -> Row:
    """Return the limit of the cut, nothing where none is described."""
    if answer.cut is None:
        return {}
    low, likely, high = answer.cut.margin
    return {
        "margin": likely,
        "margin_low": low,
        "margin_high": high,
        **_ends(answer.cut.depth, "depth_limit", "mm", scale=MM),
        "chatter_hz": answer.cut.chatter_hz,
        "verdict": answer.cut.verdict,
        "p_quiet": answer.cut.p_quiet,
    }


def _modes(answer: CaseAnswer) -> Row:
    """Return frequency, error and kind of each mode."""
    row: Row = {}
    for n, kind in enumerate(answer.kinds):
        row[f"mode_{n + 1}_hz"] = float(answer.frequency_hz[n])
        row[f"mode_{n + 1}_error"] = float(answer.frequency_error[n])
        row[f"mode_{n + 1}_kind"] = kind
    return row


def _ends(ends: tuple[float, float, float], name: str, unit: str, *, scale: float) -> Mapping[str, Value]:
    """Return likely, low and high of a quantity in its unit."""
    low, likely, high = ends
    return {
        f"{name}_{unit}": likely / scale,
        f"{name}_low_{unit}": low / scale,
        f"{name}_high_{unit}": high / scale,
    }


def _plain(value: Value) -> Value:
    """Return a value as the table holds it: rounded, and None for what is no number."""
    if not isinstance(value, float):
        return value
    return None if math.isnan(value) else rounded_off(value)


def rounded_off(value: float) -> float:
    """Return a number with the digits that a table keeps."""
    return float(f"{value:.{DIGITS}g}")
