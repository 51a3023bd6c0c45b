"""Pictures and films of a held bar moving in one of its modes.

Modules in reading order
------------------------
surface
    The outer skin of a mesh.
scene
    What one picture shows.
captions
    The words on it.
view
    The one camera.
solids, holder
    Arrows, ball and holder as bodies.
stage
    A scene as bodies and lines at one instant.
probe
    Whether GL can be used.
picture, plain
    The two ways to draw.
lettering
    Words and colour bar laid over.
landing
    A file written whole or not at all.
video, film
    The files.
"""

from cli.show.film import DrawReport, write_film, write_sheet
from cli.show.scene import Scene

__all__ = ["DrawReport", "Scene", "write_film", "write_sheet"]
