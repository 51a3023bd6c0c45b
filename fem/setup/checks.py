"""The one public check of a set-up: every fault, the first fault, and what deserves a warning."""

from __future__ import annotations

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING, hint
from stickout.fem.setup.check_absorber import absorber_faults
from stickout.fem.setup.check_added import shim_faults, wrap_faults
from stickout.fem.setup.check_bar import bar_faults, edge_faults
from stickout.fem.setup.check_common import Faults
from stickout.fem.setup.check_cut import cut_faults, material_faults, solve_faults
from stickout.fem.setup.check_grip import grip_faults
from stickout.fem.setup.check_work import post_faults, rim_warnings, work_faults
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.sanity import hole_faults, sanity_warnings
from stickout.fem.units import UNITS

WITHOUT = "Notes, spring and losses leave the absorber out; margin and depth limit of a cut count it."
CHECKS = (
    bar_faults,
    edge_faults,
    grip_faults,
    shim_faults,
    wrap_faults,
    absorber_faults,
    cut_faults,
    hole_faults,
    work_faults,
    post_faults,
    solve_faults,
)


def setup_faults(setup: Setup) -> Faults:
    """Yield an InputError for every fault of a set-up, in the order of the set-up file."""
    if setup.units not in UNITS:
        mend = hint(setup.units, UNITS, otherwise="Choose one of these.")
        yield InputError(key="units", given=setup.units, allowed='"mm" or "inch"', mend=mend)
        return
    for check in CHECKS:
        yield from check(setup)
    yield from material_faults(setup.materials.values())
    yield from _region_faults(setup)


def _region_faults(setup: Setup) -> Faults:
    """Yield the fault of a part without a material."""
    parts = {
        "bar": ("bar.material", True),
        "holder": ("grip.block_material", setup.grip.has_block),
        "shim": ("shim.material", setup.shim is not None),
        "wrap": ("wrap.material", setup.wrap is not None),
        "work": ("work.material", setup.work is not None),
    }
    for region, (key, there) in parts.items():
        if there and region not in setup.materials:
            mend = "Say what it is made of."
            yield InputError(key=key, given=MISSING, allowed="the name of a material", mend=mend)


def check_setup(setup: Setup) -> None:
    """Check the ranges of a whole set-up.

    Raises
    ------
    InputError
        The first fault found; ``setup_faults`` lists them all.
    """
    for fault in setup_faults(setup):
        raise fault


def _left_out(setup: Setup) -> list[str]:
    """Return the keys of a cut that its force needs and that are not there; none where nothing needs them."""
    cut = setup.cut
    if cut is None or cut.force_direction is not None:
        return []
    values = {
        "work_material": cut.work_material,
        "depth": cut.depth_mm,
        "feed": cut.feed_mm,
        "nose_radius": cut.nose_radius_mm,
        "edge_angle_deg": cut.edge_angle_deg,
    }
    missing = [key for key, value in values.items() if value is None]
    return (
        missing if len(missing) < len(values) else []
    )  # nothing but the operation: only a direction is meant


def setup_warnings(setup: Setup) -> tuple[str, ...]:
    """Return what is allowed but doubtful in a set-up, one sentence each."""
    out = [] if setup.absorber is None else [WITHOUT]
    left_out = _left_out(setup)
    if left_out:
        out.append(
            f"[cut] leaves out {', '.join(left_out)}: the direction of its force is the usual one of its "
            "operation, and nothing can be said of chatter."
        )
    return (*out, *sanity_warnings(setup), *rim_warnings(setup))
