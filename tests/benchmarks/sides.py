"""The sides of the benchmark, by name: what they need, and what is called.

As a program, `python tests/benchmarks/sides.py NAME` is a child that imports one side, then solves once for
every line it reads and answers each with one line of JSON. So imports stay out of the time, each side has
its own process and its own number of threads, and the parent can take turns between them.
"""

from __future__ import annotations

import importlib
import importlib.util
import json
import os
import sys
import time
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Side:
    """One side: module and function in this folder, the package it needs, and how to get that."""

    module: str
    function: str
    package: str
    install: str


SIDES = {
    "ours": Side("ours", "run", "fem", 'pip install -e ".[bench]"'),
    "ours, error told": Side("ours", "run_told", "fem", 'pip install -e ".[bench]"'),
    "ngsolve": Side("peer_ngsolve", "run", "ngsolve", "pip install ngsolve"),
    "ngsolve, quarter": Side("peer_ngsolve_quarter", "run", "ngsolve", "pip install ngsolve"),
    "ngsolve, task manager": Side("peer_ngsolve", "run_threaded", "ngsolve", "pip install ngsolve"),
    "sfepy": Side("peer_sfepy", "run", "sfepy", "pip install sfepy   (no wheel: needs a C compiler)"),
    "ours, square bar": Side("ours", "run_square", "fem", 'pip install -e ".[bench]"'),
    "stock, lean rule, square bar": Side("peer_stock", "run_lean", "skfem", "pip install scikit-fem"),
    "stock, square bar": Side("peer_stock", "run", "skfem", "pip install scikit-fem"),
}


def serve(name: str) -> None:
    """Import one side and solve once for every line on standard input."""
    side = SIDES[name]
    # Meshers chat on standard output; the answers keep a channel of their own.
    answers = os.fdopen(os.dup(1), "w", buffering=1)
    os.dup2(2, 1)
    if importlib.util.find_spec(side.package) is None:
        answers.write(json.dumps({"missing": side.package}) + "\n")
        return
    work = getattr(importlib.import_module(side.module), side.function)
    answers.write(json.dumps({"ready": name}) + "\n")
    for _ in sys.stdin:
        wall, processor = time.perf_counter(), time.process_time()
        answer = work()
        took = {"wall": time.perf_counter() - wall, "processor": time.process_time() - processor}
        size = {"unknowns": answer.unknowns, "cells": answer.cells}
        answers.write(json.dumps({**took, **size, "hz": answer.frequency_hz.tolist()}) + "\n")


if __name__ == "__main__":
    sys.path.insert(1, str(Path(__file__).resolve().parents[2]))
    serve(sys.argv[1])
