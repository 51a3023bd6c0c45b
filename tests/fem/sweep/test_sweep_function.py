"""``fem.sweep.sweep``: rows without files, against beam theory and the facts a lathe worker can check."""

from __future__ import annotations

import pytest

from stickout.fem.errors import InputError
from stickout.fem.setup.grips import RigidGrip
from stickout.fem.setup.material_table import MATERIALS
from stickout.fem.setup.parts import Setup, Solve
from stickout.fem.sweep.sweep import sweep
from stickout.meshes.parts import Bar, Step

BAR = Setup(bar=Bar(overhang_mm=80, diameter_mm=16), grip=RigidGrip(), solve=Solve(modes=2, accuracy=0.02))


def test_materials_scale_spring_and_note() -> None:
    """Beam theory: the spring goes with 1/E, the note with sqrt(E/rho); Poisson's ratio matters little."""
    metals = [MATERIALS[name] for name in ("steel", "cemented carbide", "tungsten heavy alloy")]
    rows = sweep(BAR, {"materials.bar": metals})
    steel = rows[0]
    for metal, row in zip(metals, rows, strict=True):
        stiffer = metal.youngs_modulus.likely / metals[0].youngs_modulus.likely
        heavier = metal.density.likely / metals[0].density.likely
        # 5 diameters out: the fixed face and shear leave a per cent for Poisson's ratio to shift.
        assert ratio(row, steel, "stiffness_n_per_um") == pytest.approx(stiffer, rel=0.01)
        assert ratio(row, steel, "note_hz") == pytest.approx((stiffer / heavier) ** 0.5, rel=0.01)


def ratio(one: dict, other: dict, column: str) -> float:  # type: ignore[type-arg]
    """Return a number of a row over that of another."""
    return float(one[column]) / float(other[column])


def test_ten_per_cent_less_overhang() -> None:
    """Computed apart: k +37 %, f +23 % by the beam law; at 6 diameters shear takes a little of it."""
    long, short = sweep(BAR, {"bar.overhang_mm": (96.0, 86.4)})
    assert ratio(short, long, "stiffness_n_per_um") == pytest.approx(1.37, rel=0.015)
    assert ratio(short, long, "note_hz") == pytest.approx(1.23, rel=0.01)
    assert [long["case"], short["case"], long["bar.overhang_mm"]] == [1, 2, 96.0]


def test_a_case_at_fault_is_a_row() -> None:
    """The step lies behind the end in the second case; the first one is answered."""
    stepped = Setup(
        bar=Bar(overhang_mm=80, diameter_mm=16, steps=(Step(start_mm=40, diameter_mm=12),)),
        grip=RigidGrip(),
        solve=Solve(modes=2, accuracy=0.02),
    )
    good, bad = sweep(stepped, {"bar.steps.1.start_mm": (40.0, 90.0)})
    assert (good["status"], bad["status"], bad["note_hz"]) == ("done", "failed", None)
    assert "bar.steps.1.start" in str(bad["reason"])
    assert list(good) == list(bad)


@pytest.mark.parametrize(
    ("vary", "paired", "words"),
    [
        ({}, False, "at least one name"),
        ({"bar.overhang_mm": ()}, False, "at least one value"),
        ({"bar.overhang_mm": (1, 2), "bar.diameter_mm": (1,)}, True, "lists of one length"),
        ({"bar.overhand_mm": (1, 2)}, False, "Did you mean 'overhang_mm'"),
        ({"bar.overhang_mm.x": (1, 2)}, False, "a part of the set-up"),
        ({"materials.shin": (1, 2)}, False, "There: bar"),
    ],
)
def test_what_is_refused(vary: dict[str, tuple[float, ...]], paired: bool, words: str) -> None:
    """One InputError each."""
    with pytest.raises(InputError, match=words):
        sweep(BAR, vary, paired=paired)
