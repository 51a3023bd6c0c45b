"""Which bar for this job: every bar that fits, ranked, and the questions that follow.

Reading order: ``stock``, ``job``, ``job_assumed``, ``hole``, ``options``, ``size`` (size_bars); then
``asked``, ``questions`` (design_questions) over ``gains``, ``overhangs``, ``grip_length``, ``drilled``.
"""
