"""Materials: four numbers, each with a band and a source; look-up by name; the user's own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain, folded, hint, looked_up
from stickout.fem.setup.bands import Band, exactly
from stickout.fem.setup.material_names import CALLED
from stickout.fem.units import GPA


@dataclass(frozen=True)
class Material:
    """An isotropic elastic material with structural damping.

    Attributes
    ----------
    name
        Name as the set-up file uses it.
    youngs_modulus
        Young's modulus [Pa].
    poisson_ratio
        Poisson's ratio [-].
    density
        Density [kg/m3].
    loss_factor
        Loss factor of the metal itself [-]; twice the damping ratio.
    note
        One sentence to show beside the numbers, or nothing.

    Examples
    --------
    Your own metal, its numbers taken as they stand.

    >>> from stickout.fem import Material, exactly
    >>> own = Material("my alloy", exactly(190e9), exactly(0.3), exactly(7700.0), exactly(0.001))
    >>> own.density.likely
    7700.0
    """

    name: str
    youngs_modulus: Band
    poisson_ratio: Band
    density: Band
    loss_factor: Band
    note: str = ""

    @property
    def quantities(self) -> Mapping[str, Band]:
        """Return the four bands by name, SI, in reading order."""
        return {
            "youngs_modulus": self.youngs_modulus,
            "poisson_ratio": self.poisson_ratio,
            "density": self.density,
            "loss_factor": self.loss_factor,
        }


@dataclass(frozen=True)
class OwnValues:
    """What a user states about a material; None leaves the table's value where there is one.

    The names carry the units of the set-up file: GPa, kg/m3.
    """

    youngs_modulus_gpa: float | None = None
    poisson_ratio: float | None = None
    density_kg_m3: float | None = None
    loss_factor: float | None = None


def own_material(name: str, values: OwnValues, *, table: Mapping[str, Material]) -> Material:
    """Return a user's material: a table entry partly overridden, or one of its own.

    A value the user gives has a band of no width; the others keep the table's band and source.

    Parameters
    ----------
    name
        Name of the entry. A name of ``table`` starts from that entry.
    values
        The values given.
    table
        The materials known so far.

    Returns
    -------
    Material
        The material under the user's name.

    Raises
    ------
    InputError
        The name is new and a value is missing.
    """
    base = table.get(_table_name(name, table) or "")
    modulus, density = values.youngs_modulus_gpa, values.density_kg_m3
    given = (
        None if modulus is None else exactly(modulus * GPA),
        None if values.poisson_ratio is None else exactly(values.poisson_ratio),
        None if density is None else exactly(density),
        None if values.loss_factor is None else exactly(values.loss_factor),
    )
    known = (None,) * 4 if base is None else tuple(base.quantities.values())
    bands = [band for own, old in zip(given, known, strict=True) if (band := own or old) is not None]
    if len(bands) < len(given):
        missing = [one.name for one in fields(values) if getattr(values, one.name) is None]
        raise InputError(
            key=f"materials.{name}",
            given=Plain(f"without {', '.join(missing)}"),
            allowed="complete for a new name",
            mend="Give all four. "
            + hint(name, table, otherwise="Only an entry of the table may be given in part."),
        )
    young, poisson, heavy, loss = bands
    return Material(name, young, poisson, heavy, loss, note=base.note if base else "")


TRADE_NAMES: Final[Mapping[str, str]] = {
    folded(called): entry for entry, names in CALLED.items() for called in names
}


def read_as(name: str, table: Mapping[str, Material]) -> str | None:
    """Return the entry that a name of trade or a standard leads to; None for a name of the table."""
    if _table_name(name, table) is not None:
        return None
    return _table_name(looked_up(name, TRADE_NAMES) or "", table)


def material_named(name: str, table: Mapping[str, Material], *, key: str = "material") -> Material:
    """Return a material by name; case, hyphens and underlines do not matter, and short trade names will do.

    Raises
    ------
    InputError
        No material has that name; the nearest one is offered.
    """
    found = _table_name(name, table) or _table_name(looked_up(name, TRADE_NAMES) or "", table)
    if found is None:
        raise InputError(
            key=key,
            given=name,
            allowed="one of " + ", ".join(table),
            mend=hint(
                name,
                (*table, *TRADE_NAMES),
                otherwise="Take the nearest kind, such as steel, or describe your own under [materials].",
            ),
        )
    return table[found]


def _table_name(name: str, known: Iterable[str]) -> str | None:
    """Return the name of the table that is the same but for case, hyphens and underlines."""
    return {folded(one): one for one in known}.get(folded(name))
