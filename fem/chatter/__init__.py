"""Stability of a cut on a cheap modal model. No finite elements here.

Reading order: ``modal`` (the model), ``attached`` (an absorber on it), ``receptance``, ``loop``
(eigenvalues of G A), ``valleys`` (their lowest real part), ``stability`` (absolute limit), ``speeds``
(limit at given speeds), ``lobes`` (for drawing), ``depth`` (depth limit), ``low_speed`` (cutting speed and
squeal), ``uncertainty`` and ``chart`` (bands), ``changed``; ``absorber_theory`` and ``absorber_best`` (one
mode with an absorber, by the books).
"""
