"""The cut: force, directions, how deep it stays quiet and at which speeds. No finite elements here.

Reading order: ``work_materials`` (table), ``checks`` (input), ``nose`` (engaged edge), ``force`` (force
law), ``edge_load`` (force on a nose), ``directions`` (bar frame), ``receptance`` (modal model),
``loop`` (eigenvalues of G A), ``valleys`` (their lowest real part), ``stability`` (absolute limit),
``speeds`` (limit at given speeds), ``lobes`` (for drawing), ``depth`` (depth limit), ``lowspeed``
(rubbing and squeal), ``springoff`` (static), ``uncertainty`` (bands).
"""
