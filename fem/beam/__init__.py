"""Beams: what a hand formula says of a bar or of the work, exactly as beam theory has it.

Reading order: ``formulas`` (closed forms), ``sections``, ``spans`` (a chain of them),
``dynamic_stiffness``, ``frequencies`` (none missed), ``hand_check`` (beside the solid), ``hand_bar`` (a
set-up by hand), ``work`` (the part).
"""
