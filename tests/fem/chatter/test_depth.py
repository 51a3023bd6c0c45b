"""The depth at which the margin falls to one."""

from __future__ import annotations

import numpy as np
import pytest
from cut_cases import MM, N_PER_UM, X_AXIS, flatted_bar, one_mode

from stickout.fem.chatter.depth import depth_scan
from stickout.fem.chatter.receptance import ModalModel, relative_model
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.force.directions import MatrixOfDepth, cut_directions, nose_matrix
from stickout.fem.force.law import force_law
from stickout.fem.setup.work_materials import work_material
from stickout.meshes.errors import InputError

LAW = force_law(work_material("medium carbon steel"))


def boring(nose_mm: float = 0.4, edge_angle_deg: float = 95.0) -> MatrixOfDepth:
    """Return the cut of a boring bar as a function of depth."""
    return nose_matrix(
        cut_directions("boring", "front"),
        LAW,
        feed=0.05 * MM,
        nose_radius=nose_mm * MM,
        edge_angle_deg=edge_angle_deg,
    )


def depth_limit(model: ModalModel, cut: MatrixOfDepth, *, deepest: float) -> float:
    """Return the depth limit without rubbing."""
    return float(depth_scan(model, cut, depths=np.geomspace(1e-6, deepest, 20)).limit[0])


def test_margin_is_one_at_the_limit() -> None:
    """Definition: at the limit the margin is one, and all shallower depths are stable."""
    model = flatted_bar(75.0, zeta=0.015)
    limit = depth_limit(model, boring(0.2), deepest=5.0 * MM)
    assert 0.01 * MM < float(limit) < 5.0 * MM
    # Eight false-position steps on a curve with kinks: 1e-4 of the margin, far inside any band.
    assert float(absolute_limit(model, boring(0.2)(limit)).margin) == pytest.approx(1.0, rel=1e-4)
    shallower = np.geomspace(1e-6, float(limit) * 0.999, 400)
    assert np.all(absolute_limit(model, boring(0.2)(shallower)).margin > 1.0)


def test_no_depth_limits_where_the_width_saturates() -> None:
    """A bar that gives in the passive direction alone has a nose radius limit at 90 degrees, no depth limit.

    Closed form: demand Kr Bpp stays below Kr(hm at the tip of the nose) pi r / 4 (computed apart).
    """
    stiff = one_mode(9.0 * N_PER_UM, 2000.0, zeta=0.03)
    weak = one_mode(3.0 * N_PER_UM, 2000.0, zeta=0.03)
    assert np.isinf(depth_limit(stiff, boring(0.4, 90.0), deepest=8.0 * MM))
    assert np.isfinite(depth_limit(weak, boring(0.4, 90.0), deepest=8.0 * MM))
    assert np.isinf(depth_limit(weak, boring(0.1, 90.0), deepest=8.0 * MM))


def test_the_first_of_several_crossings_is_taken() -> None:
    """The margin need not fall steadily with depth: it can come back, and the smallest depth counts.

    A mode along (-1, 1, 1): the share of the cutting force that a deeper cut adds pushes it the other way.
    Compared with a search on a fine grid of depths.
    """
    axis, depths = np.array([-1.0, 1.0, 1.0]) / np.sqrt(3.0), np.geomspace(1e-6, 0.6 * MM, 4000)
    least = absolute_limit(one_mode(1e6, 2000.0, zeta=0.03, axis=axis), boring()(depths)).margin.min()
    model = one_mode(1e6 * 0.8 / least, 2000.0, zeta=0.03, axis=axis)
    margins = absolute_limit(model, boring()(depths)).margin
    assert margins.min() < 1.0 < margins[-1]
    limit = float(depth_limit(model, boring(), deepest=0.6 * MM))
    # Neighbouring depths of the fine grid differ by 0.16 %.
    assert limit == pytest.approx(float(depths[np.argmax(margins < 1.0)]), rel=0.0017)


def test_dampings_side_by_side_give_what_each_gives_alone() -> None:
    """Principle: rubbing flanks are judged together as each by itself."""
    model, rub = flatted_bar(75.0, zeta=0.015), np.array([0.0, 5.0, 1e4])[:, None, None] * np.eye(3)
    depths = np.geomspace(1e-6, 5.0 * MM, 20)
    together = depth_scan(model, boring(0.2), depths=depths, flank_of_depth=lambda _: rub)
    assert together.margin.shape == (20, 3)
    assert len(set(together.limit.tolist())) == 3
    for at in range(3):
        alone = depth_scan(
            model, boring(0.2), depths=depths, flank_of_depth=lambda _, at=at: rub[at : at + 1]
        )
        assert alone.limit == pytest.approx(together.limit[at : at + 1], rel=1e-6)  # false position of both


@pytest.mark.parametrize("depths", [[0.0, 1e-3], [1e-3, 1e-4]])
def test_depths_that_do_not_rise(depths: list[float]) -> None:
    """Refused: the first crossing of such a scan would mean nothing."""
    with pytest.raises(InputError):
        depth_scan(flatted_bar(75.0), boring(), depths=np.array(depths))


def test_an_unstable_scratch_gives_the_shallowest_depth() -> None:
    """Where even the shallowest depth chatters, that depth is the answer."""
    limp = one_mode(0.01 * N_PER_UM, 300.0, zeta=0.005)
    assert float(depth_limit(limp, boring(), deepest=5.0 * MM)) == 1e-6


def test_parting_has_a_limit_by_feed_tangent_alone() -> None:
    """A straight edge square to the feed limits at ``2 k zeta (1 + zeta) / Kr``, the closed form."""
    model = one_mode(2.0 * N_PER_UM, 900.0, zeta=0.02, axis=X_AXIS)
    cut = nose_matrix(cut_directions("parting"), LAW, feed=0.05 * MM, nose_radius=0.0, edge_angle_deg=90.0)
    kr = 0.4 * (1.0 - 0.22) * 1500e6 * 0.05**-0.22
    exact = 2.0 * 2e6 * 0.02 * 1.02 / kr
    # The force along the cutting direction moves nothing in this mode; false position.
    assert float(depth_limit(model, cut, deepest=10.0 * MM)) == pytest.approx(exact, rel=1e-6)


def test_work_support_moves_the_limit() -> None:
    """Receptances of tool and work are summed: the depth limit with limp work is the smaller one."""
    tool = flatted_bar(75.0, zeta=0.015)
    work = one_mode(4.0 * N_PER_UM, 700.0, zeta=0.02)
    alone = depth_limit(tool, boring(0.2), deepest=5.0 * MM)
    together = depth_limit(relative_model(tool, work), boring(0.2), deepest=5.0 * MM)
    assert float(together) < float(alone)
