"""One mistake each in shim, wrap, cut, work, materials and solver."""

from __future__ import annotations

from setups import CUTTING, OWN, ROUND, SHIM, SLEEVE, SQUARE, WORKING, WRAP, WRAPPED, changed, with_line

Mistake = tuple[str, str, tuple[str, ...]]

# What is wrong -> (set-up, key of the mistake, words that must be in its line).
MISTAKES: dict[str, Mistake] = {
    "shim in a bed": (ROUND + SHIM, "shim", ("grip style bed", "held or slot")),
    "shim in a sleeve": (SLEEVE + SHIM, "shim", ("grip style sleeve",)),
    "shim under a rigid grip": (changed(SQUARE, '"held"', '"rigid"') + SHIM, "shim", ("grip style rigid",)),
    "shim without thickness": (SQUARE + changed(SHIM, "= 0.5", "= 0"), "shim.thickness", ("above 0 mm",)),
    "wrap longer than the bar": (
        changed(WRAPPED, "length = 30", "length = 31"),
        "wrap.length",
        ("at most 30 mm",),
    ),
    "wrap under the holder": (
        changed(WRAPPED, "start = 50", "start = -5"),
        "wrap.start",
        ("under the holder",),
    ),
    "wrap beyond the bar": (
        changed(WRAPPED, "start = 50", "start = 80"),
        "wrap.start",
        ("below the overhang",),
    ),
    "loss factor of a joint": (
        with_line(SLEEVE, "grip", "joint_loss_factor = 2.1"),
        "grip.joint_loss_factor",
        ("from 0 to 2",),
    ),
    "sleeve round a square bar": (
        changed(
            SQUARE,
            '"held"',
            '"sleeve"\nblock_width = 40\nblock_height = 40\nwall = 8\nblock_material = "steel"',
        ),
        "grip.style",
        ("round or tube",),
    ),
    "wrap round a square bar": (
        changed(SQUARE, "overhang = 40", "overhang = 80") + WRAP,
        "wrap",
        ("square bar", "Possible instead", "mass_g"),
    ),
    "wrap of no bond": (changed(WRAPPED, '"bonded"', '"glued"'), "wrap.bond", ("bonded, loose",)),
    "wrap without thickness": (changed(WRAPPED, "thickness = 2", ""), "wrap.thickness", ("wire_diameter",)),
    "bonded wire": (
        with_line(WRAPPED, "wrap", "rubbing_loss_factor = 0.1"),
        "wrap.rubbing_loss_factor",
        ("loose",),
    ),
    "pitch below the wire": (
        changed(changed(WRAPPED, "thickness = 2", "wire_diameter = 3\npitch = 2"), '"bonded"', '"loose"'),
        "wrap.pitch",
        ("3 mm",),
    ),
    "rubbing loss factor": (
        changed(with_line(WRAPPED, "wrap", "rubbing_loss_factor = -0.1"), '"bonded"', '"loose"'),
        "wrap.rubbing_loss_factor",
        ("from 0 to 2",),
    ),
    "edge angle": (changed(CUTTING, "= 95", "= 121"), "cut.edge_angle_deg", ("from 10 to 120 degrees",)),
    "depth zero": (changed(CUTTING, "depth = 0.2", "depth = 0"), "cut.depth", ("above 0 mm",)),
    "feed negative": (changed(CUTTING, "feed = 0.05", "feed = -0.05"), "cut.feed", ("-0.05",)),
    "depth negative": (changed(CUTTING, "depth = 0.2", "depth = -0.2"), "cut.depth", ("radial", "above 0")),
    "feed zero": (changed(CUTTING, "feed = 0.05", "feed = 0"), "cut.feed", ("above 0 mm", "per turn")),
    "feed beyond the nose": (
        changed(CUTTING, "feed = 0.05", "feed = 0.8"),
        "cut.feed",
        ("below twice the nose radius, 0.8 mm",),
    ),
    "edge angle too flat": (changed(CUTTING, "= 95", "= 9"), "cut.edge_angle_deg", ("10 to 120",)),
    "depth on diameter": (
        changed(CUTTING, "= 0.2", '= "0.4 mm on diameter"'),
        "cut.depth",
        ("Depth is radial",),
    ),
    "depth key on diameter": (
        changed(CUTTING, "depth = 0.2", "depth_on_diameter = 0.4"),
        "cut.depth_on_diameter",
        ("Depth is radial",),
    ),
    "depth beyond the work": (
        changed(CUTTING, "depth = 0.2", "depth = 12"),
        "cut.depth",
        ("radial", "12 mm"),
    ),
    "nose radius larger than the bar": (
        changed(CUTTING, "= 0.4", "= 8.1"),
        "cut.nose_radius",
        ("at most", "8 mm"),
    ),
    "unknown work material": (
        changed(CUTTING, "medium carbon steel", "medium carbn steel"),
        "cut.work_material",
        ("medium carbon steel",),
    ),
    "unknown operation": (changed(CUTTING, '"boring"', '"milling"'), "cut.operation", ("turning, boring",)),
    "operation missing": (
        changed(CUTTING, 'operation = "boring"', ""),
        "cut.operation",
        ("force_direction",),
    ),
    "side of another operation": (
        with_line(CUTTING, "cut", 'feed_toward = "headstock"'),
        "cut.feed_toward",
        ("turning",),
    ),
    "no such wall": (with_line(CUTTING, "cut", 'wall = "left"'), "cut.wall", ("front, rear",)),
    "rear tool in a bore": (
        with_line(CUTTING, "cut", "rear_tool = true"),
        "cut.rear_tool",
        ('wall = "rear"',),
    ),
    "no speeds": (changed(CUTTING, "[120, 200, 315]", "[]"), "cut.speeds_rpm", ("one speed or more",)),
    "speed zero": (changed(CUTTING, "[120, 200, 315]", "[120, 0]"), "cut.speeds_rpm", ("above 0",)),
    "one bare speed": (changed(CUTTING, "[120, 200, 315]", "120"), "cut.speeds_rpm", ("brackets",)),
    "force without direction": (
        with_line(CUTTING, "cut", "force_direction = [0, 0, 0]"),
        "cut.force_direction",
        ("not all zero",),
    ),
    "force of two numbers": (
        with_line(CUTTING, "cut", "force_direction = [0, 1]"),
        "cut.force_direction",
        ("three",),
    ),
    "rake": (with_line(CUTTING, "cut", "rake_deg = 60"), "cut.rake_deg", ("-45 to 45",)),
    "wear": (with_line(CUTTING, "cut", "wear_factor = 0.5"), "cut.wear_factor", ("from 1",)),
    "edge radius": (with_line(CUTTING, "cut", "edge_radius_um = 0"), "cut.edge_radius_um", ("µm",)),
    "work held by magic": (changed(WORKING, '"chuck"', '"magic"'), "work.held", ("chuck and centre",)),
    "work bore": (with_line(WORKING, "work", "bore = 20"), "work.bore", ("below the diameter",)),
    "cut beyond the work": (changed(WORKING, "cut_at = 150", "cut_at = 151"), "work.cut_at", ("150 mm",)),
    "unknown material": (changed(ROUND, '"steel"', '"stel"'), "bar.material", ("'steel'",)),
    "poisson": (changed(OWN, "= 0.36", "= 0.5"), "materials.my tin.poisson_ratio", ("from 0 to 0.49",)),
    "modulus in MPa": (changed(OWN, "= 50", "= 50000"), "materials.my tin.youngs_modulus_gpa", ("GPa",)),
    "density in g per cm3": (changed(OWN, "= 7300", "= 7.3"), "materials.my tin.density_kg_m3", ("kg/m3",)),
    "loss factor": (changed(OWN, "= 0.01", "= 2.5"), "materials.my tin.loss_factor", ("from 0 to 2",)),
    "half a material": (changed(OWN, "loss_factor = 0.01", ""), "materials.my tin", ("without loss_factor",)),
    "material that is no table": (ROUND + "[materials]\nsteel = 3\n", "materials.steel", ("a section",)),
    "no modes": (ROUND + "[solve]\nmodes = 0\n", "solve.modes", ("from 1 to 40",)),
    "too accurate": (ROUND + "[solve]\naccuracy = 1e-6\n", "solve.accuracy", ("0.00001",)),
    "too rough": (ROUND + "[solve]\naccuracy = 0.1\n", "solve.accuracy", ("0.05",)),
}
