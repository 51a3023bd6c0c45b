"""The set-up file as its contract defines it: every section read, units, changes, all mistakes at once."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import pytest
import setups
import values

from stickout.fem.errors import InputError
from stickout.fem.records.setup import setup_record
from stickout.fem.setup.checks import check_setup, setup_warnings
from stickout.fem.setup.file import parse_setup, read_setup
from stickout.fem.setup.grips import BedGrip, HeldGrip, RigidGrip, SleeveGrip, SlotGrip
from stickout.fem.setup.joints import Joint
from stickout.fem.setup.material_table import MATERIALS, STEEL
from stickout.fem.setup.parts import Setup, Turns
from stickout.meshes.parts import Bar, Edge, Shim, Step, Wrap

MM_PER_INCH = 25.4  # definition


def test_the_bar_of_the_design_page() -> None:
    """The set-up file's contract: sizes, steps, edge."""
    text = setups.ROUND.replace(
        "[grip]", "rotation_deg = 30\n[[bar.steps]]\nstart = 40\ndiameter = 12\n[grip]"
    )
    setup = parse_setup(text + "[edge]\nend_distance = 2\noffset_y = 1\noffset_z = -1\nmass_g = 15\n").setup
    assert setup.bar == Bar(
        overhang_mm=80,
        diameter_mm=16,
        gripped_mm=60,
        rotation_deg=30,
        steps=(Step(start_mm=40, diameter_mm=12),),
    )
    assert setup.edge == Edge(end_distance_mm=2, offset_y_mm=1, offset_z_mm=-1, mass_g=15)
    assert setup.bar_material is STEEL
    assert (setup.title, setup.units) == ("Home-made bar", "mm")


@pytest.mark.parametrize(
    ("sizes", "bar"),
    [
        ('section = "tube"\nbore = 8', Bar(80, section="tube", diameter_mm=16, bore_mm=8, gripped_mm=60)),
        (
            'section = "flatted"\nacross_flats = 14',
            Bar(80, section="flatted", diameter_mm=16, across_flats_mm=14, gripped_mm=60),
        ),
    ],
)
def test_other_round_sections(sizes: str, bar: Bar) -> None:
    """The set-up file's contract: tube and flatted."""
    assert parse_setup(setups.ROUND.replace('section = "round"', sizes)).setup.bar == bar


def test_rectangle_and_held() -> None:
    """The set-up file's contract: held between floor and pressed top."""
    text = setups.SQUARE.replace('"square"', '"rectangle"').replace("width = 12", "width = 10\nheight = 16")
    setup = parse_setup(text + "pressed = [15, 45]\n" + setups.SHIM).setup
    assert setup.bar == Bar(40, section="rectangle", width_mm=10, height_mm=16, gripped_mm=60)
    assert setup.grip == HeldGrip(pressed_mm=(15, 45))
    assert setup.shim == Shim(thickness_mm=0.5)
    assert setup.materials["shim"] is MATERIALS["annealed copper"]


def test_grips_with_their_joints() -> None:
    """The set-up file's contract: given numbers have no width, the others keep the usual band."""
    bed = parse_setup(
        setups.ROUND + "bed_n_per_um_mm2 = 0.01\nbed_shear_ratio = 1.0\nbed_loss_factor = 0.05\n"
    )
    assert isinstance(bed.setup.grip, BedGrip)
    joint = bed.setup.grip.bed
    bands = (joint.normal_n_per_um_mm2, joint.shear_ratio, joint.loss_factor)
    assert [(one.low, one.likely, one.high) for one in bands] == [(x, x, x) for x in (0.01, 1.0, 0.05)]
    slot = parse_setup(setups.SLOT + "joint_loss_factor = 0.02\n").setup.grip
    assert isinstance(slot, SlotGrip)
    assert replace(slot, joint=Joint()) == SlotGrip(2, 8, first_screw_mm=15, screw_spacing_mm=30)
    assert slot.joint.normal_n_per_um_mm2 == Joint().normal_n_per_um_mm2
    assert slot.joint.loss_factor.high == 0.02
    sleeve = parse_setup(setups.SLEEVE + "split = true\njoint_bonded = true\n").setup
    assert sleeve.grip == SleeveGrip(40, 40, wall_mm=8, split=True, joint=Joint(bonded=True))
    assert sleeve.materials["holder"] is STEEL


