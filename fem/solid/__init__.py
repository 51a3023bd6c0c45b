"""A held bar as solid elements: matrices, factor, lowest modes, static answers.

Reading order: ``elasticity`` (element matrices), ``slab`` and ``layout`` (sums and order of unknowns),
``supports``, ``setting`` (from a set-up to these), ``edge``, ``symmetry`` (mirror parts),
``block_cholesky``, ``model``, ``eigensearch`` (with a factor) or ``davidson`` over ``two_level``,
``corners``, ``vertex_patches``, ``matrix_free`` (without), ``searches``, ``modes``; then ``energy``,
``kinds``, ``section_motion``.
"""
