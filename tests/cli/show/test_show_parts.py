"""The parts round the bar: drawn where the set-up's keys say, closed, seen from the right side."""

from __future__ import annotations

import numpy as np
import pytest

from stickout.cli.commands.film import scene_of
from stickout.cli.show.scene.around import Around, around
from stickout.cli.show.scene.cutter import Cutter, drawn_cutter
from stickout.cli.show.scene.framing import near_side
from stickout.cli.show.scene.inset import end_view
from stickout.cli.show.scene.layout import HEAD, Room, place_labels
from stickout.cli.show.scene.post import drawn_post
from stickout.cli.show.scene.scene import Scene, bar_surface
from stickout.cli.show.scene.signs import Label
from stickout.cli.show.scene.stage import Stage, build_stage
from stickout.cli.show.scene.workpiece import drawn_work
from stickout.fem import Bar, BedGrip, Cut, Edge, RigidGrip, Setup, material, run_study
from stickout.fem.cut.quick import quick_study
from stickout.fem.setup.grips import SlotGrip
from stickout.fem.setup.parts import Solve, Turns
from stickout.meshes.parts import Shim, Wrap
from stickout.meshes.tagged import FloatArray

TOWARD = np.array([0.4, -0.8, 0.45])
BORING = Cut(operation="boring", edge_angle_deg=95, work_diameter_mm=24)
TURNING = Cut(operation="turning", edge_angle_deg=90, work_diameter_mm=30, depth_mm=0.5)
ROUND = Bar(overhang_mm=80, diameter_mm=16)
SQUARE = Bar(overhang_mm=36, section="square", width_mm=12, gripped_mm=60)
POST = SlotGrip(screws=2, screw_diameter_mm=8, first_screw_mm=12, screw_spacing_mm=25)
STEEL = material("steel")


def setup_of(bar: Bar, cut: Cut | None = None, **more: object) -> Setup:
    """Return a set-up that is quick to solve."""
    given: dict[str, object] = {"grip": RigidGrip(), "solve": Solve(2, 0.05), **more}
    return Setup(bar=bar, cut=cut, **given)  # type: ignore[arg-type]


def cutter_of(setup: Setup) -> Cutter:
    """Return its cutter, the force computed on the bar's axis."""
    return drawn_cutter(setup, computed=np.array([setup.bar.overhang_mm * 1e-3, 0, 0]), toward=TOWARD)


@pytest.fixture(scope="module")
def shimmed() -> Scene:
    """Return the scene of a tool on copper under two screws."""
    metals = {"bar": STEEL, "shim": material("annealed copper")}
    return scene_of(quick_study(setup_of(SQUARE, TURNING, grip=POST, shim=Shim(1.0), materials=metals)), 0)


@pytest.fixture(scope="module")
def stage(shimmed: Scene) -> Stage:
    """Return its stage."""
    return build_stage(shimmed, (960, 540))


def test_a_bar_with_two_flats_lies_in_its_post() -> None:
    """Principle: it lies on a flat, so the floor is half the flats' distance down; its post has a width."""
    bar = Bar(overhang_mm=40, section="flatted", diameter_mm=16, across_flats_mm=13, gripped_mm=48)
    floor, back = (
        one.solid.points for one in drawn_post(setup_of(bar, grip=POST), near=-1.0, toward=TOWARD)[0]
    )
    assert floor[:, 2].max() == pytest.approx(-0.0065)
    assert np.ptp(floor[:, 1]) > 0.016
    assert back[:, 1].min() > 0.008


@pytest.mark.parametrize(("wall", "side"), [("front", 1), ("rear", -1)])
def test_a_boring_cutter_reaches_the_wall_and_no_farther(wall: str, side: int) -> None:
    """Principle: the nose lies on the bore's wall at the end of the bar, and is the outermost point."""
    cut = Cut(operation="boring", edge_angle_deg=95, work_diameter_mm=24, wall=wall)
    setup = setup_of(ROUND, cut)
    found = cutter_of(setup)
    assert found.nose == pytest.approx([0.08, side * 0.012, 0], abs=1e-12)
    assert found.aside
    points = found.props[0].solid.points
    assert (side * points[:, 1]).max() == pytest.approx(0.012, abs=1e-9)
    # Front wall: the work moves down onto the top of the cutter; rear wall: up onto its underside.
    assert (side * points[:, 2]).max() == pytest.approx(0, abs=1e-12)
    work = drawn_work(setup, found.nose, toward=TOWARD)
    assert work is not None
    rim = work.props[0].solid.points
    assert np.hypot(rim[:, 1], rim[:, 2]).min() == pytest.approx(0.012, rel=1e-9)


