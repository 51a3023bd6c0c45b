"""The same set-up in inches and in millimetres: every length key is turned, and no number that is none."""

from __future__ import annotations

import pytest

from stickout.fem.records.setup import setup_record
from stickout.fem.setup.file import parse_setup

TEXT = """
units = "{units}"
[bar]
section = "square"
width = {w}
overhang = {o}
gripped = {g}
material = "steel"
[edge]
end_distance = {e}
offset_y = {y}
[grip]
style = "slot"
screws = 2
screw_diameter = {d}
first_screw = {f}
screw_spacing = {s}
[shim]
material = "annealed copper"
thickness = {t}
[cut]
operation = "turning"
work_material = "mild steel"
depth = {depth}
feed = {feed}
nose_radius = {nose}
edge_angle_deg = 93
rake_deg = 5
work_diameter = {work}
speeds_rpm = [200, 400]
[absorber]
mass_g = 5
frequency_hz = 900
damping_ratio = 0.1
position = {p}
"""
INCHES = {
    "w": 0.5,
    "o": 1.25,
    "g": 2.0,
    "e": 0.05,
    "y": 0.1,
    "d": 0.25,
    "f": 0.5,
    "s": 1.0,
    "t": 0.02,
    "depth": 0.01,
    "feed": 0.004,
    "nose": 0.016,
    "work": 1.5,
    "p": 1.0,
}


def leaves(record: object, path: str = "") -> dict[str, object]:
    """Return every value of nested data by its path."""
    if isinstance(record, dict):
        return {k: v for name, one in record.items() for k, v in leaves(one, f"{path}.{name}").items()}
    if isinstance(record, list | tuple):
        return {k: v for n, one in enumerate(record) for k, v in leaves(one, f"{path}[{n}]").items()}
    return {path: record}


def test_inches_are_25_4_times_as_long_key_by_key() -> None:
    """The inch is 25.4 mm by definition; both files must describe one and the same tool."""
    inch = parse_setup(TEXT.format(units="inch", **INCHES)).setup
    metric = parse_setup(TEXT.format(units="mm", **{k: 25.4 * v for k, v in INCHES.items()})).setup
    one, two = leaves(setup_record(inch)), leaves(setup_record(metric))
    assert one.keys() == two.keys()
    for path, value in one.items():
        if isinstance(value, float):
            assert two[path] == pytest.approx(value, rel=1e-12), path
        elif not path.endswith("units"):
            assert two[path] == value, path
    assert inch.grip.first_screw_mm == pytest.approx(12.7)
    assert inch.grip.screw_diameter_mm == pytest.approx(6.35)
