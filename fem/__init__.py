"""The mechanics: materials, elements, solver, modes, damping, the cut. Knows no screen.

The names that a program needs are here; each is loaded when it is first used, so that one costs no more than
itself. Importing this sets BLAS to one thread, unless ``OMP_NUM_THREADS`` or one of its like is set.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Final

from stickout.fem.threads import one_thread

one_thread()

if TYPE_CHECKING:
    from stickout.fem.cut.answer import cut_answer as cut_answer
    from stickout.fem.errors import SolveError as SolveError
    from stickout.fem.setup.bands import exactly as exactly
    from stickout.fem.setup.file import read_setup as read_setup
    from stickout.fem.setup.grips import BedGrip as BedGrip
    from stickout.fem.setup.grips import HeldGrip as HeldGrip
    from stickout.fem.setup.grips import RigidGrip as RigidGrip
    from stickout.fem.setup.grips import SleeveGrip as SleeveGrip
    from stickout.fem.setup.grips import SlotGrip as SlotGrip
    from stickout.fem.setup.joints import Joint as Joint
    from stickout.fem.setup.material_table import material as material
    from stickout.fem.setup.materials import Material as Material
    from stickout.fem.setup.parts import Cut as Cut
    from stickout.fem.setup.parts import Setup as Setup
    from stickout.fem.study.study import run_study as run_study
    from stickout.meshes.errors import InputError as InputError
    from stickout.meshes.parts import Bar as Bar
    from stickout.meshes.parts import Edge as Edge

# Name -> the module that has it.
EXPORTS: Final = {
    "Bar": "stickout.meshes.parts",
    "Edge": "stickout.meshes.parts",
    "Setup": "stickout.fem.setup.parts",
    "RigidGrip": "stickout.fem.setup.grips",
    "HeldGrip": "stickout.fem.setup.grips",
    "BedGrip": "stickout.fem.setup.grips",
    "SlotGrip": "stickout.fem.setup.grips",
    "SleeveGrip": "stickout.fem.setup.grips",
    "Joint": "stickout.fem.setup.joints",
    "Cut": "stickout.fem.setup.parts",
    "material": "stickout.fem.setup.material_table",
    "Material": "stickout.fem.setup.materials",
    "exactly": "stickout.fem.setup.bands",
    "read_setup": "stickout.fem.setup.file",
    "run_study": "stickout.fem.study.study",
    "cut_answer": "stickout.fem.cut.answer",
    "InputError": "stickout.meshes.errors",
    "SolveError": "stickout.fem.errors",
}


def __getattr__(name: str) -> object:
    """Load an exported name when it is asked for."""
    if name not in EXPORTS:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found: object = getattr(import_module(EXPORTS[name]), name)
    globals()[name] = found  # asked for once only
    return found


def __dir__() -> list[str]:
    """Tell an interactive session the exported names too."""
    return sorted({*globals(), *EXPORTS})
