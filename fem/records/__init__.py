"""Every result as plain data, SI throughout unless a name wears its unit: what ``--json`` writes.

One module a result: ``setup``, ``result`` (modes), ``cut``, ``comparison``, ``size``, ``questions``,
``absorber``.
"""
