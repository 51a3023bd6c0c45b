"""Find out whether pictures can be drawn with GL, without dying of the answer.

On a machine without a GL driver the drawing library kills the process; no ``except`` catches that.
So the question is asked by looking at the class of a bare window, and asked in a child process.
"""

from __future__ import annotations

import contextlib
import ctypes
import importlib
import os
import sys

PACKAGES = "libegl1 libgl1-mesa-dri"
REMEDY = (
    "No usable GL driver was found, so a simpler drawing was made; "
    f"on Debian or Ubuntu 'apt-get install {PACKAGES}' mends that."
)
NO_GL_EXIT = 3
SWITCH = "STICKOUT_DRAW"


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
