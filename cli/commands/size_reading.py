"""The options of ``size``: lengths with or without a unit, materials by name, one job out of them all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from cyclopts import Parameter

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING, Plain, folded, hint
from stickout.fem.setup.keys import Kind
from stickout.fem.setup.values import convert
from stickout.fem.units import UNITS, mm_from_bare

if TYPE_CHECKING:
    from stickout.fem.setup.materials import Material
    from stickout.fem.setup.parts import Setup
    from stickout.fem.size.asked import Asked
    from stickout.fem.size.job import SizeJob

LENGTHS: Final = (
    *("bore", "depth", "shoulder", "reach", "height", "groove", "clearance", "cutter", "allowance", "raised"),
    *("holder", "gripped"),
)
_OTHER_NAMES: Final = {
    "mild steel": "steel",
    "heavy tungsten": "tungsten heavy alloy",
    "carbide": "cemented carbide",
}


def _length(words: str) -> Parameter:
    return Parameter(help=words, allow_leading_hyphen=True, show_default=False)


@Parameter(name="*")
@dataclass(frozen=True)
class WorkOptions:
    """The place the bar must reach."""

    bore: Annotated[str | None, _length("Diameter of the hole as it is before the cut.")] = None
    depth: Annotated[str | None, _length("How deep the edge must go into the hole.")] = None
    shoulder: Annotated[
        str | None, _length("Instead of a hole: diameter of a shoulder, or rim of a groove.")
    ] = None
    reach: Annotated[str | None, _length("How far in from that rim the edge must go.")] = None
    height: Annotated[str | None, _length("With --shoulder: tallest shank the tool post takes.")] = None
    groove: Annotated[str | None, _length("With --shoulder: width of the groove; none at a shoulder.")] = None
    materials: Annotated[str, Parameter(help="Materials to hand: steel,carbide.")] = "steel"
    units: Annotated[str, Parameter(help="mm or inch, for bare numbers and for the answer.")] = "mm"
    cut: Annotated[
        Path | None, Parameter(help="Set-up file whose [cut] the bar must take; [post] and [work] count.")
    ] = None


@Parameter(name="*")
@dataclass(frozen=True)
class RoomOptions:
    """What is left round the bar, and what holds it."""

    clearance: Annotated[
        str | None, _length("Room behind the bar for chips; usual share of the hole if left out.")
    ] = None
    cutter: Annotated[str | None, _length("How far the cutter sticks out of a round bar.")] = None
    allowance: Annotated[str | None, _length("Bar out of the holder beyond the depth.")] = None
    raised: Annotated[str | None, _length("Bar's axis above the edge; negative below.")] = None
    holder: Annotated[str | None, _length("Diameter of the holder's hole, if it has one size.")] = None
    gripped: Annotated[
        str | None, _length("Length of bar inside the holder; four times its size if left out.")
    ] = None
    grip: Annotated[
        str, Parameter(help="bed (a real seat), rigid (a perfect one), or centres: a bar between centres.")
    ] = "bed"


@Parameter(name="*")
@dataclass(frozen=True)
class AskOptions:
    """What is asked beside the ranking."""

    spring_off: Annotated[
        str | None, _length("How far may it stick out to spring this much (under the cut, or 10 N)?")
    ] = None
    wanted_depth: Annotated[str | None, _length("With --cut: how far out for this depth to stay quiet?")] = (
        None
    )
    cutter_hole: Annotated[str | None, _length("Hole drilled across for the cutter.")] = None
    hole_from_end: Annotated[str | None, _length("From the free end to the middle of that hole.")] = None


def read_asked(ask: AskOptions, job: SizeJob) -> Asked:
    """Return what is asked beside the ranking, checked; errors name the options as they were typed.

    Raises
    ------
    InputError
        An option is no length, or is out of range.
    """
    from stickout.fem.size.asked import Asked, check_asked

    given = {key: text for key, text in vars(ask).items() if text is not None}
    sizes = {f"{key}_mm": length_mm(text, key=key, units=job.units) for key, text in given.items()}
    asked = Asked(**sizes)
    try:
        check_asked(job, asked)
    except InputError as mistake:
        raise as_typed(mistake, given) from None
    return asked


def read_job(work: WorkOptions, room: RoomOptions) -> SizeJob:
    """Return the job that the options describe, checked; errors name the options as they were typed.

    Raises
    ------
    InputError
        An option is missing, is no length, does not go with another, or is out of range.
    SetupError
        The set-up of ``--cut`` cannot be used.
    """
    from stickout.fem.size.job import Bore, Holder, Room, Shank, SizeJob, check_job

    if work.units not in UNITS:
        mend = hint(work.units, UNITS, otherwise="Choose one of these.")
        raise InputError(key="--units", given=work.units, allowed='"mm" or "inch"', mend=mend)
    check_pairs(work)
    given = {k: v for k, v in (vars(work) | vars(room)).items() if k in LENGTHS and v is not None}
    sizes = {key: length_mm(text, key=key, units=work.units) for key, text in given.items()}
    beside = None if work.cut is None else read_cut(work.cut, bore_mm=sizes.get("bore"))
    job = SizeJob(
        work=Bore(sizes["bore"], sizes["depth"])
        if "bore" in sizes
        else Shank(sizes["shoulder"], sizes["reach"], sizes["height"], sizes.get("groove")),
        room=Room(
            sizes.get("clearance"), sizes.get("cutter"), sizes.get("allowance"), sizes.get("raised", 0.0)
        ),
        holder=Holder(sizes.get("holder"), sizes.get("gripped"), room.grip),
        materials=read_materials(work.materials),
        cut=None if beside is None else beside.cut,
        units=work.units,
        beside=beside,
    )
    try:
        check_job(job)
    except InputError as mistake:
        raise as_typed(mistake, given) from None
    return job


def as_typed(mistake: InputError, given: Mapping[str, str]) -> InputError:
    """Return a mistake under the name of its option, with the value as it was typed."""
    if mistake.key == "cut.operation":
        return mistake
    key = f"--{mistake.key.replace('_', '-')}"
    value = Plain(given[mistake.key]) if mistake.key in given else mistake.given
    return InputError(key=key, given=value, allowed=mistake.allowed, mend=mistake.mend)


def check_pairs(work: WorkOptions) -> None:
    """Check that the options describe a hole or a shoulder, whole, and not both.

    Raises
    ------
    InputError
        As above.
    """
    both = work.bore is not None and work.shoulder is not None
    if both or (work.bore is None and work.shoulder is None):
        given = Plain("given together with --shoulder") if both else MISSING
        mend = "Write --bore and --depth for a hole, --shoulder and --reach for a shank."
        raise InputError(
            key="--bore", given=given, allowed="given alone, or --shoulder in its place", mend=mend
        )
    needed = {"depth": "--bore"} if work.bore is not None else {"reach": "--shoulder", "height": "--shoulder"}
    foreign = ("reach", "height", "groove") if work.bore is not None else ("depth",)
    mends = {
        "depth": "Measure how deep the edge must go into the hole.",
        "reach": "Measure how far in from the rim the edge must go.",
        "height": "Measure the slot of the tool post: the tallest shank it takes.",
    }
    for name, owner in needed.items():
        if getattr(work, name) is None:
            raise InputError(key=f"--{name}", given=MISSING, allowed=f"given with {owner}", mend=mends[name])
    for name in foreign:
        if getattr(work, name) is not None:
            mend = "Take it out, or describe the other kind of work."
            allowed = f"left out with {next(iter(needed.values()))}"
            raise InputError(key=f"--{name}", given=Plain(getattr(work, name)), allowed=allowed, mend=mend)


def length_mm(text: str, *, key: str, units: str) -> float:
    """Return the length an option states [mm]: a bare number in ``units``, or text with its own unit.

    Raises
    ------
    InputError
        The text is no length.
    """
    option = f"--{key.replace('_', '-')}"
    try:
        bare = float(text)
    except ValueError:
        try:
            return float(convert(text, Kind.LENGTH, key=option, units=units))
        except InputError as mistake:
            allowed = f"a bare number in {units}, or a length with its unit such as '80 mm' or '3/4 in'"
            raise InputError(key=option, given=text, allowed=allowed, mend=mistake.mend) from None
    return mm_from_bare(bare, units)


def read_materials(text: str) -> list[Material]:
    """Return the materials of a list of names; a word that only one name of the table holds will do.

    Raises
    ------
    InputError
        A name is not known, or fits several.
    """
    from stickout.fem.setup.material_table import MATERIALS
    from stickout.fem.setup.materials import material_named

    found: dict[str, Material] = {}
    for name in filter(None, (one.strip() for one in text.split(","))):
        short = folded(name)
        inside = [one for one in MATERIALS if set(short.split()) <= set(folded(one).split())]
        full = _OTHER_NAMES.get(short, inside[0] if short not in inside and len(inside) == 1 else name)
        found[full] = material_named(full, MATERIALS, key="--materials")
    return list(found.values())


def read_cut(path: Path, *, bore_mm: float | None) -> Setup:
    """Return a set-up file whose cut must be complete; in a hole, cut at the hole's diameter.

    Raises
    ------
    SetupError
        The set-up cannot be used.
    InputError
        Its cut is missing or not complete.
    """
    from stickout.fem.force.case import described
    from stickout.fem.setup.file import read_setup

    setup = read_setup(path).setup
    cut = described(setup.cut)
    return replace(setup, cut=cut if bore_mm is None else replace(cut, work_diameter_mm=bore_mm))
