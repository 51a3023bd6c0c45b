"""What a fit measured, in the section [measured] of a set-up: it stands for the assumed bands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain
from stickout.fem.setup.bands import MEASURED, Band
from stickout.fem.setup.parts import Measured, Setup

# Key of the section -> field of ``Measured``.
_BANDS: Final = {
    "n_per_um_mm2": "stiffness_n_per_um_mm2",
    "loss_factor": "loss_factor",
    "push": "push",
    "post_up_n_per_um": "post_up_n_per_um",
    "post_sideways_n_per_um": "post_sideways_n_per_um",
    "post_tilt_nm_per_rad": "post_tilt_nm_per_rad",
}
_WORDS: Final = {"grip": "style", "date": "date", "origin": "origin", "work_material": "work_material"}


def with_measured(setup: Setup, section: Mapping[str, Any] | None) -> Setup:
    """Return the set-up with measured bands in place of the assumed ones.

    Parameters
    ----------
    setup
        The set-up without them.
    section
        ``n_per_um_mm2`` and ``loss_factor`` of the grip; ``push``, how hard the work pushes the edge away
        over what the force table says; springs of the post, ``post_up_n_per_um``,
        ``post_sideways_n_per_um`` and ``post_tilt_nm_per_rad``: low, likely and high each. ``date`` and
        ``origin`` as texts; ``grip`` and ``work_material``, what they were measured on. A grip without
        springs takes the loss as that of the bar.

    Returns
    -------
    Setup

    Raises
    ------
    InputError
        Not three rising numbers above zero, or they were measured on something that this set-up has not.
    """
    if section is None:
        return setup
    source = " ".join(filter(None, (MEASURED, section.get("date"), section.get("origin"))))
    fields: dict[str, Any] = {field: _band(section, key, source) for key, field in _BANDS.items()}
    measured = Measured(**fields | {field: str(section.get(key) or "") for key, field in _WORDS.items()})
    _same_grip(setup, section, measured)
    _same_work(setup, measured)
    found = replace(_gripped(setup, measured), measured=measured)
    if found.cut is not None and measured.push is not None:
        found = replace(found, cut=replace(found.cut, push=measured.push))
    return _carried(found, measured)


def _gripped(setup: Setup, measured: Measured) -> Setup:
    """Return the set-up with the measured bands in the faces of its grip, or in its bar."""
    faces, loss = setup.grip.springs, measured.loss_factor
    if faces is None:
        bar = setup.materials["bar"] if loss is None else replace(setup.materials["bar"], loss_factor=loss)
        return replace(setup, materials={**setup.materials, "bar": bar})
    faces = replace(
        faces,
        normal_n_per_um_mm2=measured.stiffness_n_per_um_mm2 or faces.normal_n_per_um_mm2,
        loss_factor=loss or faces.loss_factor,
    )
    return replace(setup, grip=setup.grip.with_faces(faces))


def _carried(setup: Setup, measured: Measured) -> Setup:
    """Return the set-up with the measured springs of its post."""
    bands = (measured.post_up_n_per_um, measured.post_sideways_n_per_um, measured.post_tilt_nm_per_rad)
    if not any(bands):
        return setup
    if setup.post is None:
        raise InputError(
            key="measured: springs of the post",
            given=Plain("without a section [post]"),
            allowed="beside [post], which may be empty",
            mend="Write [post], or take them out of [measured].",
        )
    up, sideways, tilt = bands
    post = replace(
        setup.post, up_band_n_per_um=up, sideways_band_n_per_um=sideways, tilt_band_nm_per_rad=tilt
    )
    return replace(setup, post=post)


def measured_table(measured: Measured) -> dict[str, Any]:
    """Return what was measured as the table [measured] of a set-up file."""
    out: dict[str, Any] = {}
    for name, field in _BANDS.items():
        band = getattr(measured, field)
        if band is not None:
            out[name] = [float(f"{one:.5g}") for one in (band.low, band.likely, band.high)]
    told = {name: getattr(measured, field) for name, field in _WORDS.items()}
    return out | {name: words for name, words in told.items() if words}


def loss_measured(setup: Setup) -> bool:
    """Return whether the damping of a set-up was measured on the bench."""
    return setup.measured is not None and setup.measured.loss_factor is not None


def stiffness_measured(setup: Setup) -> bool:
    """Return whether the stiffness of the grip of a set-up was measured on the bench."""
    return setup.measured is not None and setup.measured.stiffness_n_per_um_mm2 is not None


def _same_grip(setup: Setup, section: Mapping[str, Any], measured: Measured) -> None:
    """Refuse numbers that were measured on another grip."""
    if measured.style and measured.style != setup.grip.style:
        raise InputError(
            key="measured.grip",
            given=measured.style,
            allowed=f'"{setup.grip.style}", the grip of this set-up',
            mend="Take the section [measured] out, or tap and pull the tool in its new grip.",
        )
    if measured.stiffness_n_per_um_mm2 is not None and setup.grip.springs is None:
        raise InputError(
            key="measured.n_per_um_mm2",
            given=list(section["n_per_um_mm2"]),
            allowed="left out for a grip without springs",
            mend="Take it out, or describe the grip as a bed, a slot or a sleeve.",
        )


def _same_work(setup: Setup, measured: Measured) -> None:
    """Refuse a push that another material gave."""
    cut = "" if setup.cut is None else setup.cut.work_material or ""
    if measured.push is not None and measured.work_material and cut and measured.work_material != cut:
        raise InputError(
            key="measured.work_material",
            given=measured.work_material,
            allowed=f'"{cut}", the work of this set-up',
            mend="Take push and work_material out of [measured]: they say nothing of another metal.",
        )


def _band(section: Mapping[str, Any], key: str, source: str) -> Band | None:
    """Return a band of the section, None where it is not given."""
    if key not in section:
        return None
    values = section[key]
    if len(values) != 3 or not 0.0 < values[0] <= values[1] <= values[2]:
        raise InputError(
            key=f"measured.{key}",
            given=list(values),
            allowed="three rising numbers above 0: low, likely, high",
            mend="Let fit write them, or copy its three numbers.",
        )
    low, likely, high = values
    return Band(low, likely, high, source)
