"""Fits coefficients to all fitted rows at once and proposes: python tests/validation/fit.py [--write]

fit.yaml names the coefficients that may move and freezes the rows: file and name of every counted `fitted` row. Other
rows are never read. What is minimised is the sum over rows of ((simulated - published) / standard error)^2, plus for each
coefficient the square of its move, in quarters of its range, over what its grade lets it move (PRIOR_SD). Coefficients
stay in their ranges. Every evaluation uses the same seeds, so that changes are differences of the same animals and need
few; the level they start from is simulated once with many (LEVEL times as many), and a row whose level is still vague
weighs less by that.

The steps are Gauss-Newton with one Jacobian of central differences; each is simulated before it counts. A derivative
under NOISE of its own standard errors is taken for 0. Numbers the files fix (`coefficients` of a trial, the level of a
herd) stay fixed: after coefficients were changed, `validate` tells which levels have to be set again.

It changes no coefficient. It prints what it would move and what that does to the rows, and writes the coefficients to
results/fit/proposal.yaml, an overlay for `--coefficients`. Evaluations are kept in results/fit/: a run that was stopped
goes on where it was.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import math
import os
import signal
import sys
import warnings
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from functools import cache
from multiprocessing import get_context
from pathlib import Path
from statistics import fmean
from typing import Any

import measures
import measures_litter
import numpy as np
import pictures
import signed_errors
import validate
import yaml
from scipy.optimize import lsq_linear

from farrowtide import _core
from farrowtide.whole_files import write_text

HERE = Path(__file__).parent
CHOICE = HERE / "fit.yaml"
KEPT = HERE.parents[1] / "results" / "fit"
PAGE = pictures.GENERATED / "fit.md"
PRIOR_SD = {"A": 0.5, "B": 1.0, "C": 2.0}  # quarters of the range
STEP = 0.5  # of the differences, in quarters of the range
NOISE = 2.0
LEVEL = 12
LEAST_REPLICATES = 10  # as many as jackknifed statistics have groups
SEED = 1
DIGITS = 3  # of a proposed value
SIMULATION_KEYS = validate.STATISTIC_KEYS | {"row", "statistic", "arm", "against", "as", "per", "handbook", "with"}


# --- what is fitted ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Coefficient:
    """One number that may move: a coefficient, or an entry of a table (`path[0]`). A unit is a quarter of its range."""

    name: str
    path: str
    index: int | None
    value: float
    low: float
    high: float
    grade: str

    @property
    def unit(self) -> float:
        return (self.high - self.low) / 4

    def at(self, move: float) -> float:
        return min(max(self.value + move * self.unit, self.low), self.high)

    def rounded(self, move: float) -> float:
        """As it is proposed: the present value if it does not move, else few digits."""
        value = self.at(move)
        if abs(value - self.value) < 0.01 * self.unit:
            return self.value
        return min(max(float(f"{value:.{DIGITS}g}"), self.low), self.high)


@dataclass(frozen=True)
class Row:
    """A published value with its standard error."""

    file: str
    name: str
    topic: str
    sign: int
    target: float
    error: float


@dataclass(frozen=True)
class Simulated:
    """What the rows came to, in their order, and how far each replicate moved each."""

    values: np.ndarray
    influences: list[np.ndarray]


def choice() -> tuple[list[str], dict[str, list[str]]]:
    """The names of the coefficients, and the names of the rows by file."""
    chosen = yaml.safe_load(CHOICE.read_text(encoding="utf-8"))
    return chosen["coefficients"], chosen["rows"]


def coefficient(name: str) -> Coefficient:
    path, _, index = name.removesuffix("]").partition("[")
    found = _core.Coefficients.built_in().find(path)
    if (len(found.value) > 1) != bool(index):
        raise ValueError(f"{name}: a table needs the number of its entry, as in {path}[0]; a single number none")
    i = int(index or 0)
    if not found.low[i] < found.high[i]:
        raise ValueError(f"{name}: its range holds one value only")
    return Coefficient(
        name, path, int(index) if index else None, found.value[i], found.low[i], found.high[i], found.grade
    )


def only_fitted(trial: Mapping[str, Any], names: Sequence[str], file: str) -> dict[str, Any]:
    """The trial with these rows alone, and the arms they need. Of other rows nothing but name and kind is read."""
    by_name = {row["row"]: row for row in trial["rows"]}
    for name in names:
        if name not in by_name:
            raise ValueError(f"{file}: no row `{name}`")
        if (kind := by_name[name]["kind"]) != "fitted":
            raise ValueError(f"{file}: row `{name}` is {kind}; only fitted rows may be fitted")
        if not by_name[name].get("counted", True):
            raise ValueError(f"{file}: row `{name}` is not counted")
    kept = validate.checked({**trial, "rows": [dict(by_name[name]) for name in names]}, file)
    if "arms" in kept:
        needed = {arm for row in kept["rows"] for arms in validate.arms_of(row, kept["arms"]) for arm in arms}
        first, *_ = kept["arms"]  # that of a row without `arm`
        kept["arms"] = {name: arm for name, arm in kept["arms"].items() if name in needed or name == first}
    return kept


def load(rows: Mapping[str, Sequence[str]], parsed: Callable[[Path], Any] = validate.parsed) -> list[dict[str, Any]]:
    """The trials that the rows are of, each with these rows alone."""
    return [only_fitted(parsed(HERE / "trials" / file), names, file) | {"file": file} for file, names in rows.items()]


def rows_of(trials: Sequence[Mapping[str, Any]]) -> list[Row]:
    found = []
    for trial in trials:
        for row in trial["rows"]:
            verdict = validate._verdict(row, simulated=math.nan)
            told = (trial["file"], verdict.row, verdict.topic, verdict.sign, verdict.target, verdict.published_error)
            found.append(Row(*told))
    return found


def overlay(coefficients: Sequence[Coefficient], values: Sequence[float]) -> dict[str, Any]:
    """By path; what keeps its built-in value is left out."""
    changed: dict[str, Any] = {}
    for each, value in zip(coefficients, values, strict=True):
        if value == each.value:
            continue
        if each.index is None:
            changed[each.path] = value
        else:
            table = changed.setdefault(each.path, list(_core.Coefficients.built_in().find(each.path).value))
            table[each.index] = value
    return changed


# --- simulating, and keeping what was simulated -----------------------------------------------------------------------


def evaluate(trial: Mapping[str, Any], changed: Mapping[str, Any], sows: int) -> list[tuple[float, list[float]]]:
    """Value and influences of each row of a trial with these coefficients; of the kept ones, if there are any."""
    kept = KEPT / f"{_key(trial, changed, sows)}.json"
    if kept.exists():
        return json.loads(kept.read_text(encoding="utf-8"))
    if "handbook" in trial:
        found: list[tuple[float, list[float]]] = [(value, []) for value in validate.handbook_values(trial, changed)]
    else:
        replicates = max(LEAST_REPLICATES, math.ceil(sows / trial.get("sows", validate.USUAL_SOWS)))
        results = {name: validate.run_arm(trial, name, replicates, 1, changed) for name in trial["arms"]}
        found = [
            (value, moved.tolist()) for value, moved in (validate.influences(row, results) for row in trial["rows"])
        ]
    KEPT.mkdir(parents=True, exist_ok=True)
    write_text(kept, json.dumps(found))
    return found


def _key(trial: Mapping[str, Any], changed: Mapping[str, Any], sows: int) -> str:
    """Of all that the values depend on: not of what was published."""
    rows = [{key: value for key, value in row.items() if key in SIMULATION_KEYS} for row in trial["rows"]]
    told = [{**trial, "rows": rows, "design": "", "title": "", "topic": ""}, changed, sows, SEED, _engine()]
    return hashlib.sha256(json.dumps(told, sort_keys=True, default=str).encode()).hexdigest()[:24]


@cache
def _engine() -> str:
    """Of the engine and the statistics, as they are now."""
    files = (_core.__file__, measures.__file__, measures_litter.__file__, validate.__file__)
    return hashlib.sha256(b"".join(Path(str(file)).read_bytes() for file in files)).hexdigest()


def _in_worker(*asked: Any) -> list[tuple[float, list[float]]]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return evaluate(*asked)


def _ignore_interrupts() -> None:
    """Ctrl-C goes to all processes; the first one ends the others once they have kept what they are at."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


