"""Set-ups side by side: each measured against the first, with the bands of what nobody measured."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.compare.inputs import Input, cut_inputs, draw, key_words, setup_inputs
from stickout.fem.compare.measures import (
    MEASURES,
    Samples,
    likely_measures,
    sampled_margins,
    sampled_measures,
)
from stickout.fem.compare.readings import Readings, readings
from stickout.fem.compare.reduced import reduced_model
from stickout.fem.compare.rivals import BEST_TURN, Rival, rivals
from stickout.fem.compare.turning import best_turn
from stickout.fem.compare.verdict import Verdict, judged, limit_measure
from stickout.fem.cut.judged import JudgedCut, judged_result
from stickout.fem.cut.speed_verdict import SpeedVerdict
from stickout.fem.errors import InputError
from stickout.fem.force.case import described_case
from stickout.fem.setup.bands import NINE_IN_TEN, Spread
from stickout.fem.setup.changes import turned
from stickout.fem.setup.checks import setup_faults
from stickout.fem.setup.parts import Setup
from stickout.fem.study.clamped_loss import given_by_user, seat_loss
from stickout.fem.study.result import Assumption, Result
from stickout.fem.study.study import run_study
from stickout.meshes.tagged import FloatArray

FIRST: Final = "first"
CHANGE: Final = "change"
RIVAL: Final = "rival"


@dataclass(frozen=True)
class Entry:
    """One set-up of a comparison.

    Attributes
    ----------
    role
        ``first``, ``change`` or ``rival``.
    name
        The caller's name of it; empty for a rival.
    rival
        What kind of rival it is; None for the others.
    result
        What the study found.
    values
        Measure -> value with band, SI; see ``stickout.fem.compare.measures``.
    ratios
        Measure -> ratio to the first, with the band of the ratio.
    widest
        The input that widens the ratio of the limit most, and its share of that width; None for the first.
    verdict
        What may be said of it; None for the first.
    cut
        What the command ``cut`` says of it; None where no cut is described far enough.
    readings
        The ratio of k times zeta, damping as it was and by the grip's share; None where that is no question.
    """

    role: str
    name: str
    rival: Rival | None
    result: Result
    values: Mapping[str, Spread]
    ratios: Mapping[str, Spread]
    widest: tuple[str, float] | None
    verdict: Verdict | None
    cut: JudgedCut | None = None
    readings: Readings | None = None


@dataclass(frozen=True)
class Comparison:
    """Set-ups side by side, the first one first, rivals last; and every number assumed for any of them."""

    entries: Sequence[Entry]
    assumptions: Sequence[Assumption]

    @property
    def first(self) -> Entry:
        """Return the set-up that the others are measured against."""
        return self.entries[0]

    @property
    def changes(self) -> list[Entry]:
        """Return the set-ups that were asked about."""
        return [one for one in self.entries if one.role == CHANGE]

    @property
    def rivals(self) -> list[Entry]:
        """Return the same-space rivals."""
        return [one for one in self.entries if one.role == RIVAL]

    @property
    def speed(self) -> SpeedVerdict | None:
        """Return the first set-up's verdict at the speed where chances are compared: the one nearest even."""
        return None if self.first.cut is None else self.first.cut.verdict.stated

    def at_speed(self, entry: Entry) -> SpeedVerdict | None:
        """Return the verdict on an entry at the speed of ``speed``; None where it was not judged there."""
        wanted = self.speed
        if wanted is None or entry.cut is None:
            return None
        first = self.first.cut
        what = "cutting_speed" if first is None or first.verdict.speeds_assumed else "speed_rpm"
        like = (one for one in entry.cut.verdict.speeds if getattr(one, what) == getattr(wanted, what))
        return next(like, None)


@dataclass(frozen=True)
class _Solved:
    """A set-up on its way through: its study, its inputs, its samples, its measures at the likely inputs."""

    result: Result
    inputs: Sequence[Input]
    samples: Samples
    likely: Mapping[str, float]
    cut: JudgedCut | None


def compare(
    setups: Sequence[Setup],
    *,
    names: Sequence[str] = (),
    progress: Callable[[str], None] | None = None,
) -> Comparison:
    """Return set-ups measured against the first, with their same-space rivals.

    Parameters
    ----------
    setups
        One or more; with one only the rivals are compared.
    names
        What to call each of them; their titles when empty.
    progress
        Called with a few words before each set-up is solved.

    Returns
    -------
    Comparison
        Values, ratios with bands, verdicts.

    Raises
    ------
    InputError
        There is no set-up, a set-up cannot be used, or the numbers of names and set-ups differ.
    SolveError
        The computation failed.

    Notes
    -----
    A ratio's band comes from drawing every banded input at once; a number that two set-ups share is drawn
    once for both. A force taken from the cut is each set-up's own.
    """
    called = list(names) or [one.title or f"set-up {n}" for n, one in enumerate(setups, start=1)]
    if not setups or len(called) != len(setups):
        given, allowed = (len(setups), len(called)), "one set-up or more, and a name for each"
        raise InputError(key="setups", given=given, allowed=allowed, mend="Name every set-up once.")
    studies = [_study(one, progress) for one in setups]
    others = [*rivals(setups), *_best_turned(studies[0])]
    studies += [_study(one.setup, progress) for one in others]
    solved = _sampled(studies)
    roles = [FIRST] + [CHANGE] * (len(setups) - 1) + [RIVAL] * len(others)
    called += [""] * len(others)
    kinds: list[Rival | None] = [*[None] * len(setups), *others]
    entries = [
        _entry(one, solved[0], role=role, name=name, rival=rival)
        for one, role, name, rival in zip(solved, roles, called, kinds, strict=True)
    ]
    return Comparison(entries, _assumed(studies))


