"""Only what nobody can guess is required: the rest is taken as usual, and said so."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Final

import pytest
import setups
from answers import told

from stickout.fem.force.loading import loading
from stickout.fem.records.setup import setup_record
from stickout.fem.setup.file import ReadSetup, parse_setup
from stickout.fem.setup.grips import SleeveGrip, SlotGrip
from stickout.fem.study.assumed import assumptions

MM_PER_INCH: Final = 25.4  # definition
# The least that a turner must say: what it is, how thick, how far out, of what, held in what.
LEAST: Final = """
units = "mm"
[bar]
width = 10
overhang = 35
material = "HSS"
[grip]
style = "four-way post"
"""
CUT: Final = """
[cut]
operation = "turning"
work_material = "mild steel"
depth = 0.5
feed = 0.1
"""


def without(text: str, *keys: str) -> str:
    """Return a set-up without the lines of these keys."""
    return "\n".join(line for line in text.splitlines() if line.partition(" =")[0] not in keys) + "\n"


def taken(read: ReadSetup) -> dict[str, float]:
    """Return the likely values taken as usual, by key."""
    return {one.key: one.band.likely for one in read.setup.usual}


def test_a_post_with_nothing_measured() -> None:
    """The screws and grip that the specification of `stickout new` gives a 10 mm shank (own design page)."""
    read = parse_setup(LEAST + CUT)
    setup = read.setup
    assert setup.grip == SlotGrip(2, 8, first_screw_mm=12, screw_spacing_mm=25)
    assert (setup.bar.section, setup.bar.gripped_mm) == ("square", 60)
    assert setup.cut is not None
    assert (setup.cut.nose_radius_mm, setup.cut.edge_angle_deg) == (0.4, 90)
    assert set(taken(read)) == {
        *("bar.gripped", "grip.screws", "grip.screw_diameter", "grip.first_screw", "grip.screw_spacing"),
        *("cut.nose_radius", "cut.edge_angle_deg"),
    }
    [told] = [one for one in read.notes if one.startswith("Not given and taken as usual: ")]
    assert all(f"{key} " in told for key in taken(read))
    assert "cut.edge_angle_deg 90°" in told


def test_every_usual_value_is_an_assumption_with_band_and_source() -> None:
    """The list of assumptions names each one, in SI, its band about its likely value, with its mark."""
    setup = parse_setup(LEAST + CUT).setup
    found = {one.name: one for one in assumptions(setup, loading(setup.cut))}
    for one in setup.usual:
        listed = found[f"{one.key}, usual"]
        assert listed.band.low < listed.band.likely < listed.band.high
        assert listed.band.source == "common practice, no source"
    assert found["bar.gripped, usual"].band.likely == pytest.approx(0.060, rel=1e-12)
    assert (found["bar.gripped, usual"].unit, found["cut.edge_angle_deg, usual"].unit) == ("m", "deg")
    assert setup_record(setup)["usual"] == [one.key for one in setup.usual]
    assert "usual" not in setup_record(parse_setup(setups.SLOT).setup)


def test_the_force_lists_the_edge_it_took(tmp_path: Path) -> None:
    """Nose and edge angle stand among what `force` assumed, on the screen and in the file."""
    (tmp_path / "bare.toml").write_text(LEAST + CUT, encoding="utf-8")
    done = told("force", tmp_path / "bare.toml", "--more", "--json", tmp_path / "f.json")
    assert done.code == 0
    record = json.loads((tmp_path / "f.json").read_text(encoding="utf-8"))
    names = [one["name"] for one in record["assumptions"]]
    for name in ("cut.nose_radius, usual", "cut.edge_angle_deg, usual"):
        assert name in names
        assert name in done.out


def test_what_is_given_is_not_taken_as_usual() -> None:
    """Each key that is written stands, and leaves the list."""
    whole = parse_setup(setups.SLOT)
    assert whole.setup.usual == ()
    for key in ("gripped", "screws", "screw_diameter", "first_screw", "screw_spacing"):
        read = parse_setup(without(setups.SLOT, key))
        assert [one.rpartition(".")[2] for one in taken(read)] == [key]


@pytest.mark.parametrize("gripped", [8, 10, 16, 20, 30, 45, 200])
@pytest.mark.parametrize("extra", ["", "screws = 2\n", "screw_diameter = 4\n", "screw_spacing = 9\n"])
def test_usual_screws_lie_on_the_grip_that_is_given(gripped: int, extra: str) -> None:
    """By plain geometry: no screw hangs over either end of it, and none over its neighbour."""
    text = LEAST.replace("overhang", f"gripped = {gripped}\noverhang") + extra
    if gripped < 16 and extra.startswith("screws"):
        with pytest.raises(ValueError, match=r"every screw lies wholly|at least the screw diameter"):
            parse_setup(text)
        return
    grip = parse_setup(text).setup.grip
    assert isinstance(grip, SlotGrip)
    half = grip.screw_diameter_mm / 2
    assert grip.screws_mm[0] - half >= -1e-9
    assert grip.screws_mm[-1] + half <= gripped + 1e-9
    gaps = [b - a for a, b in zip(grip.screws_mm, grip.screws_mm[1:], strict=False)]
    assert all(gap >= grip.screw_diameter_mm - 1e-9 for gap in gaps)


def test_a_sleeve_with_nothing_measured() -> None:
    """Three diameters of grip, a block of two and a half diameters: the specification's half-inch bar."""
    text = setups.ROUND.replace('"mm"', '"inch"').replace("= 16", '= "1/2"').replace("= 80", "= 2")
    read = parse_setup(without(text, "gripped").replace('"bed"', '"split sleeve"'))
    assert read.setup.bar.gripped_mm == pytest.approx(1.5 * MM_PER_INCH, rel=1e-12)
    grip = read.setup.grip
    assert isinstance(grip, SleeveGrip)
    assert (grip.block_width_mm, grip.split) == (pytest.approx(1.25 * MM_PER_INCH, rel=1e-12), True)
    assert grip.wall_mm == pytest.approx((grip.block_height_mm - 0.5 * MM_PER_INCH) / 2, rel=1e-12)
    assert read.setup.materials["holder"].name == "steel"
    assert any("grip.block_width 1.25 in" in one for one in read.notes)


