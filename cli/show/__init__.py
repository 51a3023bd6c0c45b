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
signs
    Holder, arrows and the dot at the edge, with their words.
stage
    A scene as bodies and lines at one instant.
raster, picture
    Bodies and lines as pixels.
lettering
    Words and colour bar laid over.
gif, video
    Writers of loops.
film
    Films and sheets, the entry points.
drawing, with drawing_shape, _pen, _side, _end
    The set-up to scale, as lines.
chart
    Charts as SVG by Matplotlib's words, without it: the report's, and plots written to .svg.
report, with report_parts, _modes, _cut, _pdf
    The printed report.
handout, sound
    One page and the note for a club talk.
"""
