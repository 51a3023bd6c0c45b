"""The keys of the set-up file: what kind of value each one takes, which must be there."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import Final


class Kind(Enum):
    """What a key takes; the value is the words an error uses for it."""

    LENGTH = 'a length: a bare number in the file\'s units, or text with its unit such as "80 mm"'
    NUMBER = "a number"
    COUNT = "a whole number"
    TEXT = "text in quotes"
    YES_NO = "true or false"
    TWO_LENGTHS = "two lengths in brackets"
    LENGTHS = "a length, or several in brackets"
    NUMBERS = "numbers in brackets"
    ONE_OR_THREE = "one number, or three in brackets along x, y, z"
    TABLES = "a list of tables"


_SIZES: Final = dict.fromkeys(("diameter", "bore", "across_flats", "width", "height"), Kind.LENGTH)
_JOINT: Final = {
    "joint_n_per_um_mm2": Kind.NUMBER,
    "joint_shear_ratio": Kind.NUMBER,
    "joint_loss_factor": Kind.NUMBER,
    "joint_bonded": Kind.YES_NO,
}

# What holds the ends of the part in [work], and of a bar in grip style centres.
_ENDS: Final = {
    "jaw_length": Kind.LENGTH,
    "quill_out": Kind.LENGTH,
    "chuck_n_per_um": Kind.NUMBER,
    "chuck_tilt_nm_per_rad": Kind.NUMBER,
    "centre_n_per_um": Kind.NUMBER,
}

KEYS: Final[Mapping[str, Mapping[str, Kind]]] = {
    "": {"title": Kind.TEXT, "units": Kind.TEXT},
    "bar": {
        "section": Kind.TEXT,
        **_SIZES,
        "overhang": Kind.LENGTH,
        "gripped": Kind.LENGTH,
        "material": Kind.TEXT,
        "rotation_deg": Kind.NUMBER,
        "steps": Kind.TABLES,
    },
    "bar.steps": {"start": Kind.LENGTH, **_SIZES},
    "edge": {
        "end_distance": Kind.LENGTH,
        "offset_y": Kind.LENGTH,
        "offset_z": Kind.LENGTH,
        "mass_g": Kind.NUMBER,
    },
    "grip": {
        "style": Kind.TEXT,
        "pressed": Kind.TWO_LENGTHS,
        "bed_n_per_um_mm2": Kind.NUMBER,
        "bed_shear_ratio": Kind.NUMBER,
        "bed_loss_factor": Kind.NUMBER,
        "screws": Kind.COUNT,
        "screw_diameter": Kind.LENGTH,
        "screw_spacing": Kind.LENGTH,
        "first_screw": Kind.LENGTH,
        "block_width": Kind.LENGTH,
        "block_height": Kind.LENGTH,
        "wall": Kind.LENGTH,
        "block_material": Kind.TEXT,
        "split": Kind.YES_NO,
        **_JOINT,
        "held": Kind.TEXT,
        **_ENDS,
    },
    "shim": {"material": Kind.TEXT, "thickness": Kind.LENGTH},
    "wrap": {
        "material": Kind.TEXT,
        "thickness": Kind.LENGTH,
        "wire_diameter": Kind.LENGTH,
        "pitch": Kind.LENGTH,
        "start": Kind.LENGTH,
        "length": Kind.LENGTH,
        "bond": Kind.TEXT,
        "rubbing_loss_factor": Kind.NUMBER,
    },
    "cut": {
        "operation": Kind.TEXT,
        "work_material": Kind.TEXT,
        "depth": Kind.LENGTH,
        "feed": Kind.LENGTH,
        "nose_radius": Kind.LENGTH,
        "edge_angle_deg": Kind.NUMBER,
        "rake_deg": Kind.NUMBER,
        "work_diameter": Kind.LENGTH,
        "speeds_rpm": Kind.NUMBERS,
        "force_direction": Kind.NUMBERS,
        "feed_toward": Kind.TEXT,
        "wall": Kind.TEXT,
        "work_side": Kind.TEXT,
        "rear_tool": Kind.YES_NO,
        "wear_factor": Kind.NUMBER,
        "edge_radius_um": Kind.NUMBER,
        "edge": Kind.TEXT,
        "edge_land": Kind.LENGTH,
        "clearance_deg": Kind.NUMBER,
        "heard": Kind.TABLES,
    },
    "cut.heard": {
        "rpm": Kind.NUMBER,
        "heard": Kind.TEXT,
        "depth": Kind.LENGTH,
        "feed": Kind.LENGTH,
        "overhang": Kind.LENGTH,
        "pitch_hz": Kind.NUMBER,
    },
    "absorber": {
        "mass_g": Kind.NUMBER,
        "frequency_hz": Kind.NUMBER,
        "damping_ratio": Kind.NUMBER,
        "position": Kind.LENGTH,
        "direction": Kind.TEXT,
    },
    "work": {
        "diameter": Kind.LENGTH,
        "bore": Kind.LENGTH,
        "length": Kind.LENGTH,
        "held": Kind.TEXT,
        "material": Kind.TEXT,
        "cut_at": Kind.LENGTHS,
        "steps": Kind.TABLES,
        "steadies": Kind.TABLES,
        "form": Kind.TEXT,
        "across_flats": Kind.LENGTH,
        "keyway_width": Kind.LENGTH,
        "keyway_depth": Kind.LENGTH,
        **_ENDS,
        "steady_n_per_um": Kind.NUMBER,
    },
    "work.steps": {"start": Kind.LENGTH, "diameter": Kind.LENGTH, "bore": Kind.LENGTH},
    "work.steadies": {"at": Kind.LENGTH},
    "post": {
        "n_per_um": Kind.ONE_OR_THREE,
        "tilt_nm_per_rad": Kind.NUMBER,
        "mass_kg": Kind.NUMBER,
        "loss_factor": Kind.NUMBER,
        "measured": Kind.TEXT,
    },
    "materials": {
        "youngs_modulus_gpa": Kind.NUMBER,
        "poisson_ratio": Kind.NUMBER,
        "density_kg_m3": Kind.NUMBER,
        "loss_factor": Kind.NUMBER,
    },
    "measured": {
        "n_per_um_mm2": Kind.NUMBERS,
        "loss_factor": Kind.NUMBERS,
        "grip": Kind.TEXT,
        "date": Kind.TEXT,
        "origin": Kind.TEXT,
        "push": Kind.NUMBERS,
        "work_material": Kind.TEXT,
        "post_up_n_per_um": Kind.NUMBERS,
        "post_sideways_n_per_um": Kind.NUMBERS,
        "post_tilt_nm_per_rad": Kind.NUMBERS,
    },
    "solve": {"modes": Kind.COUNT, "accuracy": Kind.NUMBER},
}

SECTIONS: Final = tuple(name for name in KEYS if name and "." not in name)

# Keys that must be there, with the advice an error gives.
REQUIRED: Final[Mapping[str, Mapping[str, str]]] = {
    "": {"units": 'Write units = "mm" or units = "inch" at the top of the file.'},
    "bar": {
        "overhang": "Measure from the holder face to the free end.",
        "material": 'Say what the bar is made of; "steel" will do for most.',
    },
    "bar.steps": {"start": "Measure from the holder face to where the size changes."},
    "grip": {"style": "Say how it is held: four-way post, split sleeve, bored block, v-block, rigid."},
    "cut.heard": {
        "rpm": "Write the speed of the spindle at which the cut was heard.",
        "heard": 'Write "sang" or "quiet".',
    },
    "shim": {"material": "Say what the shim is made of.", "thickness": "Measure the sheet."},
    "wrap": {
        "material": "Say what the wrap is made of.",
        "start": "Measure from the holder face to where the wrap begins.",
        "length": "Measure along the bar.",
        "bond": 'Write "bonded" for a solid layer, "loose" for wire that is only wound.',
    },
    "absorber": {
        "mass_g": "Weigh the slug or ring that moves, without its soft rings.",
        "frequency_hz": "Its own note: tap it while the bar is held still in a vice.",
        "damping_ratio": "Take it from the ring of that tap; soft rubber gives 0.05 to 0.2.",
        "position": "Measure from the holder face to the middle of the absorber.",
    },
    "work": {
        "diameter": "Measure the work.",
        "length": "Measure from the chuck or centre to the free end.",
        "held": 'Write "chuck", "chuck and centre" or "between centres".',
        "cut_at": "Measure from the chuck or the headstock centre to the cut.",
    },
    "work.steps": {"start": "Measure from the chuck or the headstock centre to where the size changes."},
    "work.steadies": {"at": "Measure from the chuck or the headstock centre to the fingers."},
}

# What each grip style takes beside `style`; sizes that are not given are taken as usual.
STYLE_KEYS: Final[Mapping[str, tuple[str, ...]]] = {
    "rigid": (),
    "held": ("pressed",),
    "bed": ("bed_n_per_um_mm2", "bed_shear_ratio", "bed_loss_factor"),
    "slot": ("screws", "screw_diameter", "screw_spacing", "first_screw", *_JOINT),
    "sleeve": ("block_width", "block_height", "wall", "block_material", "split", *_JOINT),
    "centres": ("held", *_ENDS),
}
WORK_METAL_MEND: Final = "Say what the work is made of, here or as work_material in [cut]."
SECTION_MEND: Final = "Say what the bar looks like across: round, tube, square, rectangle or flatted."
RADII: Final = ("radius", "bar_radius", "r")  # of a bar or of work, whose diameter is what callipers give
# What people write for a depth measured on the diameter: the key is unknown, the advice is special.
DIAMETER_DEPTHS: Final = (
    "depth_on_diameter",
    "diameter_depth",
    "depth_diameter",
    "depth_dia",
    "doc_diameter",
)
