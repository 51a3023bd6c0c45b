"""The answer on the cut of a set-up: likely limit, spread, what limits, what to change.

Reading order: ``models`` (cheap modal models of a result), ``likely`` (limit and band that every answer
begins with), ``spread``, ``usual_edge`` (a nose that was not given), ``answer`` (cut_answer), ``levers``,
``turned``, ``low_speed``, ``spring_off``, ``shares`` (tool against work), ``absorber`` and
``absorber_notes``, ``stiffer`` (the same bar stiffer or softer), ``quick`` (one coarse mesh).
"""
