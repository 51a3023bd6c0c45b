"""One set-up in, one Result out: solutions refined until the error told is small enough.

Reading order: ``study`` (run_study), ``mesh_levels`` (which meshes), ``accuracy`` (how many of them),
``apart`` (one direction at a time), ``of_revolution`` (round bars, without a mesh), ``in_block`` (round bars
in a bored block), ``meshes_limit`` (what all of these tend to), ``frames`` (a turned bar in its own frame),
``directions``, ``damping`` and ``complex_modes``, ``clamped_loss``, ``assumed``, ``band_ends``, ``result``,
``levers``; ``second_opinion`` (the first mesh by another library).
"""