def _study(setup: Setup, progress: Callable[[str], None] | None) -> Result:
    if progress:
        progress("Solving")
    return run_study(setup)


def _best_turned(first: Result) -> list[Rival]:
    """Return the first set-up turned to its best angle, where turning is possible and helps."""
    setup = first.setup
    if setup.bar.section not in ("flatted", "rectangle") or not setup.grip.alike_all_round:
        return []
    turn = best_turn(first)
    if turn is None or turn.angle_deg == 90.0:
        return []
    rival = Rival(BEST_TURN, turned(setup, turn.angle_deg), turn.angle_deg)
    return [] if list(setup_faults(rival.setup)) else [rival]


def _sampled(studies: Sequence[Result]) -> list[_Solved]:
    """Return every study with its samples, drawn together."""
    cases = [described_case(one.setup) for one in studies]
    inputs = [
        [
            *setup_inputs(one.setup, regions=one.model.mesh.regions, ties=tuple(one.model.ties)),
            *cut_inputs(case),
        ]
        for one, case in zip(studies, cases, strict=True)
    ]
    drawn = draw([one for each in inputs for one in each])
    out = []
    for result, mine, case in zip(studies, inputs, cases, strict=True):
        judged_now = None if case is None else judged_result(result)
        force = result.loading.direction
        samples = sampled_measures(reduced_model(result.setup), mine, drawn=drawn, force=force)
        if judged_now is not None:
            likely = judged_now.likely
            samples = sampled_margins(samples, mine, case=likely.case, work=likely.work)
        out.append(_Solved(result, mine, samples, likely_measures(result, judged_now), judged_now))
    return out


def _entry(one: _Solved, first: _Solved, *, role: str, name: str, rival: Rival | None) -> Entry:
    """Return the entry of one set-up."""
    ratios = _ratios(one, first)
    limit = limit_measure(ratios)
    same = role == FIRST
    return Entry(
        role=role,
        name=name,
        rival=rival,
        result=one.result,
        values={m: _band(one.samples.values[m], one.likely[m]) for m in one.likely}
        | ({} if one.cut is None else {"cut_margin": one.cut.margin}),
        ratios=ratios,
        widest=None if same else _widest(one, first, measure=limit),
        verdict=None if same else judged(ratios["stiffness_n_per_m"], ratios[limit]),
        cut=one.cut,
        readings=None if same else _readings(one, first, ratios),
    )


def _readings(one: _Solved, first: _Solved, ratios: Mapping[str, Spread]) -> Readings | None:
    """Return both readings of where the loss sits."""
    return readings(one.result, first.result, ratio=ratios["k_zeta_n_per_m"].likely)


def _ratios(one: _Solved, first: _Solved) -> dict[str, Spread]:
    """Return the ratio of every measure that both have; of one that has no bounds nothing can be told."""
    ratios = {}
    for m in MEASURES:
        if m not in one.likely or m not in first.likely:
            continue
        samples = [each.samples.values[m] for each in (one, first)]
        if np.all(np.isfinite(samples)) and np.all(np.array(samples) > 0):
            ratios[m] = _band(samples[0] / samples[1], one.likely[m] / first.likely[m])
        else:
            ratios[m] = Spread(0.0, 1.0, float("inf"))
    return ratios


def _band(samples: FloatArray, likely: float) -> Spread:
    """Return the band of sampled values; the fine mesh's likely value replaces the coarse one's."""
    scale = likely / float(samples[0]) if samples[0] else 1.0
    low, high = (float(one) * scale for one in np.quantile(samples[1:], NINE_IN_TEN))
    return Spread(min(low, likely), likely, max(high, likely))


def _widest(one: _Solved, first: _Solved, *, measure: str) -> tuple[str, float] | None:
    """Return the input whose draw explains most of the ratio of a measure, and the share it explains."""
    ratio = one.samples.values[measure] / first.samples.values[measure]
    rank = np.argsort(np.argsort(ratio)).astype(float)
    best: tuple[str, float] | None = None
    for key in sorted({i.key for i in (*one.inputs, *first.inputs)}):
        values = one.samples.drawn[key]
        share = _explained(np.argsort(np.argsort(values)).astype(float), rank) if np.ptp(values) else 0.0
        if share > (best[1] if best else 0.0):
            best = (key_words(key), share)
    return best


def _explained(x: FloatArray, y: FloatArray) -> float:
    """Return the squared correlation."""
    x, y = x - x.mean(), y - y.mean()
    size = float((x @ x) * (y @ y))
    return float((x @ y) ** 2) / size if size > 0 else 0.0


def _assumed(studies: Sequence[Result]) -> list[Assumption]:
    """Return every number assumed for any of the set-ups, once."""
    out = {(one.name, one.band): one for study in studies for one in study.assumptions}
    for study in studies:
        if not given_by_user(study.setup):
            seat = Assumption("loss factor of the clamping", seat_loss(study.setup), "")
            out[seat.name, seat.band] = seat
    return list(out.values())