def test_the_usual_joint_lies_in_the_published_range(check_value: Any) -> None:
    """Levina & Reshetov and Mindlin, from memory [j.contact.k, j.contact.kt_ratio, j.eta.joint]."""
    joint = Joint()
    for band, record_id in (
        (joint.normal_n_per_um_mm2, "j.contact.k"),
        (joint.shear_ratio, "j.contact.kt_ratio"),
        (joint.loss_factor, "j.eta.joint"),
    ):
        record = check_value(record_id)
        assert [band.low, band.high] == record.value, record.source


def test_bonded_and_loose_wraps() -> None:
    """The set-up file's contract, and wire given by its diameter and pitch instead of a thickness."""
    bonded = parse_setup(setups.ROUND + setups.WRAP).setup
    assert bonded.wrap == Wrap(thickness_mm=2, start_mm=50, length_mm=30, bond="bonded")
    assert bonded.turns is None
    wire = "wire_diameter = 3\npitch = 3.5\nrubbing_loss_factor = 0.05"
    loose = setups.WRAP.replace("thickness = 2", wire).replace('"bonded"', '"loose"')
    setup = parse_setup(setups.ROUND + loose).setup
    assert setup.wrap == Wrap(thickness_mm=3, start_mm=50, length_mm=30, bond="loose")
    assert setup.turns == Turns(wire_diameter_mm=3, pitch_mm=3.5, rubbing_loss_factor=0.05)


def test_cut_work_and_solve() -> None:
    """The set-up file's contract, with the keys for the side of the tool."""
    more = 'wall = "rear"\nwear_factor = 1.3\nedge_radius_um = 20\nforce_direction = [0, -0.4, -1]\n'
    setup = parse_setup(
        setups.ROUND + setups.CUT + more + setups.WORK + "bore = 8\n[solve]\nmodes = 10\naccuracy = 0.01\n"
    ).setup
    assert setup.cut is not None
    assert setup.work is not None
    assert (setup.cut.depth_mm, setup.cut.feed_mm, setup.cut.work_diameter_mm) == (0.2, 0.05, 24)
    assert setup.cut.speeds_rpm == (120, 200, 315)
    assert setup.cut.force_direction == (0, -0.4, -1)
    assert (setup.cut.side, setup.cut.edge_radius_um) == ("rear", 20)
    assert (setup.work.bore_mm, setup.work.cut_at_mm, setup.work.held) == (8, 150, "chuck")
    assert (setup.solve.modes, setup.solve.accuracy) == (10, 0.01)


def test_own_materials() -> None:
    """The set-up file's contract: a new entry, and a table entry overridden in part."""
    entries = """
[materials."my bronze"]
youngs_modulus_gpa = 105
poisson_ratio = 0.34
density_kg_m3 = 8800
loss_factor = 0.001
[materials.steel]
loss_factor = 0.002
"""
    setup = parse_setup(setups.ROUND + setups.WRAP.replace("tin-lead solder", "my bronze") + entries).setup
    assert setup.materials["wrap"].youngs_modulus.likely == 105e9
    assert setup.materials["bar"].loss_factor.high == 0.002
    assert setup.materials["bar"].density == STEEL.density


@pytest.mark.parametrize("record", values.verify_records(), ids=lambda record: record["id"])
def test_every_reference_set_up_is_read(record: dict[str, Any]) -> None:
    """The set-ups of verify.json, written by others."""
    setup = parse_setup(record["setup"]).setup
    assert setup.bar.overhang_mm >= 40
    assert setup.bar_material.name.startswith("ref ")
    check_setup(setup)


def assert_same(one: Any, other: Any) -> None:
    """Compare two parts of set-ups field by field, numbers to rounding."""
    if isinstance(one, float):
        assert one == pytest.approx(other, rel=1e-12)  # two or three products of doubles
    elif isinstance(one, tuple):
        for a, b in zip(one, other, strict=True):
            assert_same(a, b)
    elif is_dataclass(one):
        for field in fields(one):
            assert_same(getattr(one, field.name), getattr(other, field.name))
    else:
        assert one == other


