"""The live page: a server for this machine's browser only.

``server`` (three addresses), ``guard`` (what it refuses), ``desk`` (keeps questions), ``worker`` (a solver in
its own process), ``answer``, ``sliders``.
"""
