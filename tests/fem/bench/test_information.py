"""What a note and a pull can know of a grip: beam on a bed, slopes, Fisher information. [A3.*]."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from beam_bars import CLAMP, NU, R16_EB, steel
from bench_bounds import learnt_covariance
from scipy.optimize import brentq
from values import assert_close

from stickout.fem.beam.frequencies import bending_frequencies, tip_stiffness
from stickout.fem.beam.sections import round_section
from stickout.fem.beam.spans import FREE, Span, round_bed
from stickout.fem.beam.stepped import PointSpring, sprung_chain
from stickout.fem.bench.information import left_over

USUAL = {"kn": 0.05, "ratio": 0.5, "g": 0.06}
PRIOR = np.diag([1.5, 0.4, 0.1]) ** 2


def bed_bar(
    kn: float, ratio: float, g: float, *, overhang: float = 0.08, diameter: float = 0.016, e: float = 210e9
) -> list[Span]:
    """Return the round bar on a bed; stiffness [N/um/mm2]."""
    section = round_section(diameter, poisson_ratio=NU)
    bed = round_bed(diameter, normal=kn * 1e12, shear=kn * ratio * 1e12)
    held = replace(steel(g, section, youngs_modulus=e), bed=bed)
    return [held, steel(overhang, section, youngs_modulus=e)]


def measured(spans: Sequence[Span]) -> np.ndarray:
    """Return first and second note [Hz] and compliance [m/N]."""
    notes = bending_frequencies(spans, 2, root=FREE)
    return np.array([notes[0], notes[1], 1 / tip_stiffness(spans, root=FREE)])


def slopes(kn: float, overhang: float = 0.08) -> np.ndarray:
    """Return d ln (f1, f2, c) / d ln (kn, ratio, g), shape (3, 3)."""
    base, h, columns = {**USUAL, "kn": kn}, 1e-3, []
    for key in base:
        up, down = (
            measured(bed_bar(**{**base, key: base[key] * np.exp(s)}, overhang=overhang)) for s in (h, -h)
        )
        columns.append(np.log(up / down) / (2 * h))
    return np.array(columns).T


WANTED = {
    0.05: ("f1.kn", "f1.g", "f2.kn", "c.kn", "c.ratio", "c.g"),
    0.2: ("f1.kn", "f1.g", "f2.kn", "f2.ratio", "f2.g", "c.kn", "c.ratio", "c.g"),
    1.0: ("f1.kn", "f1.ratio", "f2.kn", "c.kn", "c.ratio", "c.g"),
}


@pytest.mark.parametrize("kn", WANTED)
def test_slopes_of_the_bed(kn: float) -> None:
    """Which combination of stiffness, shear ratio and gripped length a measurement sees. [A3.bed.sens.*]."""
    found = slopes(kn)
    for name in WANTED[kn]:
        what, by = name.split(".")
        value = found[("f1", "f2", "c").index(what), ("kn", "ratio", "g").index(by)]
        assert_close(f"A3.bed.sens.{kn:g}.{name}" if kn < 1 else f"A3.bed.sens.1.0.{name}", float(value))


def test_notes_and_stiffness_of_the_bed() -> None:
    """The beam itself. [A3.bed.*]."""
    assert_close("A3.bed.f1.0.05", float(measured(bed_bar(0.05, 0.5, 0.06))[0]))
    assert_close("A3.bed.k.0.2", 1e-6 / float(measured(bed_bar(0.2, 0.5, 0.06))[2]))


ROWS = {
    "f1": ([0], [0.005]),
    "f1+pull": ([0, 2], [0.005, 0.05]),
    "f1+f2+pull": ([0, 1, 2], [0.005, 0.01, 0.05]),
}
ASKED = {
    "f1": ("kn", "c80"),
    "f1+pull": ("kn", "ratio", "c80"),
    "f1+f2+pull": ("ratio", "c80", "f1_L60"),
    "f1_at_60,80,100": ("kn", "ratio", "c80", "f1_L60"),
}


@pytest.mark.parametrize("data", ASKED)
def test_what_is_known_after(data: str) -> None:
    """The shear ratio is never learnt, predictions are known to one per cent. [A3.fisher.*]."""
    at = slopes(0.05)
    if data in ROWS:
        rows, sd = ROWS[data]
        jacobian = at[rows]
    else:
        sd = [0.005] * 3
        jacobian = np.array([slopes(0.05, overhang)[0] for overhang in (0.06, 0.08, 0.1)])
    covariance = learnt_covariance(PRIOR, jacobian, sd=np.array(sd))
    known = {"kn": covariance[0, 0], "ratio": covariance[1, 1], "c80": at[2] @ covariance @ at[2]}
    there = slopes(0.05, 0.06)[0]
    known["f1_L60"] = there @ covariance @ there
    for name in ASKED[data]:
        assert_close(f"A3.fisher.{data}.sd_ln_{name}", float(np.sqrt(known[name])))


def test_the_gripped_length_taken_as_known() -> None:
    """Stiffness and ratio from a note and a pull. [A3.laplace.sd_kn]."""
    jacobian = slopes(0.05)[[0, 2]][:, :2]
    covariance = learnt_covariance(PRIOR[:2, :2], jacobian, sd=np.array([0.005, 0.05]))
    assert_close("A3.laplace.sd_kn", float(np.sqrt(covariance[0, 0])))


@pytest.mark.parametrize(
    ("wrong", "bar"),
    [
        ("bar_0.1_mm_thinner_than_said_(15.9)", {"diameter": 0.0159}),
        ("overhang_1_mm_longer_than_said", {"overhang": 0.081}),
        ("E_3_%_lower_than_said", {"e": 0.97 * 210e9}),
    ],
)
def test_a_wrong_bar_bends_the_stiffness(wrong: str, bar: dict[str, float]) -> None:
    """The stiffness that the note then asks for, over the true one. [A3.bias.*]."""
    heard = measured(bed_bar(0.05, 0.5, 0.06, **bar))[0]
    found = brentq(lambda kn: measured(bed_bar(kn, 0.5, 0.06))[0] - heard, 0.02, 0.2)
    assert_close(f"A3.bias.{wrong}", found / 0.05)


@pytest.mark.parametrize("at", [80, 75, 40, 0])
def test_a_dial_away_from_the_load(at: int) -> None:
    """Standard bar pulled at the tip, dial at another place. [A2.cross.*]."""
    chain = sprung_chain(
        [R16_EB], [PointSpring(0.0, CLAMP.translation, CLAMP.rotation)], stations=[at * 1e-3, 0.08]
    )
    dial = int(np.argmin(abs(chain.places - at * 1e-3)))
    assert_close(f"A2.cross.{at}", 1e6 * float(chain.compliance[dial, -1]))


def test_what_a_measurement_would_leave() -> None:
    """Half of the variance is measured exactly: 0.71 of the deviation stays."""
    rng = np.random.default_rng(1)
    x, y = rng.standard_normal((2, 20_000))
    exact, rough = np.array([1e-6]), np.array([1.0])
    assert left_over(x + y, x[None], sd=exact) == pytest.approx(np.sqrt(0.5), rel=0.02)
    assert left_over(x + y, x[None], sd=rough) == pytest.approx(np.sqrt(0.75), rel=0.02)
    assert left_over(x + y, np.array([x, y]), sd=np.repeat(exact, 2)) < 0.01
    assert left_over(x, y[None], sd=exact) == pytest.approx(1.0, abs=0.01)
    assert left_over(np.zeros(5), x[None, :5], sd=exact) == 1.0