def test_an_edge_that_is_given_stays_where_it_is() -> None:
    """Principle: with an offset in the file nothing is made up."""
    found = drawn_cutter(
        setup_of(ROUND, BORING, edge=Edge(offset_y_mm=9)), computed=np.array([0.08, 0.009, 0]), toward=TOWARD
    )
    assert found.nose == pytest.approx([0.08, 0.009, 0])
    assert not found.aside


@pytest.mark.parametrize(("toward_", "side"), [("headstock", 1), ("tailstock", -1)])
def test_an_insert_leads_on_the_feeds_side(toward_: str, side: int) -> None:
    """ISO 3002: at 90 degrees the main edge is square to the feed, so it runs along the shank."""
    cut = Cut(operation="turning", edge_angle_deg=90, feed_toward=toward_)
    found = cutter_of(setup_of(SQUARE, cut))
    assert found.nose == pytest.approx([0.036, side * 0.006, 0.00625], abs=1e-12)
    top = found.props[0].solid.points
    plan = np.unique(np.round(top[np.isclose(top[:, 2], found.nose[2])][:, :2], 9), axis=0)
    ways = [one - found.nose[:2] for one in plan if np.hypot(*(one - found.nose[:2])) > 1e-6]
    assert min(float(one @ [-1, 0] / np.hypot(*one)) for one in ways) < 0.99
    assert max(float(one @ [-1, 0] / np.hypot(*one)) for one in ways) == pytest.approx(1.0)
    assert (side * plan[:, 1]).max() == pytest.approx(0.006, abs=1e-9)


def test_high_speed_steel_carries_no_insert() -> None:
    """Common practice, no source: a ground tool bit is its own cutter."""
    setup = setup_of(SQUARE, TURNING, materials={"bar": material("high speed steel")})
    assert cutter_of(setup).props == ()


def test_the_turned_disc_meets_the_nose() -> None:
    """Principle: the nose lies on the turned diameter, and the shoulder is as deep as the cut."""
    setup = setup_of(SQUARE, TURNING)
    nose = cutter_of(setup).nose
    work = drawn_work(setup, nose, toward=TOWARD)
    assert work is not None
    axis = nose + np.array([0.015, 0, 0])
    radii = [np.hypot(*(one.solid.points - axis)[:, [0, 2]].T).max() for one in work.props]
    assert sorted(radii) == pytest.approx([0.015, 0.0155], rel=1e-9)
    fresh = min(work.props, key=lambda one: np.hypot(*(one.solid.points - axis)[:, [0, 2]].T).max())
    assert fresh.solid.points[:, 1].max() == pytest.approx(nose[1])


@pytest.mark.slow
def test_screws_stand_where_the_file_says(shimmed: Scene) -> None:
    """Principle: 12 and 37 mm behind the holder's face, 8 mm thick, on the shank's top."""
    things = around(shimmed, skin_points(shimmed), side=-1.0, toward=TOWARD)
    pins = [one.solid.points for one in things.before if one.solid.colour == "screw"][::2]
    assert [-500.0 * (one[:, 0].min() + one[:, 0].max()) for one in pins] == pytest.approx([12, 37], abs=1e-6)
    for one in pins:
        assert np.ptp(one[:, 1]) == pytest.approx(0.008, rel=1e-6)
        assert one[:, 2].min() == pytest.approx(0.006)
    floor = things.behind[0].solid.points
    assert floor[:, 2].max() == pytest.approx(-0.007)  # the shim's 1 mm is true, never thickened
    assert things.invented == ("insert", "work", "post")


def skin_points(scene: Scene) -> FloatArray:
    """Return points of the bar's skin."""
    return bar_surface(scene).sample(scene.mesh.points)


def test_a_shim_and_a_wrap_have_the_colours_of_their_metals(stage: Stage) -> None:
    """Principle: colour bands lie on what was computed to move as bar; copper looks like copper."""
    assert {stage.paints[at] for at in np.unique(stage.painted) if at >= 0} == {"copper"}
    metals = {"bar": STEEL, "wrap": material("tin-lead solder")}
    wrapped = setup_of(Bar(40, diameter_mm=16), BORING, wrap=Wrap(2, 20, 20), materials=metals)
    other = build_stage(scene_of(run_study(wrapped), 0), (960, 540))
    assert {other.paints[at] for at in np.unique(other.painted) if at >= 0} == {"solder"}


@pytest.mark.parametrize(
    ("cut", "side"),
    [
        (BORING, 1),
        (Cut(operation="boring", wall="rear"), -1),
        (TURNING, -1),
        (Cut(operation="turning", feed_toward="tailstock"), 1),
        (Cut(operation="parting"), -1),
    ],
)
def test_the_fresh_surface_is_near(cut: Cut, side: int) -> None:
    """Principle: the viewer stands where a bar's cutter points, or where a tool's feed comes from."""
    setup = setup_of(Bar(40, diameter_mm=16), cut)
    assert near_side(scene_of(run_study(setup), 0)) == side


