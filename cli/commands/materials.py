"""The command ``materials``: the table with bands and sources, for people and as JSON."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any, Final

from stickout.cli.options import JsonTarget, MoreOption
from stickout.cli.outputs import STANDARD_OUTPUT, write_json
from stickout.cli.text.words import WIDTH, band_text
from stickout.cli.version import TOOL, VERSION
from stickout.fem.setup.material_names import CALLED
from stickout.fem.setup.material_table import MATERIALS
from stickout.fem.setup.materials import Material
from stickout.fem.setup.work_materials import WORK_MATERIALS, WorkMaterial
from stickout.fem.units import GPA

LOSS_UNIT: Final = 1e-3  # the table shows loss factors in thousandths, so that metals have short numbers
# Heading, unit line, width of the column.
_COLUMNS: Final = (
    ("material", "", 22),
    ("stiffness E", "GPa", 16),
    ("Poisson's ratio", "", 18),
    ("density", "kg/m3", 21),
    ("loss factor", "thousandths", 18),
    ("from", "", 5),
)


def materials(*, json: JsonTarget = None, more: MoreOption = False) -> None:
    """Show the materials of bars and of work in one screen; bands, sources and all names with --more.

    Parameters
    ----------
    json
        File to write the table to as JSON, SI throughout; - for standard output.
    more
        Every number with its band and source, and every name that is read as one of the table.
    """
    if json is not None:
        write_json(materials_record(MATERIALS), json)
    if json != STANDARD_OUTPUT:
        sys.stdout.write(materials_text(MATERIALS) if more else materials_screen(MATERIALS))


def materials_screen(table: Mapping[str, Material]) -> str:
    """Return both tables in one screen, at most 25 lines of 100 columns: likely values and names."""
    rows = [_short_row(one) for one in table.values()]
    work = ", ".join(one.name for one in WORK_MATERIALS)
    lines = [
        "bars and parts        stiffness  density      also called",
        *rows,
        *_folded(f"[cut] work_material: {work}.", "  ").splitlines(),
        "Names of trade and numbers of standards are read as one of these: EN8, 4140, HSS, stainless.",
        "Bands, damping, sources, every name: --more. Your own: [materials] in the set-up.",
    ]
    return "\n".join(lines) + "\n"


def _short_row(material: Material) -> str:
    """Return one line: name, likely stiffness and density, the first names it is called by."""
    stiff, heavy = material.youngs_modulus.likely / GPA, material.density.likely
    row = f"{material.name:<22}{f'{stiff:g} GPa':<11}{f'{heavy:g} kg/m3':<13}"
    called = ""
    for name in CALLED.get(material.name, ()):
        longer = f"{called}, {name}" if called else name
        if len(row) + len(longer) > WIDTH:
            break
        called = longer
    return (row + called).rstrip()


def materials_record(table: Mapping[str, Material]) -> dict[str, Any]:
    """Return the table as plain data, SI."""
    return {"tool": TOOL, "version": VERSION, "materials": [asdict(one) for one in table.values()]}


def materials_text(table: Mapping[str, Material]) -> str:
    """Return the table as text no wider than 100 columns, its sources numbered below."""
    sources: dict[str, int] = {}
    heads = "".join(head.ljust(width) for head, _, width in _COLUMNS).rstrip()
    units = "".join(unit.ljust(width) for _, unit, width in _COLUMNS).rstrip()
    rows = [_row(one, sources) for one in table.values()]
    notes = [_folded(f"{one.name}: {one.note}", "  ") for one in table.values() if one.note]
    listed = [_folded(f"[{number}] {source}", "    ") for source, number in sources.items()]
    lines = [
        "Likely value (low-high) at 20 C; no alloy is meant exactly.",
        "",
        heads,
        units,
        "-" * WIDTH,
        *rows,
        "",
        _folded(
            "The loss factor is twice the damping ratio. It is that of the material alone: in a tool most of "
            "the damping comes from the touching faces.",
            "",
        ),
        "",
        "Notes",
        *notes,
        "",
        "Read as (names of trade and numbers of standards, for bars and other parts)",
        *(_folded(f"{entry}: {', '.join(names)}", "  ") for entry, names in CALLED.items()),
        "",
        "Work materials, for [cut]: specific cutting force kc1.1 in N/mm2, exponent; other names",
        *(_work_line(one) for one in WORK_MATERIALS),
        "",
        "Sources",
        *listed,
    ]
    return "\n".join(lines) + "\n"


def _work_line(one: WorkMaterial) -> str:
    """Return what the table says of one work material."""
    others = f"; {', '.join(one.other_names)}" if one.other_names else ""
    return _folded(f"{one.name}: {one.kc11_n_per_mm2:.0f}, {one.mc:.2f}{others}", "  ")


def _row(material: Material, sources: dict[str, int]) -> str:
    """Return one line of the table; sources not met before get the next number."""
    scales = {"youngs_modulus": GPA, "loss_factor": LOSS_UNIT}
    quantities = material.quantities
    cells = [band_text(band, scale=scales.get(name, 1.0)) for name, band in quantities.items()]
    numbers = {sources.setdefault(band.source, len(sources) + 1) for band in quantities.values()}
    cells = [material.name, *cells, ",".join(str(one) for one in sorted(numbers))]
    widths = (width for _, _, width in _COLUMNS)
    return "".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True)).rstrip()


def _folded(text: str, indent: str) -> str:
    """Return a text folded to the width, further lines indented."""
    return textwrap.fill(text, WIDTH, subsequent_indent=indent)
