"""Many cases of one set-up, solved together where they are alike.

Reading order: ``sweep``, ``batches``, ``case_answer`` over ``case_modes`` and ``case_cut``, ``case_row``;
like cases share small spaces: ``points``, ``terms``, ``reduced_basis``, ``bases``, ``told``,
``revolved_terms``, ``revolved_spaces``, ``family``.
"""
