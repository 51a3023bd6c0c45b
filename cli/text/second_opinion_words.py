"""What ``modes --check`` says: how far another library agrees, and what that proves."""

from __future__ import annotations

from stickout.cli.text.words import folded
from stickout.fem.study.in_block import solved_in_block
from stickout.fem.study.of_revolution import solved_as_revolved
from stickout.fem.study.result import Result
from stickout.fem.study.second_opinion import SecondOpinion


def second_opinion_words(opinion: SecondOpinion, result: Result) -> list[str]:
    """Return one sentence on the difference and one on what it does and does not prove.

    Parameters
    ----------
    opinion
        Both libraries' frequencies of one mesh.
    result
        The answer; that of a body of revolution does not come from a mesh, and is compared with theirs.
    """
    rest = f" ({' and '.join(opinion.taken_over)} taken over as ours)" if opinion.taken_over else ""
    post = " The post stands still in both." if result.setup.post is not None else ""
    return folded(
        "Second opinion: scikit-fem's elements and grips, solved by SciPy, on the first mesh "
        f"({opinion.unknowns} unknowns, {len(opinion.ours_hz)} modes): {opinion.apart:.0e} apart at most"
        f"{rest}. {_proof(opinion, result)}, nor for what is assumed of metals and seat.{post}"
    )


def _proof(opinion: SecondOpinion, result: Result) -> str:
    """Return what the agreement proves and what not, as far as it depends on where the answer comes from."""
    if result.setup.grip.at_both_ends:
        return (
            "Theirs stands on the springs of both ends by all its unknowns, ours by few modes: it vouches "
            "for those too; not for the mesh, whose error is told apart"
        )
    revolved, in_block = solved_as_revolved(result.setup), solved_in_block(result.setup)
    if not (revolved or in_block):
        return "It vouches for matrices and solver on that mesh; not for the mesh, whose error is told apart"
    above = 100 * (opinion.theirs_hz / result.frequency_hz[: len(opinion.theirs_hz)] - 1)
    what = "without a mesh" if revolved else "only the block on meshes"
    return (
        f"The answer itself is that of a body of revolution, {what}: their notes lie "
        f"{above.min():+.2g} to {above.max():+.2g} % from it, and a coarse mesh rings too high. It vouches "
        "for the answer that far, not for its last digits"
    )
