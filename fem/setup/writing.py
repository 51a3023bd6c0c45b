"""Write a set-up that a command made as a set-up file: bar, edge, grip, cut, absorber, in its own units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

from stickout.fem.errors import InputError
from stickout.fem.setup.centres_grip import CentresGrip
from stickout.fem.setup.grips import BedGrip, RigidGrip
from stickout.fem.setup.material_table import MATERIALS
from stickout.fem.setup.materials import Material
from stickout.fem.setup.measured import measured_table, with_measured
from stickout.fem.setup.parts import HeardCut, Setup
from stickout.fem.setup.toml_text import toml_text
from stickout.fem.setup.work_parts import Post
from stickout.fem.units import MM_PER_INCH

_EDGE: Final = ("end_distance", "offset_y", "offset_z")
_SIZES: Final = ("diameter", "bore", "across_flats", "width", "height")
_CUT_LENGTHS: Final = ("depth", "feed", "nose_radius", "work_diameter", "edge_land")
_USUAL_CUT: Final[dict[str, object]] = {"rake_deg": 0.0, "wear_factor": 1.0, "rear_tool": False, "heard": ()}
_MEASURED_CUT: Final = "push"  # stands in [measured]


def setup_toml(setup: Setup, *, title: str) -> str:
    """Return the text of a set-up file that reads back as the set-up.

    Parameters
    ----------
    setup
        A bar, rigid, on a bed with the usual faces or held at both ends, of a material of the table; no shim,
        wrap or work.
    title
        Its title.

    Raises
    ------
    InputError
        The set-up holds something that is not written here.
    """
    return toml_text(setup_tables(setup, title=title))


def setup_tables(setup: Setup, *, title: str) -> dict[str, Any]:
    """Return a set-up as the tables of a set-up file; parameters and errors as in ``setup_toml``."""
    _check(setup)
    scale = _scale(setup)
    tables: dict[str, Any] = {"title": title, "units": setup.units, "bar": bar_table(setup)}
    edge = {k: v for k, v in _lengths(setup.edge, _EDGE, scale).items() if v}
    if setup.edge.mass_g:
        edge["mass_g"] = setup.edge.mass_g
    if edge:
        tables["edge"] = edge
    tables["grip"] = {"style": setup.grip.style} | _ends(setup, scale)
    if setup.cut is not None:
        tables["cut"] = _cut(setup, scale)
    if setup.post is not None:
        tables["post"] = post_table(setup.post)
    if setup.absorber is not None:
        tables["absorber"] = absorber_table(setup)
    if setup.measured is not None:
        tables["measured"] = measured_table(setup.measured)
    return tables


def bar_table(setup: Setup) -> dict[str, Any]:
    """Return the bar of any set-up as the table [bar] of its file."""
    bar, scale = setup.bar, _scale(setup)
    body: dict[str, Any] = {"section": bar.section, **_lengths(bar, _SIZES, scale)}
    body |= _lengths(bar, ("overhang",), scale)
    if bar.gripped_mm:
        body |= _lengths(bar, ("gripped",), scale)
    body["material"] = setup.bar_material.name
    if bar.rotation_deg:
        body["rotation_deg"] = bar.rotation_deg
    if bar.steps:
        body["steps"] = [_lengths(one, ("start", *_SIZES), scale) for one in bar.steps]
    return body


def post_table(post: Post) -> dict[str, Any]:
    """Return what carries the holder as the table [post] of a set-up file: what was given."""
    values = {
        key.removeprefix("spring_"): value
        for key, value in vars(post).items()
        if value not in (None, "") and "_band_" not in key
    }
    return {key: list(one) if isinstance(one, tuple) else one for key, one in values.items()}


def absorber_table(setup: Setup) -> dict[str, Any]:
    """Return the absorber of a set-up as the table [absorber] of its file; empty without one."""
    one = setup.absorber
    if one is None:
        return {}
    return {
        "mass_g": _tidy(one.mass_g),
        "frequency_hz": _tidy(one.frequency_hz),
        "damping_ratio": _tidy(one.damping_ratio),
        **_lengths(one, ("position",), _scale(setup)),
        "direction": one.direction,
    }


def heard_tables(cuts: Sequence[HeardCut], *, units: str) -> list[dict[str, Any]]:
    """Return cuts that were heard as the tables [[cut.heard]] of a file in these units."""
    scale = 1.0 if units == "mm" else MM_PER_INCH
    return [
        {
            key.removesuffix("_mm"): _tidy(value / scale) if key.endswith("_mm") else value
            for key, value in vars(one).items()
            if value is not None
        }
        for one in cuts
    ]


def _ends(setup: Setup, scale: float) -> dict[str, Any]:
    """Return what holds the ends of a bar that is held at both; nothing for other grips."""
    grip = setup.grip
    if not isinstance(grip, CentresGrip):
        return {}
    springs = ("chuck_n_per_um", "chuck_tilt_nm_per_rad", "centre_n_per_um")
    given = {key: getattr(grip, key) for key in springs if getattr(grip, key) is not None}
    return {"held": grip.held, **_lengths(grip, ("jaw_length", "quill_out"), scale), **given}


def _scale(setup: Setup) -> float:
    """Return the millimetres of one unit of the set-up."""
    return 1.0 if setup.units == "mm" else MM_PER_INCH


def _check(setup: Setup) -> None:
    """Refuse what the tables would lose."""
    usual = with_measured(replace(setup, grip=BedGrip()), _told(setup))
    plain = setup.grip in (RigidGrip(), usual.grip) or setup.grip.at_both_ends
    parts = (setup.shim, setup.wrap, setup.work)
    table = MATERIALS.get(setup.bar_material.name)
    known = table is not None and setup.bar_material == _with_loss(table, setup)
    if not plain or any(one is not None for one in parts) or not known:
        raise InputError(
            key="setup",
            given=setup.grip.style,
            allowed="a plain bar of a material of the table, rigid or on the usual bed",
            mend="Write this set-up by hand.",
        )


def _told(setup: Setup) -> dict[str, Any] | None:
    """Return what was measured as its table, of whatever grip; None where nothing was."""
    if setup.measured is None:
        return None
    return {key: value for key, value in measured_table(setup.measured).items() if key != "grip"}


def _with_loss(material: Material, setup: Setup) -> Material:
    """Return a material of the table with the loss that was measured of a bar in a grip without springs."""
    if setup.measured is None or setup.measured.loss_factor is None or setup.grip.springs is not None:
        return material
    return replace(material, loss_factor=setup.measured.loss_factor)


def _lengths(part: object, names: tuple[str, ...], scale: float) -> dict[str, float]:
    """Return the lengths of a part that are given, in the file's units."""
    values = {name: getattr(part, f"{name}_mm") for name in names}
    return {name: _tidy(value / scale) for name, value in values.items() if value is not None}


def _tidy(value: float) -> float:
    """Return a length without the noise of its last digits: far below what anybody measures."""
    return float(f"{value:.10g}")


def _cut(setup: Setup, scale: float) -> dict[str, Any]:
    """Return the keys of the cut that are given and not the usual ones."""
    out: dict[str, Any] = {}
    for name, value in vars(setup.cut).items():
        key = name.removesuffix("_mm")
        if value is None or _USUAL_CUT.get(key) == value or key == _MEASURED_CUT:
            continue
        if key in _CUT_LENGTHS:
            value = _tidy(value / scale)
        if key == "heard":
            value = heard_tables(value, units=setup.units)
        out[key] = list(value) if isinstance(value, tuple) else value
    return out
