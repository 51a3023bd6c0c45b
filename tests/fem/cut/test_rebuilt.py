"""A stranger's check: every likely margin from the JSON file of ``cut`` alone, by other equations."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from rebuilt import FEW_WAVES, rebuilt_dry, rebuilt_margins

from stickout.fem.cut.answer import cut_answer
from stickout.fem.records.cut import cut_result_record
from stickout.fem.setup.file import read_setup
from stickout.fem.study.study import run_study

EXAMPLES = Path(__file__).parents[3] / "examples"
SPEEDS = {
    "boring_bar_16mm": (),
    "turning_tool_12mm": (),
    "slender_shaft": (),  # the work gives
    "measured_post": (),  # the post gives
    "line_boring_bar": (),  # both ends give
    "absorber_bar": (),
    "stepped_bar": (
        "cut.speeds_rpm=[400, 4000, 5500, 9000, 15000]",
        "cut.work_diameter=30",
    ),  # few waves a turn
}


@pytest.mark.slow
@pytest.mark.parametrize("name", SPEEDS)
def test_every_likely_margin_is_rebuilt_from_the_file(name: str) -> None:
    """An independent scan of the 3 x 3 equation; a per cent is the scan's step and the modes left out."""
    coarse = ("solve.accuracy=0.03",)  # the file is to be rebuilt, not to be fine
    setup = read_setup(EXAMPLES / f"{name}.toml", changes=SPEEDS[name] + coarse).setup
    record = cut_result_record(cut_answer(run_study(setup)), tool="stickout", version="0")
    file = json.loads(json.dumps(record, allow_nan=False))
    cut = file["cut"]
    assert any((one["waves_per_turn"] or FEW_WAVES) < FEW_WAVES for one in cut["speeds"]) is (
        name == "stepped_bar"
    )
    for one, found in zip(cut["speeds"], rebuilt_margins(cut), strict=True):
        assert one["margin"]["likely"] == pytest.approx(found, rel=0.01), one["rpm"]
    assert cut["margin"]["likely"] == min(one["margin"]["likely"] for one in cut["speeds"])
    assert cut["margin_without_rubbing"]["likely"] == pytest.approx(rebuilt_dry(cut), rel=0.01)
    error = file["static"]["compliance_error"]
    assert all(0 <= entry < 0.05 for row in error for entry in row)
