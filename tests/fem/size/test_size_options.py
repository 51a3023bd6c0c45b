"""Bars for a job: what a holder's hole lets in, which wall is cut, shanks, quietest bar, pictures, files."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest
import setups
from answers import told
from matplotlib.patches import Polygon

from stickout.cli.show.plots.above_plot import draw_from_above
from stickout.fem.beam.hand_bar import hand_compliance_along
from stickout.fem.errors import InputError
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.material_table import MATERIALS
from stickout.fem.setup.parts import Cut, Setup
from stickout.fem.setup.writing import setup_toml
from stickout.fem.size.job import Bore, Holder, Room, Shank, SizeJob, check_job
from stickout.fem.size.options import options
from stickout.fem.size.questions import clearance_cost, largest_round
from stickout.fem.size.stock import largest_stock_mm, shank_sizes_mm, stock_sizes_mm
from stickout.meshes.parts import Shim

HOLE = SizeJob(Bore(20.0, 60.0))


def by_name(job: SizeJob) -> dict[tuple[str, str, float], Setup]:
    """Return shape, make and size to two digits -> set-up."""
    return {(one.shape, one.made, round(one.size_mm, 2)): one.setup for one in options(job)}


def test_bars_for_a_hole() -> None:
    """Round and square, largest and as sold, flats and a tube: the sizes of the circle, 15 mm."""
    assert set(by_name(HOLE)) == {
        ("round", "stock", 15.0),
        ("flatted", "largest", 15.0),
        ("tube", "largest", 15.0),
        ("square", "largest", 10.61),
        ("square", "stock", 10.0),
    }


def test_a_holder_larger_than_the_bar() -> None:
    """A shank turned to its hole, or the plain bars in a sleeve."""
    job = replace(HOLE, holder=Holder(bore_mm=25.0))
    found = options(job)
    stepped = next(one for one in found if one.shape == "stepped")
    assert (stepped.setup.bar.diameter_mm, stepped.size_mm) == (25.0, pytest.approx(15.0))
    assert stepped.sleeve_mm is None
    assert all(one.sleeve_mm == 25.0 for one in found if one.shape != "stepped")
    # A stiffer root is worth something, a rigid holder makes no difference between the two.
    assert hand_compliance_along(stepped.setup) < min(
        hand_compliance_along(one.setup) for one in found if one is not stepped
    )


def test_a_holder_smaller_than_the_bar() -> None:
    """The shank is turned down, or the whole bar is as thin as the holder's hole; none thicker goes in."""
    found = by_name(replace(HOLE, holder=Holder(bore_mm=12.0)))
    assert ("stepped", "largest", 15.0) in found
    assert ("round", "stock", 12.0) in found
    assert ("square", "largest", round(12 / math.sqrt(2), 2)) in found
    assert max(setup.bar.diameter_mm or 0.0 for setup in found.values()) == 12.0


def test_the_rear_wall_is_the_mirror_image() -> None:
    """Cut at the back, the edge lies at -y; the bars are the same, and so are their springs."""
    rear = replace(HOLE, cut=Cut(operation="boring", wall="rear"))
    for front, back in zip(options(HOLE), options(rear), strict=True):
        assert front.place is not None
        assert back.place is not None
        assert back.place.y == pytest.approx(-front.place.y)
        assert back.setup.edge.offset_y_mm == pytest.approx(-front.setup.edge.offset_y_mm)
        assert back.place.gaps == front.place.gaps
        assert hand_compliance_along(back.setup) == pytest.approx(
            hand_compliance_along(front.setup), rel=1e-9
        )


def test_carbide_comes_round() -> None:
    """It is bought and ground, not filed."""
    assert {one.shape for one in options(replace(HOLE, materials=[MATERIALS["cemented carbide"]]))} == {
        "round"
    }


def test_shanks_that_the_post_takes() -> None:
    """None taller than the slot; in a groove none wider than it less the room on both sides."""
    post = SizeJob(Shank(60.0, 12.0, 16.0))
    assert max(one.size_mm for one in options(post)) == 16.0
    assert ("rectangle", "stock", 12.0) in by_name(post)
    blade = replace(post, work=Shank(60.0, 12.0, 16.0, groove_mm=5.0), room=Room(clearance_mm=0.5))
    wide = sorted(one.setup.bar.width_mm or 0.0 for one in options(blade))
    assert wide == [4.0]
    for one in options(post):
        edge, bar = one.setup.edge, one.setup.bar
        # The edge is the top corner beside the shoulder, which lies where the tool is fed: headstock is +y.
        assert (edge.offset_y_mm, edge.offset_z_mm) == ((bar.width_mm or 0.0) / 2, one.size_mm / 2)
    away = replace(post, cut=Cut(operation="turning", feed_toward="tailstock"))
    assert all(one.setup.edge.offset_y_mm < 0 for one in options(away))
    assert options(blade)[0].setup.edge.offset_y_mm == 0.0


def test_sizes_that_are_sold() -> None:
    """Both lists rise, an inch size is an inch size, and the largest one fits."""
    for units in ("mm", "inch"):
        sizes = stock_sizes_mm(units)
        assert list(sizes) == sorted(set(sizes))
        assert largest_stock_mm(sizes[4] + 1e-9, units) == sizes[4]
        assert largest_stock_mm(0.5 * sizes[0], units) is None
    assert (0.5 * 25.4, 0.375 * 25.4) in shank_sizes_mm("inch")
    assert (12.0, 8.0) in shank_sizes_mm("mm")


