"""The hand formula of a set-up, as it stands beside the solid."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from stickout.fem.beam.hand_bar import hand_compliance, hand_note
from stickout.fem.beam.hand_check import HandCheck, hand_check
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.setting import bed_springs, elastic, hold_of
from stickout.fem.solid.supports import Spring
from stickout.meshes.pieces import depth_of, pieces_of

# Stiffness of a bed, times the bar's depth over its modulus, beyond which it is all but rigid to a beam.
_RIGID = 1e3


def hand_of(setup: Setup) -> HandCheck:
    """Return the hand formula; a shim, a wrap or a pressed seat is left out of it.

    Parameters
    ----------
    setup
        The set-up. Where its edge lies beside the bar's axis the bar twists as well: Saint-Venant's twist
        is added then.
    """
    if setup.grip.at_both_ends:
        softest = float(np.linalg.eigvalsh(hand_compliance(setup)[1:, 1:])[-1])
        return HandCheck("Timoshenko beam on springs at both ends", hand_note(setup), 1 / softest)
    material = elastic(setup.materials["bar"])
    pieces = pieces_of(setup.bar, hold_of(setup))
    hand = hand_check(pieces, material, tip_mass=setup.edge.mass_g * 1e-3, spring=_hand_bed(setup))
    if not (setup.edge.offset_y_mm or setup.edge.offset_z_mm):
        return hand
    softest = float(np.linalg.eigvalsh(hand_compliance(setup)[1:, 1:])[-1])
    return replace(hand, what=f"{hand.what}, twist added", stiffness_n_per_m=1 / softest)


def _hand_bed(setup: Setup) -> Spring | None:
    """Return the bed as the hand formula takes it: no stiffer than moves a beam by a thousandth of its depth.

    Beyond, the beam's sign count needs ever more spans for a difference under a tenth of a per cent.
    """
    spring = bed_springs(setup)
    if spring is None:
        return None
    depth = depth_of(pieces_of(setup.bar, hold_of(setup)))
    share = min(1.0, _RIGID * setup.bar_material.youngs_modulus.likely / (depth * spring.normal))
    return replace(spring, normal=share * spring.normal, shear=share * spring.shear)
