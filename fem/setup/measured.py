"""What a fit measured of a grip, in the section [measured] of a set-up: it stands for the assumed bands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from stickout.fem.errors import InputError
from stickout.fem.setup.bands import MEASURED, Band
from stickout.fem.setup.parts import Measured, Setup


def with_measured(setup: Setup, section: Mapping[str, Any] | None) -> Setup:
    """Return the set-up with measured bands of its grip in place of the assumed ones.

    Parameters
    ----------
    setup
        The set-up without them.
    section
        ``n_per_um_mm2`` and ``loss_factor``: low, likely and high; ``date`` and ``origin`` as texts;
        ``grip``, the style that was measured. A grip without springs takes the loss as that of the bar.

    Returns
    -------
    Setup

    Raises
    ------
    InputError
        Not three rising numbers above zero, a stiffness for a grip without springs, or another grip.
    """
    if section is None:
        return setup
    source = " ".join(filter(None, (MEASURED, section.get("date"), section.get("origin"))))
    stiffness = _band(section, "n_per_um_mm2", source)
    loss = _band(section, "loss_factor", source)
    words = {name: str(section.get(name) or "") for name in ("date", "origin")}
    style = str(section.get("grip") or "")
    _same_grip(setup, section, style=style, stiffness=stiffness)
    measured = Measured(stiffness, loss, style=style, **words)
    faces = setup.grip.springs
    if faces is None:
        bar = setup.materials["bar"] if loss is None else replace(setup.materials["bar"], loss_factor=loss)
        return replace(setup, materials={**setup.materials, "bar": bar}, measured=measured)
    faces = replace(
        faces,
        normal_n_per_um_mm2=stiffness or faces.normal_n_per_um_mm2,
        loss_factor=loss or faces.loss_factor,
    )
    return replace(setup, grip=setup.grip.with_faces(faces), measured=measured)


def measured_table(measured: Measured) -> dict[str, Any]:
    """Return what was measured as the table [measured] of a set-up file."""
    out: dict[str, Any] = {}
    bands = {"n_per_um_mm2": measured.stiffness_n_per_um_mm2, "loss_factor": measured.loss_factor}
    for name, band in bands.items():
        if band is not None:
            out[name] = [float(f"{one:.5g}") for one in (band.low, band.likely, band.high)]
    told = {"grip": measured.style, "date": measured.date, "origin": measured.origin}
    return out | {name: words for name, words in told.items() if words}


def loss_measured(setup: Setup) -> bool:
    """Return whether the damping of a set-up was measured on the bench."""
    return setup.measured is not None and setup.measured.loss_factor is not None


def _same_grip(setup: Setup, section: Mapping[str, Any], *, style: str, stiffness: Band | None) -> None:
    """Refuse numbers that were measured on another grip."""
    if style and style != setup.grip.style:
        raise InputError(
            key="measured.grip",
            given=style,
            allowed=f'"{setup.grip.style}", the grip of this set-up',
            mend="Take the section [measured] out, or tap and pull the tool in its new grip.",
        )
    if stiffness is not None and setup.grip.springs is None:
        raise InputError(
            key="measured.n_per_um_mm2",
            given=list(section["n_per_um_mm2"]),
            allowed="left out for a grip without springs",
            mend="Take it out, or describe the grip as a bed, a slot or a sleeve.",
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
