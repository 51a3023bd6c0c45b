"""Does a told error cover the error made? Random set-ups of every kind against a far finer solution.

Run from the top folder, one thread each (OMP_NUM_THREADS=1); set-ups may be run in pieces, kept in one file:

    python tests/benchmarks/bench_told_error.py                     78 set-ups: half an hour on a quiet core
    python tests/benchmarks/bench_told_error.py --count 18          one of every kind
    python tests/benchmarks/bench_told_error.py --kinds "slot, bed" kinds whose name holds one of these
    python tests/benchmarks/bench_told_error.py --ngsolve           13 against NGSolve of high order
    python tests/benchmarks/bench_told_error.py --json FILE --print what runs kept in a file come to

``tests/helpers/finer_solution.py`` says what the finer solution is, ``peer_told_ngsolve.py`` what NGSolve's
is; each knows how far it may be off itself, its doubt. A figure is left out, and counted, where the doubt is
above half of what is told and leaves open whether that covers.

Printed: share covered, the worst of true over told, the median of told over true; the same for the entries of
the compliance (error over the root of its two diagonal entries' product); and kappa, the part of the step
between the product's two meshes that was still to come. Where the product refines one direction at a time,
the step is the sum of the three single ones.

The median asks whether a told error says something. A true error is known no better than the doubt about
the finer solution: one below it counts as if it were none, so its ratio as endless. That is against us, since
such an error may well be half of the doubt. The same goes for twist of a round bar, whose true error is
nothing. Entries of the compliance that symmetry makes zero are bounded by their diagonal ones: they are
counted as covered or not, but their median says nothing. NGSolve is asked for cover alone: what its last
order still changed is often more than our true error.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from extreme_setups import EXTREMES, extreme_setup
from finer_solution import Numbers, finer
from told_setups import KINDS, told_setup

from stickout.fem.revolved.solve import solve
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.modes import SPARE
from stickout.fem.study.accuracy import DEAR, Level, MeshLimit, refine
from stickout.fem.study.in_block import solved_in_block
from stickout.fem.study.meshes_limit import MeshNumbers, matched
from stickout.fem.study.of_revolution import SPACES, revolved_bar, solved_as_revolved
from stickout.fem.study.study import levels_of, limit_of, solve_level, unknowns_of
from stickout.meshes.pieces import Fineness

PASS = {"covered": 0.97, "worst": 1.5, "median": 6.0}
# Every kind so often, and what is of revolution, which is cheap, so often in all.
ROUNDS, ROUNDS_OF_REVOLUTION = 2, 8
# Of kinds that NGSolve's peer can mesh, every grip that holds bars of straight sides among them.
WITH_NGSOLVE = (0, 1, 2, 3, 4, 5, 7, 8, 9, 11, 12, 13, 29)


def told(setup: Setup) -> tuple[MeshLimit[Level], list[MeshNumbers], float]:
    """Return what the product tells of a set-up, its first solutions' numbers, its processor seconds.

    Round bars in a block refine spaces and meshes in turn: of them no one step is there to compare with.
    """
    begin, meshes = time.process_time(), list[MeshNumbers]()
    if solved_as_revolved(setup):
        limit = limit_of(setup)
        seconds = time.process_time() - begin
        bar = revolved_bar(setup)
        spaces = [solve(bar, fine, wanted=setup.solve.modes + SPARE) for fine in SPACES[:2]]
        return limit, [MeshNumbers(one.frequency_hz, one.labels, one.compliance) for one in spaces], seconds

    if solved_in_block(setup):
        return limit_of(setup), [], time.process_time() - begin

    def on_mesh(fineness: Fineness) -> Level:
        level = solve_level(setup, fineness)
        meshes.append(level.numbers)
        return level

    levels, wanted = levels_of(setup), setup.solve.modes
    size = partial(unknowns_of, setup)
    limit = refine(on_mesh, levels, accuracy=setup.solve.accuracy, wanted=wanted, size=size)
    return limit, meshes, time.process_time() - begin


def compared(limit: MeshLimit[Level], reference: Numbers, wanted: int) -> dict[str, list[float]]:
    """Return true error, told error and the reference's doubt of every figure, by sort of figure."""
    order = np.argsort(limit.frequency_hz)
    n = slice(0, wanted)
    off = np.abs(limit.frequency_hz[order] / reference.frequency_hz - 1)
    size = np.sqrt(np.diag(reference.compliance))
    entry = np.abs(limit.compliance - reference.compliance) / np.outer(size, size)
    own, side = np.diag_indices(3), np.triu_indices(3, 1)
    triples = {"frequency": (off[n], limit.error[order][n], reference.frequency_error[n])}
    for name, where in (("diagonal", own), ("off-diagonal", side)):
        triples[name] = (entry[where], limit.compliance_error[where], reference.compliance_error[where])
    return {name: np.stack(of, axis=1).tolist() for name, of in triples.items()}


