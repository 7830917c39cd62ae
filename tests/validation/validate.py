"""Replays published trials and tells how far the model is from them: python tests/validation/validate.py [FILE...]

Each file in trials/ is one trial: a scenario, its arms, and rows of what was published, with source and tolerance.
Kinds of rows: `fitted` chose a coefficient, so agreement is fit and no proof; `restated` reads an entered number back;
`independent` was not used. A row that misses stays on the page, with a sentence why (`miss:`).
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import measures
import measures_litter
import numpy as np
import yaml

import farrowtide
from farrowtide import _core

TRIALS = Path(__file__).parent / "trials"
MEASURES = vars(measures_litter) | vars(measures)
FEWEST_ROOMS, MOST_ROOMS = 25, 400
Z_95 = 1.96


@dataclass(frozen=True)
class Verdict:
    """One published row beside what the model makes of it; `error` is the standard error of `simulated`."""

    trial: str
    row: str
    kind: str
    source: str
    target: float
    low: float
    high: float
    simulated: float
    error: float
    rooms: int
    miss: str | None

    @property
    def passes(self) -> bool:
        return self.low <= self.simulated <= self.high

    @property
    def precise(self) -> bool:
        """The error of the simulation itself is below a quarter of the tolerance."""
        return self.error <= (self.high - self.low) / 8


def trial_files() -> list[Path]:
    return sorted(TRIALS.glob("*.yaml"))


@cache
def load_trial(path: Path) -> dict[str, Any]:
    return yaml.safe_load(path.read_text(encoding="utf-8"))


def verdicts(path: Path) -> list[Verdict]:
    trial = load_trial(path)
    return list(_handbook(trial) if "handbook" in trial else _simulated(trial))


def _verdict(trial: dict, row: dict, simulated: float, error: float, rooms: int) -> Verdict:
    low, high = row.get("range") or (row["target"] - row["tolerance"], row["target"] + row["tolerance"])
    return Verdict(
        trial["title"],
        row["row"],
        row["kind"],
        row["source"],
        row["target"],
        low,
        high,
        simulated,
        error,
        rooms,
        row.get("miss"),
    )


def _handbook(trial: dict) -> Iterator[Verdict]:
    equation = getattr(_core, trial["handbook"])
    for row in trial["rows"]:
        yield _verdict(trial, row, equation(_core.Coefficients.built_in(), **row["with"]), 0.0, 0)


def _simulated(trial: dict) -> Iterator[Verdict]:
    """Adds rooms until every row is precise enough, or there are enough of them to say that it will not be."""
    rooms = FEWEST_ROOMS
    while True:
        results = _run_arms(trial, rooms)
        found = [_measured(trial, row, results, rooms) for row in trial["rows"]]
        if all(verdict.precise for verdict in found) or rooms >= MOST_ROOMS:
            return iter(found)
        rooms *= 2


def _run_arms(trial: dict, rooms: int) -> dict[str, farrowtide.Result]:
    base = farrowtide.load({"title": trial["title"], **trial["scenario"]})
    record = ["sow_days", "piglets", "tasks"]
    return {
        name: farrowtide.run(base.override(arm) if arm else base, replications=rooms, seed=1, record=record)
        for name, arm in trial["arms"].items()
    }


def _measured(trial: dict, row: dict, results: dict[str, farrowtide.Result], rooms: int) -> Verdict:
    measure = MEASURES[row["statistic"]]
    arm = row.get("arm") or next(iter(results))
    values = measure(results[arm], row)
    if "against" in row:
        others = measure(results[row["against"]], row)
        return _verdict(trial, row, *_contrast(values, others, row["as"]), rooms)
    return _verdict(trial, row, float(values.mean()), _standard_error(values), rooms)


def _contrast(values: np.ndarray, others: np.ndarray, way: str) -> tuple[float, float]:
    """Difference or ratio of means with its standard error, rooms paired (ratio: by the delta method)."""
    if way == "difference":
        return float((values - others).mean()), _standard_error(values - others)
    ratio = values.mean() / others.mean()
    error = _standard_error((values - ratio * others) / others.mean())
    return (float(ratio), error) if way == "ratio" else (float(100 * (ratio - 1)), 100 * error)


def _standard_error(values: np.ndarray) -> float:
    return float(values.std(ddof=1) / math.sqrt(len(values)))


def table(found: list[Verdict]) -> str:
    lines = [
        "| trial | row | published | allowed | simulated | 95 % interval | verdict | kind | source |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for v in found:
        interval = f"{v.simulated - Z_95 * v.error:.3g} to {v.simulated + Z_95 * v.error:.3g}" if v.rooms else "exact"
        verdict = "pass" if v.passes else f"**miss**: {v.miss}"
        lines.append(
            f"| {v.trial} | {v.row} | {v.target:g} | {v.low:.4g} to {v.high:.4g} | {v.simulated:.4g} | {interval} | {verdict} | {v.kind} | {v.source} |"
        )
    return "\n".join(lines)


def summary(found: list[Verdict]) -> str:
    parts = []
    for kind in ("fitted", "restated", "independent"):
        rows = [v for v in found if v.kind == kind]
        if rows:
            parts.append(f"{kind} {sum(v.passes for v in rows)} of {len(rows)}")
    return "rows that pass: " + ", ".join(parts)


def main(names: list[str]) -> int:
    found = [verdict for path in (map(Path, names) if names else trial_files()) for verdict in verdicts(path)]
    print(table(found), summary(found), sep="\n\n")
    return 0 if all(v.passes or v.miss for v in found) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
