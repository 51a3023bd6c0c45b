"""The live page against one quick solve of the same model, in one run.

Run from the top folder:

    PYTHONPATH=tests/helpers python tests/benchmarks/bench_page.py

Prints the median time from a moved slider to the new answer in the browser over the median time of one
solve of the same first mesh, how many requests 50 fast drags leave under way, and the memory of solver
and browser page over many updates. Other work on the machine slows both sides alike.
"""

from __future__ import annotations

import argparse
import statistics
import time
from pathlib import Path
from typing import Any

from browser import browser, opened, until
from live import serving

from stickout.cli.live.desk import Desk
from stickout.fem.setup.file import read_tables, setup_from_tables
from stickout.fem.study.study import levels_of, solve_level

EXAMPLES = Path(__file__).parents[2] / "examples"
SETUPS = ("boring_bar_16mm", "turning_tool_12mm", "inch_bar")
DRAG = """([key, value]) => new Promise((done) => {
  const slider = document.querySelector(`input[data-key='${key}']`), before = document.body.dataset.answered;
  const began = performance.now();
  const look = () => {
    if (document.body.dataset.answered !== before) done(performance.now() - began);
    else setTimeout(look, 1);
  };
  slider.value = value;
  slider.dispatchEvent(new Event("input", { bubbles: true }));
  look();
})"""
FAST = """([key, values]) => {
  const slider = document.querySelector(`input[data-key='${key}']`);
  let at = 0;
  return new Promise((done) => {
    const next = () => {
      slider.value = values[at++];
      slider.dispatchEvent(new Event("input", { bubbles: true }));
      if (at < values.length) setTimeout(next, 8); else done();
    };
    next();
  });
}"""
FULL = "/^notes to/.test(document.getElementById('full-words').textContent)"
KEY = "bar.overhang"


def overhangs(name: str, count: int) -> list[float]:
    """Return lengths to drag through, in the file's units, all of them different from their neighbours."""
    start = float(read_tables(EXAMPLES / f"{name}.toml")["bar"]["overhang"])
    step = start / 64
    return [start + step * (1 + at % 16) for at in range(count)]


def timed_solve(name: str, overhang: float) -> float:
    """Return the seconds one solve of the first mesh takes."""
    tables = read_tables(EXAMPLES / f"{name}.toml")
    setup = setup_from_tables(tables, changes=[f"{KEY}={overhang!r}"]).setup
    began = time.perf_counter()
    solve_level(setup, levels_of(setup).fineness[0])
    return time.perf_counter() - began


def resident_mb(pid: int) -> float:
    """Return the memory of a process [MB], Linux only."""
    text = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    return int(text.split("VmRSS:")[1].split()[0]) / 1000


def heap_mb(page: Any) -> float:
    """Return the memory of the page's own objects after a clean-up [MB]."""
    session = page.context.new_cdp_session(page)
    session.send("HeapProfiler.collectGarbage")
    return float(session.send("Runtime.getHeapUsage")["usedSize"]) / 1e6


def measure(name: str, chromium: Any, drags: int) -> None:
    """Print one set-up's figures."""
    with serving(Desk(EXAMPLES / f"{name}.toml", EXAMPLES)) as served:
        page, watch = opened(chromium, served.address)
        until(page, FULL)
        solves, answers = [], []
        for value in overhangs(name, drags):
            solves.append(1e3 * timed_solve(name, value))
            answers.append(page.evaluate(DRAG, [KEY, value]))
        until(page, FULL)
        asked = len(watch.requests)
        watch.most = watch.under_way
        page.evaluate(FAST, [KEY, overhangs(name, 50)])
        until(page, FULL)
        solve, answer = statistics.median(solves), statistics.median(answers)
        sent = f"{len(watch.requests) - asked} requests, at most {watch.most} under way"
        times = f"solve {solve:4.0f} ms, slider to answer {answer:4.0f} ms, ratio {answer / solve:4.2f}"
        print(f"{name:20} {times}; 50 fast drags: {sent}")
        page.context.close()


def memory(name: str, chromium: Any, updates: int) -> None:
    """Print how memory goes over many updates."""
    with serving(Desk(EXAMPLES / f"{name}.toml", EXAMPLES)) as served:
        page, _ = opened(chromium, served.address)
        until(page, FULL)
        for at, value in enumerate(overhangs(name, updates), start=1):
            page.evaluate(DRAG, [KEY, value])
            if at in (updates // 10, updates // 2, updates):
                solver = resident_mb(served.desk.quick.pid or 0)
                print(f"after {at:4} updates: solver {solver:6.1f} MB, page {heap_mb(page):5.2f} MB")
        page.context.close()


def main() -> None:
    """Measure and print."""
    reader = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    reader.add_argument("--drags", type=int, default=25)
    reader.add_argument("--updates", type=int, default=500)
    wishes = reader.parse_args()
    with browser() as chromium:
        for name in SETUPS:
            measure(name, chromium, wishes.drags)
        memory(SETUPS[0], chromium, wishes.updates)


if __name__ == "__main__":
    main()
