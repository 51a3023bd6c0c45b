"""Before and after: set-ups side by side, judged within what is known of their inputs.

Reading order: ``inputs`` (bands by key, so that two set-ups share what they share), ``reduced`` (a bar in a
few dozen unknowns), ``measures``, ``rivals`` (the same space spent otherwise), ``verdict``, ``compare``.
"""
