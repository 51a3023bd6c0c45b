"""Find out whether pictures can be drawn with GL, without dying of the answer.

On a machine without a GL driver the drawing library kills the process; no ``except`` catches that.
So the question is asked by looking at the class of a bare window, and asked in a child process.
"""

from __future__ import annotations

import contextlib
import ctypes
import importlib
import os
import subprocess
import sys
from dataclasses import dataclass

PACKAGES = "libegl1 libgl1-mesa-dri"
REMEDY = (
    "No usable GL driver was found, so a simpler drawing was made; "
    f"on Debian or Ubuntu 'apt-get install {PACKAGES}' mends that."
)
NO_GL_EXIT = 3
SWITCH = "STICKOUT_DRAW"


@dataclass(frozen=True)
class GlReport:
    """Whether GL can be used, and the class of window or the reason why not."""

    usable: bool
    detail: str


def forced_plain() -> bool:
    """Return whether the environment asks for the drawing without GL (``STICKOUT_DRAW=plain``)."""
    return os.environ.get(SWITCH, "") == "plain"


def child_environment() -> dict[str, str]:
    """Return the environment of a drawing child: it draws on all cores and finds what this process finds."""
    threads = str(min(os.cpu_count() or 1, 16))
    return {"LP_NUM_THREADS": threads, **os.environ}


def child_command(module: str, *arguments: str) -> list[str]:
    """Return the command that runs ``main`` of a module of this package in a child process."""
    # -P: no file of the user's own folder may stand in for a library.
    code = f"import sys, {module} as job; sys.exit(job.main())"
    return [sys.executable, "-P", "-c", code, *arguments]


def probe_gl(*, timeout_s: float = 60.0) -> GlReport:
    """Return whether GL can be used, asked in a child process.

    Parameters
    ----------
    timeout_s
        How long the child may take.

    Returns
    -------
    GlReport
        Not usable where the environment forces that, or the child finds none, crashes or hangs.
    """
    if forced_plain():
        return GlReport(usable=False, detail=f"{SWITCH}=plain")
    command = child_command("stickout.cli.show.scene.probe")
    try:
        done = subprocess.run(
            command, env=child_environment(), capture_output=True, text=True, timeout=timeout_s, check=False
        )
    except subprocess.TimeoutExpired:
        return GlReport(usable=False, detail=f"no answer in {timeout_s:.0f} s")
    if done.returncode == 0:
        return GlReport(usable=True, detail=done.stdout.strip())
    return GlReport(usable=False, detail=done.stdout.strip() or f"the child ended with {done.returncode}")


def window_class() -> str:
    """Return the class of off-screen window that would be used; call it in a child process only.

    Source
    ------
    VTK documentation, page Runtime settings (opened, for the meaning of the variable); computed here.
    """
    if sys.platform.startswith("linux"):
        os.environ["VTK_DEFAULT_OPENGL_WINDOW"] = "vtkEGLRenderWindow"
    # Importing this module is what makes a window with GL known to the next call.
    importlib.import_module("vtkmodules.vtkRenderingOpenGL2")
    from vtkmodules.vtkCommonCore import vtkObject
    from vtkmodules.vtkRenderingCore import vtkRenderWindow

    vtkObject.GlobalWarningDisplayOff()
    return str(vtkRenderWindow().GetClassName())


def usable_window(name: str) -> bool:
    """Return whether a window of this class can draw here."""
    if name == "vtkOSOpenGLRenderWindow":
        for library in ("libOSMesa.so.8", "libOSMesa.so.6", "libOSMesa.so"):
            with contextlib.suppress(OSError):
                ctypes.CDLL(library)
                return True
        return False
    return name in {"vtkEGLRenderWindow", "vtkWin32OpenGLRenderWindow", "vtkCocoaRenderWindow"}


def main() -> int:
    """Print the class of window; return 0 when it can draw and ``NO_GL_EXIT`` when not."""
    name = window_class()
    sys.stdout.write(name + "\n")
    return 0 if usable_window(name) else NO_GL_EXIT