def test_what_a_millimetre_of_room_costs() -> None:
    """On a rigid root of a slender bar (D - 1)^4 / D^4; shear and twist move it by a per cent or so."""
    job = SizeJob(Bore(20.0, 200.0), holder=Holder(style="rigid"))
    assert largest_round(job) == pytest.approx(15.0)
    assert clearance_cost(job) == pytest.approx(1 - (14 / 15) ** 4, abs=0.01)
    assert clearance_cost(job, step_mm=15.0) is None


def test_a_job_for_programs_is_checked() -> None:
    """Without the command line the same checks name the same sizes."""
    for job, key in (
        (SizeJob(Bore(-20.0, 60.0)), "bore"),
        (SizeJob(Bore(20.0, math.inf)), "depth"),
        (SizeJob(Bore(20.0, 60.0), materials=[]), "materials"),
        (SizeJob(Shank(40.0, 9.0, 16.0, groove_mm=2.0), room=Room(clearance_mm=1.0)), "clearance"),
    ):
        with pytest.raises(InputError) as caught:
            check_job(job)
        assert caught.value.key == key


@pytest.mark.parametrize("at", range(6))
def test_a_set_up_reads_back(at: int) -> None:
    """Round trip through TOML: bar, edge, grip, material and cut, in either unit, to the last digits kept."""
    cut = parse_setup(setups.CUTTING).setup.cut
    job = replace(HOLE, cut=cut, holder=Holder(bore_mm=25.0), units=("mm", "inch")[at % 2])
    setup = options(job)[at % 6].setup
    read = parse_setup(setup_toml(setup, title='A "bar"')).setup
    assert (read.title, read.units, read.grip) == ('A "bar"', setup.units, setup.grip)
    assert hand_compliance_along(read) == pytest.approx(hand_compliance_along(setup), rel=1e-8)
    assert read.bar.section == setup.bar.section
    assert read.materials["bar"] == setup.materials["bar"]
    assert read.cut is not None
    assert read.cut.speeds_rpm == (cut and cut.speeds_rpm)
    assert read.cut.depth_mm == pytest.approx(0.2)


def test_a_set_up_that_is_not_written() -> None:
    """What the file would lose is refused."""
    setup = replace(options(HOLE)[0].setup, shim=Shim(0.5))
    with pytest.raises(InputError) as caught:
        setup_toml(setup, title="")
    assert caught.value.key == "setup"


@pytest.mark.slow
@pytest.mark.parametrize("suffix", ["svg", "png", "pdf"])
def test_pictures(suffix: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every format, the picked bar, the same bytes twice; a bar beyond the ranking is refused, unwritten."""
    monkeypatch.chdir(tmp_path)
    words = ("size", "--bore", "20", "--depth", "30", "--materials", "carbide", "--grip", "rigid")
    for name in ("one", "two"):
        assert told(*words, "--plot", f"{name}.{suffix}").code == 0
    one, two = (Path(f"{name}.{suffix}").read_bytes() for name in ("one", "two"))
    assert one == two
    assert len(one) > 5000
    done = told(*words, "--plot", f"three.{suffix}", "--pick", "2")
    assert (done.code, Path(f"three.{suffix}").exists()) == (2, False)
    assert done.err.startswith("--pick is 2; it must be 1 to 1.")


def test_the_views_are_not_mirror_images() -> None:
    """From above y = z x x: with x to the left the front wall, +y, lies below; to the right +y is up."""
    from matplotlib.figure import Figure

    axes = Figure().subplots()
    draw_from_above(axes, HOLE, option=options(HOLE)[0])
    left, right = axes.get_xlim()
    cutter = min(patch.get_xy()[:, 1].min() for patch in axes.patches if isinstance(patch, Polygon))
    assert left > right  # x runs to the left
    assert cutter == pytest.approx(-10.0)  # and the edge touches the wall below
    post = SizeJob(Shank(60.0, 12.0, 16.0))
    axes = Figure().subplots()
    draw_from_above(axes, post, option=options(post)[0])
    left, right = axes.get_xlim()
    dot = next(line for line in axes.lines if line.get_marker() == "o")
    assert left < right
    assert (dot.get_xdata()[0], dot.get_ydata()[0]) == (17.0, 8.0)  # 12 and 5 mm out, fed to +y


def test_a_blade_and_a_shoulder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The other kind of work, told and drawn; question 11 has its answer."""
    monkeypatch.chdir(tmp_path)
    words = (
        "--shoulder",
        "40",
        "--reach",
        "6",
        "--height",
        "10",
        "--gripped",
        "20",
        "--plot",
        "a.svg",
        "--more",
    )
    done = told("size", *words)
    text = " ".join(done.out.split())
    assert done.code == 0, done.err
    assert "past the rim of a shoulder" in text
    assert "A shank a millimetre taller may stick out" in text
    assert "Where to drill?" not in text
    assert max(map(len, done.out.splitlines())) <= 100