class Simulator:
    """Evaluates trials at several sets of coefficients, with so many sows of an arm, in so many processes."""

    def __init__(self, trials: Sequence[Mapping[str, Any]], sows: int, workers: int) -> None:
        self._trials, self._sows, self._workers = trials, sows, workers

    def level(self) -> Simulated:
        """The rows as they are, with little noise."""
        return Simulator(self._trials, LEVEL * self._sows, self._workers)([{}])[0]

    def __call__(self, sets: Sequence[Mapping[str, Any]]) -> list[Simulated]:
        """Where the longest trials are begun first, no process waits for another at the end."""
        pool = ProcessPoolExecutor(self._workers, get_context("spawn"), _ignore_interrupts)
        try:
            places = [(s, t) for t in self._longest_first() for s in range(len(sets))]
            tasks = {pool.submit(_in_worker, self._trials[t], sets[s], self._sows): (s, t) for s, t in places}
            found = {}
            with validate.progress("simulating trials", len(tasks)) as advance:
                for task in as_completed(tasks):
                    found[tasks[task]] = task.result()
                    advance()
        finally:
            pool.shutdown(wait=True, cancel_futures=True)
        by_set = [[row for t in range(len(self._trials)) for row in found[s, t]] for s in range(len(sets))]
        return [Simulated(np.array([v for v, _ in rows]), [np.array(moved) for _, moved in rows]) for rows in by_set]

    def _longest_first(self) -> list[int]:
        def cost(t: int) -> float:
            trial = self._trials[t]
            return len(trial.get("arms", ())) * max(self._sows, LEAST_REPLICATES * trial.get("sows", 1))

        return sorted(range(len(self._trials)), key=cost, reverse=True)