def test_nothing_is_drawn_over_the_title(stage: Stage) -> None:
    """Principle: what runs out of the frame sideways still keeps off the band of the title."""
    props = (*stage.around.behind, *stage.around.before)
    ends = np.concatenate([one.outline for one in props])
    steps = np.linspace(0, 1, 400)[:, None, None]
    pixels = stage.view.pixels((1 - steps) * ends[:, 0] + steps * ends[:, 1]).reshape(-1, 2)
    inside = pixels[(pixels[:, 0] >= 0) & (pixels[:, 0] <= 960)]
    assert inside[:, 1].min() > HEAD * 540 / 720
    assert (pixels[:, 0] < 0).any()  # and it does run out, or the test would hold nothing


def test_the_end_view_shows_the_motion_as_seen_from_the_free_end(stage: Stage) -> None:
    """Principle: +y to the right and z up, the arrow along the edge's movement in that plane."""
    view = end_view(stage)
    assert view.motion is not None
    across = stage.ride.shift[1:]
    assert abs(float(view.motion @ across)) == pytest.approx(np.hypot(*across))
    assert view.nose == pytest.approx([0.006, 0.00625])
    assert np.ptp(view.section, axis=0) == pytest.approx([0.012, 0.012], rel=1e-6)


def test_a_twist_has_no_straight_arrow() -> None:
    """Principle: the middle of the end face stands still in torsion, wherever the edge lies."""
    result = run_study(setup_of(Bar(40, diameter_mm=16), BORING, solve=Solve(6, 0.05)))
    at = list(result.kinds).index("torsion")
    assert end_view(build_stage(scene_of(result, at), (960, 540))).motion is None


def test_words_stand_on_paper_and_clear_of_each_other() -> None:
    """Principle: with room enough no word covers what is drawn, nor another word."""
    picture = np.full((1, 540, 960, 3), 255, dtype=np.uint8)
    picture[0, 200:340, 300:700] = 90
    room = Room(picture)
    places = [np.array([x, y]) for x, y in ((350.0, 210.0), (360.0, 220.0), (500.0, 330.0), (690.0, 270.0))]
    wanted = [(Label(str(at), np.zeros(3), "words"), one, (150.0, 24.0)) for at, one in enumerate(places)]
    placed = place_labels(room, wanted, kept=[(0.0, 0.0, 200.0, 540.0)])
    for at, one in enumerate(placed):
        assert room.taken(one.box) == 0
        assert one.box[0] > 200
        for other in placed[:at]:
            apart = np.maximum(
                np.subtract(one.box[:2], other.box[2:]), np.subtract(other.box[:2], one.box[2:])
            )
            assert apart.max() >= 0


def test_a_bed_is_cut_open_on_the_viewers_side() -> None:
    """Principle: seen from +y the near half of the block is gone, so nothing of it lies there."""
    setup = setup_of(Bar(40, diameter_mm=16, gripped_mm=30), BORING, grip=BedGrip())
    scene = scene_of(run_study(setup), 0)
    for side in (1.0, -1.0):
        things: Around = around(scene, skin_points(scene), side=side, toward=TOWARD)
        points = np.concatenate([one.solid.points for one in (*things.behind, *things.before)])
        assert (side * points[:, 1]).max() < 1e-3
        assert (-side * points[:, 1]).max() > 0.012


def test_a_loose_wrap_is_wire_on_the_bar() -> None:
    """Closed form: 20 mm of 2 mm wire, close wound, are nine turns round a radius of 9 mm."""
    metals = {"bar": STEEL, "wrap": material("tin-lead solder")}
    wound = setup_of(
        Bar(40, diameter_mm=16),
        BORING,
        wrap=Wrap(2, 20, 20, "loose"),
        turns=Turns(wire_diameter_mm=2),
        materials=metals,
    )
    stage = build_stage(scene_of(run_study(wound), 0), (960, 540))
    assert stage.coil is not None
    points, normals = stage.coil.solid.points, stage.coil.solid.normals
    middle = points - 0.001 * normals
    assert np.hypot(middle[:, 1], middle[:, 2]) == pytest.approx(np.full(len(middle), 0.009), rel=2e-3)
    turn = np.unwrap(np.arctan2(middle[::10, 2], middle[::10, 1]))
    assert abs(turn[-1] - turn[0]) / (2 * np.pi) == pytest.approx(9, rel=1e-6)
    assert [points[:, 0].min(), points[:, 0].max()] == pytest.approx([0.02, 0.04], abs=1e-4)
    # The free end of the bar moves most, and so does the wire on it.
    swing = np.linalg.norm(stage.coil_moves, axis=1)
    assert swing.max() == pytest.approx(np.linalg.norm(stage.moves, axis=1).max(), rel=0.1)
    assert swing[points[:, 0] > 0.035].mean() > 1.5 * swing[points[:, 0] < 0.025].mean()
