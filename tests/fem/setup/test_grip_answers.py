"""What each grip answers about itself: faces, springs, what scales, what a mesh must know."""

from __future__ import annotations

import math

import pytest

from stickout.fem.setup.bands import Band
from stickout.fem.setup.grips import BedGrip, Grip, HeldGrip, RigidGrip, SleeveGrip, SlotGrip
from stickout.fem.setup.joints import Joint

FACES = Joint(Band(1.0, 2.0, 4.0, "written here"), Band(0.4, 0.5, 0.6, "written here"))
JOINTED = (
    BedGrip(FACES),
    SlotGrip(2, 8.0, 10.0, 25.0, joint=FACES),
    SleeveGrip(40.0, 40.0, 8.0, joint=FACES),
)
BARE = (RigidGrip(), HeldGrip())


@pytest.mark.parametrize("grip", JOINTED, ids=lambda one: one.style)
def test_faces_are_scaled_and_put_at_an_end(grip: Grip) -> None:
    """Half the likely stiffness is 1; the ends are those of the bands above, and nothing else moves."""
    half = grip.scaled(0.5)
    assert half.faces is not None
    assert half.faces.normal_n_per_um_mm2 == Band(1.0, 1.0, 1.0, "written here")
    assert half.faces.shear_ratio == FACES.shear_ratio
    stiff = grip.at_end("high").faces
    assert stiff is not None
    assert (stiff.normal_n_per_um_mm2.likely, stiff.shear_ratio.likely) == (4.0, 0.6)
    assert stiff.loss_factor == FACES.loss_factor
    assert grip.with_faces(FACES) == grip


@pytest.mark.parametrize("grip", BARE, ids=lambda one: one.style)
def test_a_grip_without_faces_stays_as_it_is(grip: Grip) -> None:
    """There is nothing to soften and nothing to name."""
    assert grip.faces is grip.springs is grip.bedding is None
    assert grip.scaled(0.5) is grip
    assert grip.at_end("low") is grip


def test_bonded_faces_are_no_springs() -> None:
    """They are one piece with the holder: described, and yet nothing that gives."""
    slot = SlotGrip(1, 8.0, 10.0, joint=Joint(bonded=True))
    assert slot.faces == Joint(bonded=True)
    assert slot.springs is None
    assert slot.hold.bonded


def test_the_screws_press_on_their_own_area() -> None:
    """Two 8 mm screws: 2 pi 16 mm2; the square that stands for one has the same area as the circle."""
    slot = SlotGrip(2, 8.0, 10.0, 25.0)
    assert slot.screw_area_mm2 == pytest.approx(2 * math.pi * 16)
    assert 2 * slot.hold.screw_side_mm**2 == pytest.approx(slot.screw_area_mm2)
    assert list(slot.hold.screws_mm) == [10.0, 35.0]


def test_what_is_held_still_and_what_touches() -> None:
    """By hand from the set-up file's definitions of the five styles."""
    slot, sleeve = JOINTED[1:]
    still = {one.style: tuple(one.held_still) for one in (*BARE, *JOINTED)}
    assert still == {
        "rigid": ("root",),
        "held": ("floor", "screws"),
        "bed": (),
        "slot": (),
        "sleeve": ("holder_base",),
    }
    assert [one.name for one in slot.touching(shimmed=False)] == ["bar on floor", "screws on bar"]
    shimmed = slot.touching(shimmed=True)
    assert [(one.name, one.inside) for one in shimmed] == [
        ("shim on floor", False),
        ("screws on bar", False),
        ("bar on shim", True),
    ]
    assert shimmed[1].area_mm2 == pytest.approx(2 * math.pi * 16)
    assert [one.inside for one in sleeve.touching(shimmed=False)] == [True]


def test_a_bonded_slot_is_held_on_its_floor() -> None:
    """One piece with the holder: floor and screws stand still, and no face is left to give."""
    slot = SlotGrip(1, 8.0, 10.0, joint=Joint(bonded=True))
    assert slot.one_piece
    assert tuple(slot.held_still) == ("floor", "screws")
    assert not slot.touching(shimmed=True)