def test_mm_and_inch_describe_the_same_bar() -> None:
    """The same bar in both units, with texts in the other unit mixed in."""
    metric = setups.SLEEVE + setups.WRAP + setups.CUT + setups.WORK
    imperial = metric.replace('units = "mm"', 'units = "inch"')
    for line in metric.splitlines():
        key, _, value = line.partition(" = ")
        is_length = not key.endswith(("_deg", "_rpm")) and value.replace(".", "", 1).isdecimal()
        if is_length:
            inches = f"{float(value) / MM_PER_INCH!r}"
            imperial = imperial.replace(f"\n{line}\n", f"\n{key} = {inches}\n")
    imperial = imperial.replace(f"wall = {8 / MM_PER_INCH!r}", 'wall = "8 mm"')
    one, other = parse_setup(metric).setup, parse_setup(imperial).setup
    assert other.units == "inch"
    assert '"8 mm"' in imperial
    assert_same(replace(other, units="mm"), one)


def test_a_long_bar_is_a_warning() -> None:
    """Overhang over diameter beyond 30 is allowed, and said."""
    read = parse_setup(setups.ROUND.replace("overhang = 80", "overhang = 496"))
    assert len(read.warnings) == 1
    assert "31 times" in read.warnings[0]
    [nearer] = setup_warnings(parse_setup(setups.ROUND.replace("overhang = 80", "overhang = 480")).setup)
    assert "30 times its size: steel is at ease to 4" in nearer


def test_a_python_caller_gets_the_same_check() -> None:
    """The ranges live in fem, not in the reader."""
    sound = Setup(bar=Bar(80, diameter_mm=16), grip=RigidGrip())
    check_setup(sound)
    for bad, key in (
        (replace(sound, bar=Bar(80, section="tube", diameter_mm=16, bore_mm=16)), "bar.bore"),
        (replace(sound, bar=Bar(80)), "bar.diameter"),
        (replace(sound, bar=Bar(math.nan, diameter_mm=16)), "bar.overhang"),
        (replace(sound, shim=Shim(0.5)), "shim"),
        (replace(sound, units="cm"), "units"),
        (replace(sound, materials={}), "bar.material"),
        (replace(sound, grip=BedGrip()), "bar.gripped"),
    ):
        with pytest.raises(InputError) as caught:
            check_setup(bad)
        assert caught.value.key == key


def test_the_record_is_si() -> None:
    """Units of the record against hand conversion: mm, g, degrees, rpm, N per um and mm2."""
    text = setups.ROUND.replace("gripped", "rotation_deg = 90\ngripped") + "bed_n_per_um_mm2 = 2\n"
    record = setup_record(parse_setup(text + "[edge]\nmass_g = 15\n" + setups.CUT).setup)
    close = {"rel": 1e-12}  # one product each
    assert record["bar"]["diameter_m"] == pytest.approx(0.016, **close)
    assert record["bar"]["rotation_rad"] == pytest.approx(math.pi / 2, **close)
    assert "bore_m" not in record["bar"]
    assert record["edge"]["mass_kg"] == pytest.approx(0.015, **close)
    assert record["grip"]["style"] == "bed"
    # 2 N/um per mm2 is 2e6 N/m per 1e-6 m2.
    assert record["grip"]["bed"]["normal_n_per_m3"]["likely"] == pytest.approx(2e12, **close)
    assert record["cut"]["speeds_hz"] == pytest.approx([2.0, 200 / 60, 5.25], **close)
    assert record["materials"]["bar"]["density"]["likely"] == 7850
    assert "wrap" not in record


def test_a_file_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    """Some editors put one at the start of UTF-8 text."""
    path = tmp_path / "bar.toml"
    path.write_text(setups.ROUND, encoding="utf-8-sig")
    assert read_setup(path).setup.bar.overhang_mm == 80


def test_reading_stays_light() -> None:
    """Neither the numerical packages nor the validator the design spoke of are imported to read a file."""
    heavy = {"numpy", "scipy", "skfem", "pyvista", "meshio", "pydantic", "cyclopts"}
    program = "import sys, stickout.fem.setup.file; print(*{name.split('.')[0] for name in sys.modules})"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert not heavy & set(done.stdout.split())