# --- least squares ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Jacobian:
    """Change of each row's residual per unit of each coefficient, and its standard error."""

    slopes: np.ndarray
    errors: np.ndarray

    @property
    def significant(self) -> np.ndarray:
        return np.abs(self.slopes) > NOISE * self.errors

    @property
    def kept(self) -> np.ndarray:
        return np.where(self.significant, self.slopes, 0.0)


@dataclass(frozen=True)
class Proposal:
    """Moves in units, the rows before and after, and how well the rows fix each coefficient."""

    coefficients: list[Coefficient]
    rows: list[Row]
    values: list[float]
    before: np.ndarray  # residuals
    after: np.ndarray
    errors: np.ndarray  # of the moves, in units, from the rows and the prior
    jacobian: Jacobian

    @property
    def moves(self) -> np.ndarray:
        return np.array([(v - c.value) / c.unit for c, v in zip(self.coefficients, self.values, strict=True)])


Evaluate = Callable[[Sequence[Mapping[str, Any]]], Sequence[Simulated]]


def propose(
    coefficients: list[Coefficient], rows: list[Row], simulate: Evaluate, level: Simulated, steps: int = 2
) -> Proposal:
    targets, errors = np.array([r.target for r in rows]), np.array([r.error for r in rows])
    prior_sd = np.array([PRIOR_SD[c.grade] for c in coefficients])
    now = np.zeros(len(coefficients))

    def residuals(simulated: Simulated) -> np.ndarray:
        """The level, changed by what changed from the base on the same animals."""
        return (level.values + simulated.values - base.values - targets) / errors

    def values(moves: np.ndarray) -> list[float]:
        return [c.rounded(move) for c, move in zip(coefficients, moves, strict=True)]

    def loss(r: np.ndarray, moves: np.ndarray) -> float:
        return float(((weights * r) ** 2).sum() + ((moves / prior_sd) ** 2).sum())

    base, jacobian = _differentiated(coefficients, errors, simulate)
    before = residuals(base)
    vague = np.array([_error(moved) for moved in level.influences]) / errors
    weights = 1 / np.sqrt(1 + vague**2)
    slopes = jacobian.kept
    design = np.vstack([weights[:, None] * slopes, np.diag(1 / prior_sd)])
    bounds = tuple(np.array([(getattr(c, end) - c.value) / c.unit for c in coefficients]) for end in ("low", "high"))
    moves, r, best = now, before, (loss(before, now), now, before)
    for _ in range(steps):
        wanted = np.concatenate([weights * (slopes @ moves - r), np.zeros(len(moves))])
        solved = lsq_linear(design, wanted, (bounds[0] - 1e-9, bounds[1] + 1e-9)).x
        proposed = values(solved)
        moves = np.array([(v - c.value) / c.unit for c, v in zip(coefficients, proposed, strict=True)])
        r = residuals(simulate([overlay(coefficients, proposed)])[0])
        best = min(best, (loss(r, moves), moves, r), key=lambda each: each[0])
    uncertain = np.sqrt(np.diag(np.linalg.inv(design.T @ design)))
    return Proposal(coefficients, rows, values(best[1]), before, best[2], uncertain, jacobian)


