"""Set-up texts that the tests of the reader and of its messages start from."""

from __future__ import annotations

ROUND = """
title = "Home-made bar"
units = "mm"
[bar]
section = "round"
diameter = 16
overhang = 80
gripped = 60
material = "steel"
[grip]
style = "bed"
"""

SQUARE = """
units = "mm"
[bar]
section = "square"
width = 12
overhang = 40
gripped = 60
material = "steel"
[grip]
style = "held"
"""

SLOT = SQUARE.replace(
    'style = "held"',
    """style = "slot"
screws = 2
screw_diameter = 8
screw_spacing = 30
first_screw = 15""",
)

SLEEVE = ROUND.replace(
    'style = "bed"',
    """style = "sleeve"
block_width = 40
block_height = 40
wall = 8
block_material = "steel"
""",
)

WRAP = """
[wrap]
material = "tin-lead solder"
thickness = 2
start = 50
length = 30
bond = "bonded"
"""

SHIM = """
[shim]
material = "annealed copper"
thickness = 0.5
"""

CUT = """
[cut]
operation = "boring"
work_material = "medium carbon steel"
depth = 0.2
feed = 0.05
nose_radius = 0.4
edge_angle_deg = 95
work_diameter = 24
speeds_rpm = [120, 200, 315]
"""

WORK = """
[work]
diameter = 20
length = 150
held = "chuck"
material = "steel"
cut_at = 150
"""


def changed(text: str, old: str, new: str) -> str:
    """Return a set-up with one line changed; the line must be there."""
    assert old in text
    return text.replace(old, new)


def with_line(text: str, section: str, line: str) -> str:
    """Return a set-up with a line added at the top of a section."""
    return changed(text, f"[{section}]\n", f"[{section}]\n{line}\n")


STEPPED = changed(ROUND, "[grip]", "[[bar.steps]]\nstart = 40\ndiameter = 12\n[grip]")
TUBE = changed(with_line(ROUND, "bar", "bore = 8"), '"round"', '"tube"')
FLATTED = changed(with_line(ROUND, "bar", "across_flats = 14"), '"round"', '"flatted"')
WRAPPED = ROUND + WRAP
CUTTING = ROUND + CUT
WORKING = ROUND + WORK
OWN = (
    ROUND
    + """[materials."my tin"]
youngs_modulus_gpa = 50
poisson_ratio = 0.36
density_kg_m3 = 7300
loss_factor = 0.01
"""
)

# Nothing but what nobody can guess: the reader takes the rest as usual.
BARE_POST = """
units = "mm"
[bar]
width = 10
overhang = 35
material = "HSS"
[grip]
style = "four-way post"
[cut]
operation = "turning"
work_material = "mild steel"
depth = 0.5
feed = 0.1
"""
BARE_SLEEVE = """
units = "inch"
[bar]
diameter = "1/2"
overhang = 2
material = "silver steel"
[grip]
style = "split sleeve"
"""

# A parting blade on a bed, square to the work.
BLADE = """
units = "mm"
[bar]
section = "rectangle"
width = 2
height = 12
overhang = 20
gripped = 45
material = "high speed steel"
[grip]
style = "bed"
[cut]
operation = "parting"
work_material = "medium carbon steel"
depth = 2
feed = 0.04
nose_radius = 0.1
edge_angle_deg = 90
"""
