"""Whether memory grows with the rooms that were simulated, of the engine, of Python policies and of what they return.

    python tests/soak/leaks.py --rooms 10000

simulates rooms of one crate and forgets them, and ends with 1 if the memory of the process grows after the first tenth.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
import warnings

import farrowtide
from farrowtide import policies
from farrowtide.engine.result import ALL_TABLES

_BLOCK = 100
_ALLOWED_MB = 8  # of the allocator; a kB lost in each of 10,000 rooms is more


class Often(policies.Handling):
    """Asked every day, and answers with new objects."""

    name = "often"

    def share_of_processing(self, view: policies.HandlingView) -> float:
        """A third on each of three days."""
        return sum([1 / 3]) if view.lactation_day in {3, 4, 5} else 0.0


def resident_mb() -> float:
    """The memory of this process that is in use."""
    with open("/proc/self/statm") as statm:
        return int(statm.read().split()[1]) * os.sysconf("SC_PAGESIZE") / 2**20


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rooms", type=int, default=10_000)
    rooms = parser.parse_args().rooms
    kinds = ({}, {"handling": {"kind": "often"}})
    scenarios = [farrowtide.load({"title": "t", "room": {"crates": 1}, **kind}, policies=[Often]) for kind in kinds]
    warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)
    seen = []
    for first in range(0, rooms, _BLOCK):
        scenario = scenarios[first // _BLOCK % len(scenarios)]
        result = farrowtide.run(scenario, replications=_BLOCK, first_replicate=first, threads=2, record=ALL_TABLES)
        assert len(result.tables["tasks"]) > _BLOCK
        del result
        gc.collect()
        seen.append(resident_mb())
    early, late = max(seen[: max(1, len(seen) // 10)]), seen[-1]
    print(f"{rooms:,} rooms: {early:.1f} MB after the first tenth, {late:.1f} MB at the end")
    return int(late - early > _ALLOWED_MB)


if __name__ == "__main__":
    sys.exit(main())
