"""The options of ``size --absorber``: what they may be, what they do not go with, one job out of them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from cyclopts import Parameter

from stickout.cli.commands.size_reading import (
    AskOptions,
    RoomOptions,
    WorkOptions,
    as_typed,
    length_mm,
    read_materials,
)
from stickout.cli.options import Changes
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain

if TYPE_CHECKING:
    from stickout.fem.absorber.shapes import AbsorberJob
    from stickout.fem.setup.parts import Setup

_LENGTHS: Final = ("plug_bore", "ring_outside", "place")
_JOB_KEYS: Final = (*_LENGTHS, "absorber_kind", "slug_material")


@Parameter(name="*")
@dataclass(frozen=True)
class AbsorberOptions:
    """An absorber for a bar: of a set-up file, or the best one that was found."""

    absorber: Annotated[
        bool,
        Parameter(negative="", help="Size an absorber for SETUP, or for the best bar of --bore."),
    ] = False
    absorber_kind: Annotated[
        str, Parameter(help="plug (a slug in soft rings inside the bar) or ring (round the bar).")
    ] = "plug"
    slug_material: Annotated[str, Parameter(help="What it may be made of: 'steel,lead'.")] = (
        "tungsten heavy alloy,steel"
    )
    plug_bore: Annotated[
        str | None,
        Parameter(help="Bore at the free end for a plug; if left out what the tube has, or three tried."),
    ] = None
    ring_outside: Annotated[str | None, Parameter(help="Greatest outside diameter of a ring.")] = None
    place: Annotated[
        str | None,
        Parameter(help="Its middle from the holder face; as near the edge as it goes if left out."),
    ] = None
    changes: Changes = ()


def check_hole(options: AbsorberOptions, work: WorkOptions) -> None:
    """Refuse a ring that does not go into the hole."""
    if options.ring_outside is None or work.bore is None:
        return
    outside, hole = (
        length_mm(text, key=key, units=work.units)
        for key, text in (("ring_outside", options.ring_outside), ("bore", work.bore))
    )
    if not outside < hole:
        given, allowed = Plain(options.ring_outside), f"below the hole, {work.bore}"
        mend = "Leave room for the chips, or take a plug inside the bar."
        raise InputError(key="--ring-outside", given=given, allowed=allowed, mend=mend)


def read_absorber_job(setup: Setup, options: AbsorberOptions) -> AbsorberJob:
    """Return what is to be sized, checked; errors name the options as they were typed.

    Raises
    ------
    InputError
        An option is no length, no material, or does not fit the bar.
    """
    from stickout.fem.absorber.shapes import AbsorberJob, check_absorber_job

    typed = {key: getattr(options, key) for key in _LENGTHS}
    sizes = {
        key: None if text is None else length_mm(text, key=key, units=setup.units)
        for key, text in typed.items()
    }
    try:
        materials = read_materials(options.slug_material)
    except InputError as mistake:
        raise InputError(
            key="--slug-material", given=mistake.given, allowed=mistake.allowed, mend=mistake.mend
        ) from None
    job = AbsorberJob(
        setup=setup,
        kind=options.absorber_kind,
        materials=materials,
        bore_mm=sizes["plug_bore"],
        outside_mm=sizes["ring_outside"],
        place_mm=sizes["place"],
    )
    try:
        check_absorber_job(job)
    except InputError as mistake:
        raise as_option(mistake, options) from None
    return job


def as_option(mistake: InputError, options: AbsorberOptions) -> InputError:
    """Return a mistake of an option under its name as it was typed; others as they are."""
    if mistake.key not in _JOB_KEYS:
        return mistake
    given = {key: str(getattr(options, key)) for key in _JOB_KEYS if getattr(options, key) is not None}
    return as_typed(mistake, given)


def refuse_given(options: WorkOptions | RoomOptions | AskOptions, *, allowed: str) -> None:
    """Refuse the first of some options that is not as usual, where it would have no effect.

    Raises
    ------
    InputError
        One was given.
    """
    usual = type(options)()
    for key, value in vars(options).items():
        if value != getattr(usual, key):
            name = f"--{key.replace('_', '-')}"
            mend = (
                "Size an absorber for the bar of a set-up, or for the best bar of a hole; not both at once."
            )
            raise InputError(key=name, given=Plain(str(value)), allowed=allowed, mend=mend)


def refuse_absorber_options(setup: Path | None, options: AbsorberOptions) -> None:
    """Refuse what belongs to an absorber where none is asked for.

    Raises
    ------
    InputError
        A set-up file, or an option of the absorber, without ``--absorber``.
    """
    mend = "Add --absorber to size one, or take this out."
    if setup is not None:
        raise InputError(key="SETUP", given=str(setup), allowed="given with --absorber only", mend=mend)
    usual = AbsorberOptions()
    for key in (*_JOB_KEYS, "changes"):
        value = getattr(options, key)
        if value != getattr(usual, key):
            name = "--set" if key == "changes" else f"--{key.replace('_', '-')}"
            told = value[0] if isinstance(value, tuple) else value
            raise InputError(key=name, given=Plain(str(told)), allowed="given with --absorber", mend=mend)