def test_a_sleeve_known_in_part() -> None:
    """A wall or a height that is given leaves the bar in the middle of what is taken."""
    walled = parse_setup(without(setups.SLEEVE, "block_height")).setup.grip
    high = parse_setup(without(setups.SLEEVE, "wall")).setup.grip
    assert isinstance(walled, SleeveGrip)
    assert isinstance(high, SleeveGrip)
    assert walled.block_height_mm == 8 + 16 + 8
    assert high.wall_mm == (40 - 16) / 2


@pytest.mark.parametrize(
    ("sizes", "section"),
    [
        *(("diameter = 16", "round"), ("diameter = 16\nbore = 8", "tube"), ("width = 12", "square")),
        *(("width = 10\nheight = 16", "rectangle"), ("diameter = 16\nacross_flats = 13", "flatted")),
    ],
)
def test_the_sizes_say_the_section(sizes: str, section: str) -> None:
    """design.md section 3: which sizes each section takes."""
    assert parse_setup(
        LEAST.replace("width = 10", sizes).replace("four-way post", "rigid")
    ).setup.bar.section == (section)


@pytest.mark.parametrize("sizes", ["", "diameter = 16\nheight = 3", "bore = 8"])
def test_sizes_that_say_no_section(sizes: str) -> None:
    """Then it must be said."""
    with pytest.raises(ValueError, match=r"bar\.section is missing"):
        parse_setup(LEAST.replace("width = 10", sizes))


