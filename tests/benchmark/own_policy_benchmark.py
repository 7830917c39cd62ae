"""A built-in rule beside the same rule in Python: python own_policy_benchmark.py

The two run in turn, five times each, in one process on one machine. What counts is the ratio.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

import farrowtide

sys.path.insert(0, str(Path(__file__).parents[1] / "python"))

from test_own_policies import TWINS

ROOMS, TURNS = 40, 5


def seconds(scenario: farrowtide.Scenario, threads: int) -> float:
    start = time.perf_counter()
    farrowtide.run(scenario, replications=ROOMS, threads=threads, record=["tasks"])
    return time.perf_counter() - start


def main() -> None:
    print(f"{'rule of the family':20} {'threads':>7} {'ms a room':>10} {'in Python':>10} {'ratio':>6}")
    for own, family, keys, built_in_keys in TWINS:
        built_in = farrowtide.load({"title": family, family: built_in_keys})
        python = farrowtide.load({"title": family, family: keys}, policies=[own])
        for threads in sorted({1, os.cpu_count() or 1}):
            turns = [(seconds(built_in, threads), seconds(python, threads)) for _ in range(TURNS)]
            ours, theirs = (min(times) * 1000 / ROOMS for times in zip(*turns, strict=True))
            print(f"{family:20} {threads:7} {ours:10.2f} {theirs:10.2f} {theirs / ours:6.2f}")


if __name__ == "__main__":
    main()
