"""A held bar as solid elements: matrices, factor, lowest modes, static answers.

Reading order: ``elasticity`` (element matrices), ``slab`` and ``layout`` (sums and order of unknowns),
``supports``, ``setting`` (from a set-up to these), ``edge``, ``body`` (all of these together),
``block_cholesky`` or ``two_level`` over ``corners``, ``vertex_patches`` and ``matrix_free``,
``solvable`` (a body with either), ``symmetry`` (mirror parts), ``model``; ``eigensearch`` (with a
factor) or ``davidson`` (without), ``searches``, ``modes``; then ``energy``, ``kinds``, ``section_motion``.
"""
