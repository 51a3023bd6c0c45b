"""What ``cut`` says of depth, and of work that gives beside the tool."""

from __future__ import annotations

import pytest
from answers import EXAMPLES, told
from cut_runs import cut_of

pytestmark = pytest.mark.slow


def test_depth_that_limits() -> None:
    """An edge angle of 45 degrees: the width grows with depth, and the limit is a depth beside its speed."""
    changes = ("cut.edge_angle_deg=45", "bar.overhang=42", "solve.accuracy=0.03")
    record = cut_of("turning_tool_12mm", *changes, "cut.depth=4")[1]
    limits = record["cut"]["depth_limit_mm"]
    assert 0 < limits["low"] < limits["likely"]
    rerun = cut_of("turning_tool_12mm", *changes, f"cut.depth={limits['likely']:.6f}")[1]
    # Six digits of depth, and the search; how hard the flank presses is held at the chip of the first cut.
    assert rerun["cut"]["margin"]["likely"] == pytest.approx(1.0, rel=2e-3)
    deep = cut_of("turning_tool_12mm", *changes, "cut.depth=1")[1]["cut"]["speeds"][2]["deepest_quiet_mm"]
    again = cut_of("turning_tool_12mm", *changes, f"cut.depth={deep:.6f}")[1]
    # Draws of one depth carried over to another: a few in a hundred.
    assert again["cut"]["speeds"][2]["p_quiet"] == pytest.approx(0.7, abs=0.03)
    told_at = told("cut", EXAMPLES / "turning_tool_12mm.toml", *(f"--set={one}" for one in changes)).out
    assert "deepest quiet cut" in told_at


def test_no_depth_limit_is_null() -> None:
    """A stiff bar at 95 degrees: no depth limits, the file says null, and the answer says what does."""
    changes = ("bar.overhang=32", "cut.nose_radius=0.1", 'cut.work_material="aluminium"')
    answer, record = cut_of("boring_bar_16mm", *changes)
    assert record["cut"]["depth_limit_mm"] == {"low": None, "likely": None, "high": None}
    assert record["cut"]["margin"]["low"] > 1
    text = " ".join(answer.out.split())
    assert "Chatter sets no depth limit here; the push does: " in text
    assert "no limit found at 120 rpm, " in text
    assert " and 1250 rpm. " in text


def test_work_beside_the_tool() -> None:
    """A slender shaft in a chuck is the soft side, the first lever is a centre; with it the tool decides."""
    answer, record = cut_of("slender_shaft")
    text = " ".join(answer.out.split())
    assert "in the part's own bending" in text
    assert "with tool and post rigid 0.37" in text
    assert record["cut"]["leverage"]["sings"] == "work"
    assert "Try first: a live centre in the end." in text
    assert "a mode of the work limits" in text
    assert record["limiting_mode"] is None
    assert record["cut"]["levers"][0]["key"] == "support"
    lever = record["cut"]["levers"][0]
    supported = cut_of("slender_shaft", "work.held=chuck and centre")[1]
    at = [one["rpm"] for one in record["cut"]["speeds"]].index(record["cut"]["levers_at_rpm"])
    # The same models by another road.
    there = supported["cut"]["speeds"][at]["margin"]["likely"]
    assert lever["margin_after"] == pytest.approx(there, rel=1e-6)
    springs = [one["cut"]["work"]["spring_m_per_n"] for one in (record, supported)]
    assert springs[0] > 10 * springs[1]
    near = cut_of("slender_shaft", "work.cut_at=30")[1]
    # A springy chuck adds to the thin beam, whose deflection goes with the cube of the distance.
    ratio = near["cut"]["work"]["spring_m_per_n"] / record["cut"]["work"]["spring_m_per_n"]
    assert (30 / 85) ** 3 < ratio < 30 / 85
