"""Bars of revolution: a Fourier series round the axis, polynomials along the bar and across its radius.

Each order of the series is a plane problem over axis and radius, with matrices that are products of small
ones. Reading order: ``bar`` (what is solved), ``polynomials``, ``lines``, ``grid`` (across a section) and
``cells`` (what it is solved on), ``section`` (matrices over the radius), ``runs`` (the cells of a length),
``chain`` (along the bar), ``rigid`` (sections that stay as they are), ``wave`` (one order of the series),
``motion`` (of points and sections in it), ``problem`` (ways that are solved together), ``solve`` (all of
them), ``place`` (a section of a solved bar). Joined to a meshed block: ``skin`` of the bar and ``bore`` of
the block, ``in_block`` (both together).
"""