def _differentiated(
    coefficients: list[Coefficient], errors: np.ndarray, simulate: Evaluate
) -> tuple[Simulated, Jacobian]:
    """The rows as they are, and their derivatives: central differences, one-sided where a range ends."""
    sides = [[c.at(side * STEP) for side in (1, -1)] for c in coefficients]
    sets: list[dict[str, Any]] = [{}]
    for j, c in enumerate(coefficients):
        sets += [overlay([c], [value]) for value in sides[j]]
    base, *found = simulate(sets)
    slopes, slope_errors = (np.zeros((len(errors), len(coefficients))) for _ in range(2))
    for j, c in enumerate(coefficients):
        up, down = found[2 * j], found[2 * j + 1]
        apart = (sides[j][0] - sides[j][1]) / c.unit * errors
        slopes[:, j] = (up.values - down.values) / apart
        slope_errors[:, j] = [
            _error(u - d) / width for u, d, width in zip(up.influences, down.influences, apart, strict=True)
        ]
    return base, Jacobian(slopes, slope_errors)


def _error(differences: np.ndarray) -> float:
    """The standard error of a mean of differences between paired replicates; 0 where nothing is drawn."""
    differences = differences[~np.isnan(differences)]
    return float(differences.std(ddof=1) / math.sqrt(len(differences))) if len(differences) > 1 else 0.0


# --- telling ----------------------------------------------------------------------------------------------------------

INTRODUCTION = """\
<!-- Written by `python tests/validation/fit.py --write`. -->
# A fit to all fitted rows at once

A proposal of `./quickstart fit`, for a person to judge: {coefficients} coefficients, {rows} fitted rows of {trials} trials, each
row weighed by the standard error of its published value. Independent and restated rows are not read. A coefficient
stays in its range, and pays for its move by its grade: one of grade A is held to {A:g} of a quarter of its range, B to {B:g}, C to {C:g}
(one standard deviation each). *Known to* is its standard error from rows and grade together, if the model were linear.
{kept:.0f} % of the derivatives stand out of their noise; the others count as 0.
"""


def told(p: Proposal) -> str:
    counts = {"coefficients": len(p.coefficients), "rows": len(p.rows), "trials": len({r.file for r in p.rows})}
    kept = 100 * float(p.jacobian.significant.mean())
    lines = [INTRODUCTION.format(**counts, **PRIOR_SD, kept=kept), *_coefficient_lines(p), "", *_sum_lines(p), ""]
    return "\n".join([*lines, *_topic_lines(p), "", *_row_lines(p), ""])


def _coefficient_lines(p: Proposal) -> list[str]:
    lines = [
        "| coefficient | from | to | range | grade | quarters of the range | known to |",
        "|---|---|---|---|---|---|---|",
    ]
    order = sorted(range(len(p.values)), key=lambda j: -abs(p.moves[j]))
    for c, to, move, error in ((p.coefficients[j], p.values[j], p.moves[j], p.errors[j]) for j in order):
        end = " (end)" if to in (c.low, c.high) and to != c.value else ""
        moved = f"**{to:g}**{end}" if to != c.value else "stays"
        cells = [
            f"`{c.name}`",
            f"{c.value:g}",
            moved,
            f"{c.low:g} to {c.high:g}",
            c.grade,
            f"{round(move, 2) + 0.0:+.2f}",
        ]
        lines.append(f"| {' | '.join(cells)} | {error * c.unit:.2g} |")
    return lines