@pytest.mark.parametrize("key", ["overhang", "material", "style"])
def test_what_nobody_can_guess(key: str) -> None:
    """It is still asked for."""
    with pytest.raises(ValueError, match=f"{key} is missing"):
        parse_setup(without(LEAST, key))


def test_a_blade_cuts_as_wide_as_it_is() -> None:
    """Parting: depth from the blade, nose of a ground edge, within the band of the specification."""
    blade = LEAST.replace("width = 10", "width = 2\nheight = 12").replace("four-way post", "blade holder")
    cut = without(CUT, "depth").replace('"turning"', '"parting"').replace("0.1", "0.04")
    read = parse_setup(blade + cut)
    assert read.setup.cut is not None
    assert (read.setup.cut.depth_mm, read.setup.cut.nose_radius_mm) == (2, 0.1)


def test_a_nose_the_feed_allows() -> None:
    """The limit of a round nose: the feed stays below its diameter; and no nose is beyond the tool."""
    coarse = parse_setup(LEAST + CUT.replace("0.1", "1.0")).setup.cut
    fine = parse_setup(
        LEAST.replace("= 10", "= 0.6") + CUT.replace("0.1", "0.02").replace("0.5", "0.1")
    ).setup.cut
    assert coarse is not None
    assert fine is not None
    assert coarse.nose_radius_mm == 0.8
    assert fine.nose_radius_mm == 0.3


def test_a_bare_operation_stays_one() -> None:
    """Nothing is made up where the cut is not described; once it is begun, it is said what is left out."""
    read = parse_setup(LEAST + '[cut]\noperation = "turning"\n')
    assert read.setup.cut is not None
    assert read.setup.cut.nose_radius_mm is None
    assert read.warnings == ()
    [told] = parse_setup(LEAST + '[cut]\noperation = "turning"\ndepth = 0.5\n').warnings
    assert told.startswith("[cut] leaves out work_material, feed")


def test_inch_set_ups_take_what_is_made_in_inches() -> None:
    """Screws, their places and noses are sixteenths and 64ths of an inch, not millimetres turned over."""
    text = LEAST.replace('"mm"', '"inch"').replace("10", "0.375").replace("35", "1.375")
    cut = CUT.replace("0.5", "0.02").replace("0.1", "0.004")
    inches = {key: value / MM_PER_INCH for key, value in taken(parse_setup(text + cut)).items()}
    for key in ("bar.gripped", "grip.screw_diameter", "grip.first_screw", "grip.screw_spacing"):
        assert 16 * inches[key] == pytest.approx(round(16 * inches[key]), abs=1e-9), key
    assert inches["cut.nose_radius"] == pytest.approx(1 / 64)
    assert inches["grip.screw_diameter"] == pytest.approx(0.315, rel=0.02)  # that of the metric post, 8 mm


@pytest.mark.parametrize("height", [0.25, 0.375, 0.5, 0.625, 0.75, 1.0, 1.5])
def test_every_inch_shank_gets_a_post(height: float) -> None:
    """Stock sizes up to 1 in are read without a mistake, and a larger shank gets no smaller screw."""
    text = LEAST.replace('"mm"', '"inch"').replace("10", str(height)).replace("35", str(3 * height))
    screws = [
        parse_setup(text).setup.grip,
        parse_setup(text.replace(str(height), str(height / 2), 1)).setup.grip,
    ]
    assert all(isinstance(one, SlotGrip) for one in screws)
    assert screws[0].screw_diameter_mm >= screws[1].screw_diameter_mm


def test_a_narrow_flat_in_inches_gets_a_screw_in_64ths() -> None:
    """A screw no wider than its flat: 0.263 in of flat takes 1/4 in."""
    text = LEAST.replace('"mm"', '"inch"').replace("width = 10", "diameter = 0.5\nacross_flats = 0.425")
    grip = parse_setup(text.replace("35", "2")).setup.grip
    assert isinstance(grip, SlotGrip)
    assert grip.screw_diameter_mm == pytest.approx(0.25 * MM_PER_INCH)
