"""One mistake each in the file as a whole, the bar, the edge and the grip."""

from __future__ import annotations

from setups import FLATTED, ROUND, SLEEVE, SLOT, SQUARE, STEPPED, TUBE, changed, with_line

Mistake = tuple[str, str, tuple[str, ...]]

# What is wrong -> (set-up, key of the mistake, words that must be in its line).
MISTAKES: dict[str, Mistake] = {
    "no units": (changed(ROUND, 'units = "mm"', ""), "units", ("missing", "inch")),
    "wrong units": (changed(ROUND, '"mm"', '"cm"'), "units", ("'cm'", '"mm" or "inch"')),
    "unknown key": (changed(ROUND, "overhang", "overhand"), "bar.overhand", ("unknown key", "'overhang'")),
    "unknown section": (ROUND + "[warp]\nlength = 3\n", "warp", ("unknown key", "'wrap'")),
    "key of another section": (ROUND + "[solve]\nmass_g = 3\n", "solve.mass_g", ("belongs in [edge]",)),
    "section missing": (changed(ROUND, '[grip]\nstyle = "bed"', ""), "grip", ("missing", "[grip]")),
    "section that is none": (
        changed(ROUND, '[grip]\nstyle = "bed"', "").replace("[bar]", "grip = 3\n[bar]"),
        "grip",
        ("3",),
    ),
    "key missing": (changed(ROUND, "overhang = 80", ""), "bar.overhang", ("missing", "holder face")),
    "size missing": (changed(ROUND, "diameter = 16", ""), "bar.diameter", ("missing", "above 0 mm")),
    "wrong unit in text": (changed(ROUND, "= 80", '= "8 dm"'), "bar.overhang", ("'8 dm'", "thou and um")),
    "decimal comma in text": (
        changed(ROUND, "= 80", '= "80,5 mm"'),
        "bar.overhang",
        ("decimal comma", "80.5 mm"),
    ),
    "decimal comma in a number's text": (
        with_line(ROUND, "bar", 'rotation_deg = "0,5"'),
        "bar.rotation_deg",
        ("decimal point",),
    ),
    "number in quotes": (
        with_line(ROUND, "bar", 'rotation_deg = "30"'),
        "bar.rotation_deg",
        ("without quotes",),
    ),
    "true for a number": (changed(ROUND, "= 80", "= true"), "bar.overhang", ("true",)),
    "not a number": (changed(ROUND, "= 80", "= nan"), "bar.overhang", ("nan", "finite")),
    "infinite": (changed(ROUND, "= 80", "= inf"), "bar.overhang", ("inf", "finite")),
    "list for a number": (changed(ROUND, "= 80", "= [80]"), "bar.overhang", ("[80]",)),
    "number for a text": (changed(ROUND, '"steel"', "3"), "bar.material", ("quotes",)),
    "text for yes or no": (with_line(SLEEVE, "grip", 'split = "yes"'), "grip.split", ("true or false",)),
    "negative size": (changed(ROUND, "= 16", "= -16"), "bar.diameter", ("-16", "above 0 mm")),
    "zero size": (changed(ROUND, "= 80", "= 0"), "bar.overhang", ("above 0 mm",)),
    "overhang in another unit": (changed(ROUND, "= 80", "= 80000"), "bar.overhang", ("8000 mm", "its unit")),
    "gripped length in another unit": (changed(ROUND, "= 60", "= 60000"), "bar.gripped", ("8000 mm",)),
    "bar in another unit": (changed(ROUND, "= 16", "= 1e9"), "bar.diameter", ("100 m", "its unit")),
    "bore larger than the bar": (changed(TUBE, "bore = 8", "bore = 20"), "bar.bore", ("20", "16 mm")),
    "bore equal to the bar": (changed(TUBE, "bore = 8", "bore = 16"), "bar.bore", ("below the diameter",)),
    "flats wider than the diameter": (changed(FLATTED, "= 14", "= 17"), "bar.across_flats", ("17", "16 mm")),
    "size of another section": (
        with_line(ROUND, "bar", "height = 3"),
        "bar.height",
        ("round bar takes diameter",),
    ),
    "unknown section of bar": (changed(ROUND, '"round"', '"rond"'), "bar.section", ("'round'",)),
    "step beyond the overhang": (changed(STEPPED, "= 40", "= 80"), "bar.steps.1.start", ("below 80 mm",)),
    "step behind the holder face": (changed(STEPPED, "= 40", "= -1"), "bar.steps.1.start", ("-1",)),
    "steps out of order": (
        changed(STEPPED, "[grip]", "[[bar.steps]]\nstart = 30\ndiameter = 10\n[grip]"),
        "bar.steps.2.start",
        ("above 40 mm",),
    ),
    "step without a size": (
        changed(STEPPED, "\ndiameter = 12", ""),
        "bar.steps.1",
        ("at least one of diameter",),
    ),
    "step size of another section": (
        changed(STEPPED, "diameter = 12", "width = 12"),
        "bar.steps.1.width",
        ("round bar takes diameter",),
    ),
    "step thinner than the flats": (
        changed(FLATTED, "[grip]", "[[bar.steps]]\nstart = 40\ndiameter = 12\n[grip]"),
        "bar.steps.1.across_flats",
        ("kept from before", "12 mm"),
    ),
    "steps that are no tables": (with_line(ROUND, "bar", "steps = 3"), "bar.steps", ("[[bar.steps]]",)),
    "gripped zero": (changed(ROUND, "gripped = 60", "gripped = 0"), "bar.gripped", ("0", "style bed")),
    "gripped negative": (changed(ROUND, "gripped = 60", "gripped = -5"), "bar.gripped", ("-5",)),
    "edge behind the bar": (
        ROUND + "[edge]\nend_distance = 80\n",
        "edge.end_distance",
        ("below the overhang",),
    ),
    "negative mass": (ROUND + "[edge]\nmass_g = -1\n", "edge.mass_g", ("grams",)),
    "unknown grip": (
        changed(ROUND, '"bed"', '"clamped"'),
        "grip.style",
        ("'clamped'", "rigid, held, bed, slot, sleeve"),
    ),
    "key of another grip": (
        with_line(ROUND, "grip", "screws = 2"),
        "grip.screws",
        ("style bed takes bed_n",),
    ),
    "held for a round bar": (changed(ROUND, '"bed"', '"held"'), "grip.style", ("flat underside",)),
    "held and turned": (
        with_line(SQUARE, "bar", "rotation_deg = 30"),
        "bar.rotation_deg",
        ("multiple of 90",),
    ),
    "pressed outside the grip": (
        with_line(SQUARE, "grip", "pressed = [15, 61]"),
        "grip.pressed",
        ("[15, 61]", "60 mm"),
    ),
    "pressed backwards": (with_line(SQUARE, "grip", "pressed = [45, 15]"), "grip.pressed", ("rising",)),
    "pressed once": (with_line(SQUARE, "grip", "pressed = [45]"), "grip.pressed", ("two lengths",)),
    "half a screw": (changed(SLOT, "screws = 2", "screws = 2.0"), "grip.screws", ("whole number",)),
    "no screw": (changed(SLOT, "screws = 2", "screws = 0"), "grip.screws", ("from 1 to 12",)),
    "screws off the shank": (
        changed(SLOT, "first_screw = 15", "first_screw = 30"),
        "grip.first_screw",
        ("60 mm",),
    ),
    "screws overlap": (changed(SLOT, "_spacing = 30", "_spacing = 7"), "grip.screw_spacing", ("8 mm",)),
    "screw wider than the shank": (
        changed(SLOT, "diameter = 8", "diameter = 13"),
        "grip.screw_diameter",
        ("12 mm",),
    ),
    "more screws than the grip is long": (
        changed(SLOT, "screws = 2", "screws = 9"),
        "grip.first_screw",
        ("60 mm",),
    ),
    "slot for a round bar": (
        changed(ROUND, '"bed"', '"slot"\nscrews = 1\nscrew_diameter = 6\nfirst_screw = 20'),
        "grip.style",
        ("flat",),
    ),
    "block narrower than the bar": (
        changed(SLEEVE, "width = 40", "width = 16"),
        "grip.block_width",
        ("16 mm",),
    ),
    "block lower than the bar": (
        changed(SLEEVE, "height = 40", "height = 24"),
        "grip.block_height",
        ("24 mm",),
    ),
    "joint stiffness zero": (
        with_line(SLEEVE, "grip", "joint_n_per_um_mm2 = 0"),
        "grip.joint_n_per_um_mm2",
        ("at most 10000000 N/µm per mm²",),
    ),
    "bed stiffness zero": (
        with_line(ROUND, "grip", "bed_n_per_um_mm2 = 0"),
        "grip.bed_n_per_um_mm2",
        ("above 0",),
    ),
    "bed without shear": (
        with_line(ROUND, "grip", "bed_shear_ratio = 0"),
        "grip.bed_shear_ratio",
        ("above 0",),
    ),
    "bed loss factor": (
        with_line(ROUND, "grip", "bed_loss_factor = 2.1"),
        "grip.bed_loss_factor",
        ("from 0 to 2",),
    ),
}