def kappa(meshes: Sequence[MeshNumbers], reference: Numbers, *, wanted: int, apart: bool) -> list[float]:
    """Return the part of the product's first step that was still to come, by mode."""
    order = np.argsort(meshes[0].frequency_hz)
    first, second, *others = (matched(one, meshes[0])[order] for one in meshes[: 4 if apart else 2])
    second = second + np.sum([one - first for one in others], axis=0)
    step = (second - first)[:wanted]
    real = np.abs(step) > 1e-6 * second[:wanted]
    return ((reference.frequency_hz - second)[:wanted] / np.where(real, step, 1.0))[real].tolist()


def reference_of(name: str, setup: Setup, *, ngsolve: bool, kept: Path | None) -> Numbers:
    """Return the finer solution; from a folder where it was kept before by this name, and kept there."""
    file = None if kept is None else kept / f"{'ngsolve_' * ngsolve}{name}.json"
    if file is not None and file.exists():
        known = json.loads(file.read_text())
        return Numbers(*(np.array(known[name]) for name in Numbers.__dataclass_fields__))
    if ngsolve and name.isdigit():
        from peer_told_ngsolve import high_order  # here: it need not be there for the rest

        found = high_order(setup)
    elif ngsolve:
        from peer_told_plane import in_plane  # here: it need not be there for the rest

        found = in_plane(setup)
    else:
        found = finer(setup)
    if file is not None:
        file.write_text(json.dumps({name: array.tolist() for name, array in vars(found).items()}))
    return found


def run_case(number: int, *, extremes: bool, ngsolve: bool, kept: Path | None) -> dict[str, object]:
    """Return everything compared about one set-up."""
    kind, setup = extreme_setup(number) if extremes else told_setup(number)
    limit, meshes, seconds = told(setup)
    reference = reference_of(f"{'extreme_' * extremes}{number}", setup, ngsolve=ngsolve, kept=kept)
    wanted = setup.solve.modes
    apart = not solved_as_revolved(setup) and unknowns_of(setup, levels_of(setup).fineness[1]) > DEAR
    return {
        "number": number,
        "kind": kind,
        "accuracy": setup.solve.accuracy,
        "reached": limit.reached,
        "seconds": seconds,
        "meshes": len(meshes),
        "kappa": kappa(meshes, reference, wanted=wanted, apart=apart) if len(meshes) > 1 else [],
        **compared(limit, reference, wanted),
    }


def figures(triples: Sequence[Sequence[float]]) -> dict[str, float]:
    """Return share covered, worst and median of what could be judged, and how many could not."""
    rows = np.array(triples).reshape(-1, 3)
    # With so much doubt, only what is told above or below all that may be true can be judged.
    surely = np.abs(rows[:, 1] - rows[:, 0]) >= rows[:, 2]
    good = (rows[:, 2] <= rows[:, 1] / 2) | surely
    true, error, doubt = rows[good].T
    ratio = true / error
    known = np.where(true > doubt, ratio, 0.0)
    return {
        "judged": int(good.sum()),
        "left out": int((~good).sum()),
        "covered": float((ratio <= 1).mean()) if good.any() else 1.0,
        "worst": float(ratio.max(initial=0.0)),
        "unresolved": int((known == 0).sum()),
        "median": float(1 / max(np.median(known), 1e-3)) if good.any() else 0.0,
    }


def one_line(name: str, triples: Sequence[Sequence[float]]) -> str:
    """Return the figures of some triples in words."""
    f = figures(triples)
    return (
        f"{name:20s} {f['judged']:4.0f} judged, {f['left out']:3.0f} left out; covered {f['covered']:.3f}, "
        f"worst true/told {f['worst']:.2f}, median told/true {f['median']:.1f}, "
        f"true below doubt {f['unresolved']:.0f}"
    )


