"""A slug or a ring on soft rings for a bar, sized and tuned.

Reading order: ``shapes`` (what fits), ``tuning``, ``plan`` (ranked), ``band`` (how sure).
"""
