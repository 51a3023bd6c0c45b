"""What ``modes --check`` says: how far another library agrees, and what that proves."""

from __future__ import annotations

from stickout.cli.text.words import folded
from stickout.fem.study.second_opinion import SecondOpinion


def second_opinion_words(opinion: SecondOpinion) -> list[str]:
    """Return one sentence on the difference and one on what it does and does not prove.

    Parameters
    ----------
    opinion
        Both libraries' frequencies of one mesh.
    """
    rest = f" ({' and '.join(opinion.taken_over)} taken over as ours)" if opinion.taken_over else ""
    return folded(
        "Second opinion: scikit-fem's elements and grips, solved by SciPy, on the first mesh "
        f"({opinion.unknowns} unknowns, {len(opinion.ours_hz)} modes): {opinion.apart:.0e} apart at most"
        f"{rest}. It vouches for matrices and solver on that mesh; not for the mesh, whose error is told "
        "apart, nor for what is assumed of metals and seat."
    )
