"""The cutting force of one edge: law, engaged edge, directions in the bar frame, what it pushes away.

Reading order: ``checks``, ``law`` (Kienzle and its tangent), ``nose`` (engaged edge), ``edge_load`` (force
on a nose), ``directions`` (bar frame), ``spring_off`` (static), ``loading`` (a set-up's force), ``case`` (a
cut fully described).
"""