def _sum_lines(p: Proposal) -> list[str]:
    def counted(r: np.ndarray) -> str:
        return f"{r @ r:.0f} | {np.sqrt(np.mean(r**2)):.2f} | {np.mean(np.abs(r) <= 2) * 100:.0f} %"

    head = ["| all rows | sum of squares | root mean square [SE] | within 2 SE |", "|---|---|---|---|"]
    return [*head, f"| before | {counted(p.before)} |", f"| after | {counted(p.after)} |"]


def _topic_lines(p: Proposal) -> list[str]:
    lines = ["| topic | rows | mean signed error before | after |", "|---|---|---|---|"]
    for topic in signed_errors.TOPICS:
        of_topic = [i for i, row in enumerate(p.rows) if row.topic == topic]
        if of_topic:
            means = (fmean(p.rows[i].sign * r[i] for i in of_topic) for r in (p.before, p.after))
            lines.append(f"| {topic.replace('_', ' ')} | {len(of_topic)} | {' | '.join(f'{m:+.2f}' for m in means)} |")
    return lines


def _row_lines(p: Proposal) -> list[str]:
    lines = [
        "Residuals of the rows: simulated less published, in standard errors of the published value.\n",
        "| trial | row | published | before | after |",
        "|---|---|---|---|---|",
    ]
    for row, before, after in zip(p.rows, p.before, p.after, strict=True):
        bold = f"**{after:+.1f}**" if abs(after) > max(2.0, abs(before)) else f"{after:+.1f}"
        lines.append(f"| {Path(row.file).stem} | {row.name} | {row.target:g} | {before:+.1f} | {bold} |")
    return lines


# --- command ----------------------------------------------------------------------------------------------------------


def freeze() -> None:
    """Writes the counted fitted rows of all trials into fit.yaml, under the coefficients."""
    rows = {path.name: fitted for path in validate.trial_files() if (fitted := fitted_rows(path))}
    head = CHOICE.read_text(encoding="utf-8").partition("\nrows:\n")[0]
    text = yaml.safe_dump({"rows": rows}, allow_unicode=True, width=1000, sort_keys=False)
    write_text(CHOICE, f"{head}\n{text}")


def fitted_rows(path: Path) -> list[str]:
    rows = validate.load_trial(path)["rows"]
    return [row["row"] for row in rows if row["kind"] == "fitted" and row.get("counted", True)]


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Fits coefficients to all fitted rows at once and prints a proposal.")
    parser.add_argument("--write", action="store_true", help=f"write the page, .site/generated/{PAGE.name}")
    parser.add_argument(
        "--freeze", action="store_true", help="write the fitted rows of all trials into fit.yaml, and end"
    )
    parser.add_argument(
        "--sows", type=int, default=600, help=f"sows of an arm, {LEVEL} times as many for the level [600]"
    )
    parser.add_argument("--steps", type=int, default=2, help="steps that are tried [2]")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1, help="processes [all the machine has]")
    parser.add_argument("--move", nargs="+", metavar="NAME", help="coefficients, instead of those in fit.yaml")
    parser.add_argument("--trials", nargs="+", metavar="FILE", help="only the rows of these files")
    asked = parser.parse_args(arguments)
    if asked.freeze:
        freeze()
        return 0
    names, rows = choice()
    if asked.trials:
        rows = {name: rows[name] for name in (Path(file).name for file in asked.trials)}
    trials = load(rows)
    coefficients = [coefficient(name) for name in asked.move or names]
    try:
        simulator = Simulator(trials, asked.sows, asked.workers)
        p = propose(coefficients, rows_of(trials), simulator, simulator.level(), asked.steps)
    except KeyboardInterrupt:
        print(
            f"stopped; {len(list(KEPT.glob('*.json')))} evaluations are kept in {KEPT}, and the next run goes on",
            file=sys.stderr,
        )
        return 130
    text = told(p)
    print(text, end="")
    proposal = KEPT / "proposal.yaml"
    write_text(proposal, yaml.safe_dump(overlay(coefficients, p.values), sort_keys=False))
    print(f"The moved coefficients as an overlay: {proposal}", file=sys.stderr)
    if asked.write:
        PAGE.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