def summary(cases: Sequence[dict[str, object]], *, median_too: bool) -> bool:
    """Print the figures over all cases, by sort and by kind; return whether they pass."""
    sorts = ("frequency", "diagonal", "off-diagonal")
    print()
    passed = True
    for sort in sorts:
        rows = [row for case in cases for row in case[sort]]  # type: ignore[attr-defined]
        print(one_line(sort, rows))
        f = figures(rows)
        passed &= f["covered"] >= PASS["covered"] and f["worst"] <= PASS["worst"]
        # Entries that symmetry makes zero are bounded by their diagonal ones: their median says nothing.
        passed &= not median_too or sort == "off-diagonal" or f["median"] <= PASS["median"]
    for kind in dict.fromkeys(str(case["kind"]) for case in cases):
        rows = [row for c in cases if c["kind"] == kind for s in sorts[:2] for row in c[s]]  # type: ignore[attr-defined]
        print("  " + one_line(kind, rows))
    parts = np.array([k for case in cases for k in case["kappa"]])  # type: ignore[attr-defined]
    print("kappa: " + ", ".join(f"{100 * q:g} %: {np.quantile(parts, q):.2f}" for q in (0.025, 0.5, 0.975)))
    counts, edges = np.histogram(parts, bins=np.arange(-0.1, 0.75, 0.1))
    print("  " + ", ".join(f"{a:.1f} to {a + 0.1:.1f}: {n}" for a, n in zip(edges, counts, strict=False)))
    reached = np.mean([bool(case["reached"]) for case in cases])
    seconds = np.median([float(case["seconds"]) for case in cases])  # type: ignore[arg-type]
    print(f"accuracy reached in {reached:.2f} of the set-ups; median {seconds:.2f} s of processor time")
    return bool(passed)


def numbers_of(chosen: argparse.Namespace) -> list[int]:
    """Return the numbers of the set-ups asked for."""
    kinds_of = list(EXTREMES) if chosen.extremes else KINDS
    if chosen.extremes:
        count = chosen.count or ROUNDS * len(kinds_of)
        numbers = list(range(chosen.first, chosen.first + count))
        if chosen.ngsolve:
            numbers = [n for n in numbers if solved_as_revolved(extreme_setup(n)[1])]
    elif chosen.ngsolve:
        numbers = list(WITH_NGSOLVE)
    elif chosen.count:
        numbers = list(range(chosen.first, chosen.first + chosen.count))
    else:
        begin, kinds = chosen.first, len(KINDS)
        numbers = list(range(begin, begin + ROUNDS * kinds))
        after = range(begin + ROUNDS * kinds, begin + ROUNDS_OF_REVOLUTION * kinds)
        numbers += [n for n in after if solved_as_revolved(told_setup(n)[1])]
    picked = [k.strip() for k in chosen.kinds.split(",")]
    return [n for n in numbers if any(k in kinds_of[n % len(kinds_of)] for k in picked)]


def main() -> int:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--count", type=int, default=0, help="set-ups one after the other")
    parser.add_argument("--first", type=int, default=0, help="number of the first one")
    parser.add_argument("--kinds", default="", help="kinds whose name holds one of these, parted by commas")
    parser.add_argument("--ngsolve", action="store_true", help="compare with NGSolve of high order")
    parser.add_argument("--extremes", action="store_true", help="set-ups of tests/helpers/extreme_setups.py")
    parser.add_argument(
        "--json", type=Path, help="file that every case is added to; those in it are not rerun"
    )
    parser.add_argument("--keep", type=Path, help="folder where finer solutions are kept for another run")
    parser.add_argument("--print", action="store_true", help="only what is in the file, nothing is run")
    chosen = parser.parse_args()
    numbers = numbers_of(chosen)
    had = chosen.json.read_text().splitlines() if chosen.json and chosen.json.exists() else []
    known = {case["number"]: case for case in map(json.loads, had)}
    cases = []
    for number in numbers:
        if number in known:
            cases.append(known[number])
            continue
        if chosen.print:
            continue
        case = run_case(number, extremes=chosen.extremes, ngsolve=chosen.ngsolve, kept=chosen.keep)
        cases.append(case)
        rows = case["frequency"] + case["diagonal"]  # type: ignore[operator]
        words = f"{number:3d} {case['kind']}, {case['accuracy']:g}, {case['seconds']:.1f} s"
        print(one_line(words, rows), flush=True)
        if chosen.json:
            with chosen.json.open("a") as file:
                file.write(json.dumps(case) + "\n")
    print(f"{len(cases)} set-ups")
    passed = summary(cases, median_too=not chosen.ngsolve)
    print("passed" if passed else "NOT passed")
    return 0 if passed else 1


if __name__ == "__main__":
    raise SystemExit(main())
