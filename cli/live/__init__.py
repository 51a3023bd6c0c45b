"""The live page: a server for this machine's browser only.

``server`` (its addresses), ``guard`` (what it refuses), ``desk`` (set-ups and questions), ``beginning`` (a
set-up by the questions of ``new``), ``worker`` (a solver in its own process), ``answer``, ``sliders``.
"""
