"""Replays published trials and tells how far the model is from them: python tests/validation/validate.py [FILE...]

Each file in trials/ is one published trial or table:

    section      where the page shows it, one of SECTIONS
    topic        what its rows are about, one of TOPICS in signed_errors.py; a row may name another
    design       one sentence: what was done, to how many animals
    sows         sows of an arm; a replicate is then one repetition of the trial (left out for surveys: rooms of 24)
    scenario     what all arms share; `arms` what each has of its own; `coefficients` numbers the trial fixes and no key holds
    record       tables to keep, if others than the usual three
    handbook     instead of scenario and arms: the equation whose value each row reads, with the arguments in `with`
    rows         what was published, each with its kind, source, and `target` with `tolerance` (absolute) or `range`

A row is a `statistic` (a function of measures.py or measures_litter.py) of an `arm` (the first if not named; of two arms
[a, b]: a minus b), by itself or `against` another as a difference, ratio, percent or odds_ratio, `per` so many steps. Kinds: `fitted` chose a
coefficient, so agreement is fit and no proof; `restated` reads an entered number back; `independent` was not used. A row
that misses stays on the page, with a sentence why (`miss:`); one whose kind or tolerance was changed says why (`note:`).
`standard_error` is that of the published value in the row's unit, by default half of what is allowed to either side;
`sign: -1` says that a larger number is less of the topic's thing. A row that could not fail is shown but not counted
(`counted: false`, with a `note:` why).
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

import measures
import measures_litter
import numpy as np
import page
import pandas as pd
import signed_errors
import yaml

import farrowtide
from farrowtide import _core

HERE = Path(__file__).parent
PAGE = HERE.parents[1] / ".site" / "generated" / "validation.md"
SECTIONS = {
    "handbook": "Handbook equations and tables",
    "intake": "Feed and water",
    "body": "Milk, growth, body reserves, after weaning",
    "farrowing": "Farrowing and recovery",
    "piglets": "Piglets",
    "work": "Room and work",
}
MEASURES = vars(measures_litter) | vars(measures)
KINDS = tuple(page.KINDS)
TRIAL_KEYS = {
    *("title", "section", "topic", "design", "sows", "scenario", "arms", "coefficients", "record", "handbook", "rows"),
}
PUBLISHED_KEYS = {"row", "kind", "source", "target"}  # what every row has
STATISTIC_KEYS = {  # what functions of measures.py and measures_litter.py read
    *("are", "below", "beside", "by", "column", "count", "days", "from", "hours", "late", "loss", "mcal_per_kg"),
    *("mcal_per_kg_gain", "meal_h", "minutes", "of", "on", "over", "own", "parities", "parity", "patterns", "quantile"),
    *("quartile", "relative", "sow", "than", "to", "until"),
}
ROW_KEYS = (
    PUBLISHED_KEYS
    | STATISTIC_KEYS
    | {
        *("tolerance", "range", "standard_error", "topic", "sign", "counted", "miss", "note"),
        *("statistic", "arm", "against", "as", "per", "handbook", "with"),
    }
)
VERDICT_KEYS = (*sorted(PUBLISHED_KEYS), "miss", "note", "topic", "sign", "standard_error", "counted")
USUAL_TABLES = ["sow_days", "piglets", "tasks"]
USUAL_SOWS = 24
FEWEST_REPLICATES = 25


@dataclass(frozen=True)
class Effort:
    """How many sows an arm gets: at first, and at most until every row's error is small enough.

    Small enough is a share of the tolerance, and a smaller one where the verdict hangs on it.
    """

    first: int
    most: int
    error: float
    error_at_edge: float

    def replicates(self, sows: int) -> tuple[int, int]:
        return max(FEWEST_REPLICATES, self.first // sows), max(FEWEST_REPLICATES, self.most // sows)


FULL = Effort(first=600, most=120_000, error=1 / 4, error_at_edge=1 / 10)
QUICK = Effort(first=240, most=12_000, error=1, error_at_edge=1)


@dataclass(frozen=True)
class Verdict:
    """One published row beside what the model makes of it; `error` is the standard error of `simulated`."""

    row: str
    kind: str
    source: str
    target: float
    low: float
    high: float
    simulated: float
    error: float = 0.0
    spread: float | None = None  # standard deviation between repetitions of the trial, each with other animals
    miss: str | None = None
    note: str | None = None
    topic: str = ""
    sign: int = 1  # -1: a larger number is less of the topic's thing
    standard_error: float | None = None  # of `target`; None: half of what is allowed to either side
    counted: bool = True

    @property
    def published_error(self) -> float:
        return self.standard_error or (self.high - self.low) / 4

    @property
    def signed_error(self) -> float:
        """In standard errors of the published value; more than 0 is too much of the topic's thing."""
        return self.sign * (self.simulated - self.target) / self.published_error

    @property
    def passes(self) -> bool:
        return self.low <= self.simulated <= self.high

    def excess(self, effort: Effort) -> float:
        """How many times as large the error of the simulation itself is as it may be."""
        at_edge = min(abs(self.simulated - self.low), abs(self.simulated - self.high)) < 2 * self.error
        share = effort.error_at_edge if at_edge else effort.error
        return 2 * self.error / (share * (self.high - self.low))

    @property
    def precise(self) -> bool:
        return 2 * self.error <= FULL.error * (self.high - self.low)

    def surely(self, passes: bool, z: float = 4) -> bool:
        """Whether even z standard errors would not turn the verdict."""
        slack = z * self.error
        if passes:
            return self.low + slack <= self.simulated <= self.high - slack
        return not self.low - slack <= self.simulated <= self.high + slack

    @property
    def problem(self) -> str | None:
        """What has to be mended in the row's file, given that the verdict is final."""
        if not self.precise:
            return f"has an error of {self.error:.2g}, too much for its tolerance"
        if self.passes and self.miss:
            return "passes now: take its `miss` away"
        if not self.passes and not self.miss:
            return f"misses without a sentence why: {self.simulated:.4g} (allowed {self.low:g} to {self.high:g})"
        return None


@dataclass(frozen=True)
class Replayed:
    """A trial and its rows."""

    title: str
    section: str
    design: str
    verdicts: list[Verdict]


def trial_files() -> list[Path]:
    return sorted((HERE / "trials").glob("*.yaml"))


@cache
def load_trial(path: Path) -> dict[str, Any]:
    return checked(parsed(path), path.name)


def parsed(path: Path) -> dict[str, Any]:
    return yaml.safe_load(path.read_text(encoding="utf-8"))


def checked(trial: dict[str, Any], name: str) -> dict[str, Any]:
    """The trial with a topic in every row. Raises ValueError with every mistake in its keys."""
    mistakes = [f"unknown key `{key}`" for key in trial.keys() - TRIAL_KEYS]
    for row in trial["rows"]:
        row.setdefault("topic", trial.get("topic"))
        mistakes += [f"row `{row.get('row')}`: {mistake}" for mistake in _mistakes(row)]
    if mistakes:
        raise ValueError("\n".join(f"{name}: {mistake}" for mistake in mistakes))
    return trial


def _mistakes(row: dict) -> Iterator[str]:
    yield from (f"`{key}` is missing" for key in sorted(PUBLISHED_KEYS - row.keys()))
    yield from (
        f"unknown key `{key}`; a key that a new statistic reads goes into STATISTIC_KEYS"
        for key in sorted(row.keys() - ROW_KEYS, key=str)
    )
    if row["topic"] not in signed_errors.TOPICS:
        yield f"its topic is `{row['topic']}` and not one of {', '.join(signed_errors.TOPICS)}"
    if row.get("kind") not in KINDS:
        yield f"its kind is `{row.get('kind')}` and not one of {', '.join(KINDS)}"
    if ("range" in row) == ("tolerance" in row):
        yield "it needs either a `tolerance` or a `range`"
    if row.get("sign", 1) not in (1, -1):
        yield "`sign` is 1 or -1"
    if not row.get("standard_error", 1) > 0:
        yield "`standard_error` is not more than 0"
    if row.get("counted", True) is not True and not (row["counted"] is False and row.get("note")):
        yield "`counted` may only be false, and then a `note` says why"


def replay(path: Path, effort: Effort = FULL, threads: int = 0) -> Replayed:
    trial = load_trial(path)
    found = _handbook(trial) if "handbook" in trial else _simulated(trial, effort, threads)
    return Replayed(trial["title"], trial["section"], trial["design"], list(found))


def _verdict(row: dict, simulated: float, error: float = 0.0, spread: float | None = None) -> Verdict:
    low, high = row.get("range") or (row["target"] - row["tolerance"], row["target"] + row["tolerance"])
    told = {key: row[key] for key in VERDICT_KEYS if key in row}
    return Verdict(**told, low=low, high=high, simulated=simulated, error=error, spread=spread)


# --- equations --------------------------------------------------------------------------------------------------------


def _handbook(trial: dict) -> Iterator[Verdict]:
    for row, value in zip(trial["rows"], handbook_values(trial), strict=True):
        yield _verdict(row, value)


def handbook_values(trial: dict, overlay: Mapping[str, Any] = MappingProxyType({})) -> list[float]:
    """What each row's equation gives with these coefficients; those that the trial fixes stay."""
    coefficients = _core.Coefficients.built_in()
    if overlay := {**overlay, **trial.get("coefficients", {})}:
        coefficients = coefficients.with_overlay(json.dumps(overlay), trial["title"])
    names = [row.get("handbook", trial["handbook"]) for row in trial["rows"]]
    equations = [MEASURES.get(name) or getattr(_core, name) for name in names]
    return [equation(coefficients, **row["with"]) for equation, row in zip(equations, trial["rows"], strict=True)]


# --- simulations ------------------------------------------------------------------------------------------------------


def _simulated(trial: dict, effort: Effort, threads: int) -> list[Verdict]:
    """As many replicates as make every row precise, guessed from a first try, or as many as are allowed."""
    groups = trial["scenario"].get("farm", {}).get("groups", 1)
    replicates, most = effort.replicates(groups * trial.get("sows", USUAL_SOWS))
    found = _rows(trial, replicates, threads)
    while replicates < most and (excess := max(verdict.excess(effort) for verdict in found)) > 1:
        replicates = min(most, math.ceil(1.2 * excess**2 * replicates) + 1)
        found = _rows(trial, replicates, threads)
    return found


def _rows(trial: dict, replicates: int, threads: int) -> list[Verdict]:
    results = {name: run_arm(trial, name, replicates, threads) for name in trial["arms"]}
    return [_measured(row, results, repeated="sows" in trial) for row in trial["rows"]]


def run_arm(
    trial: dict, name: str, replicates: int, threads: int, overlay: Mapping[str, Any] = MappingProxyType({})
) -> farrowtide.Result:
    """One arm with these coefficients; those that the trial or the arm fixes stay."""
    base = farrowtide.load({"title": trial["title"], **trial["scenario"]})
    if "sows" in trial:
        base = base.override({"room.crates": trial["sows"]})
    arm = trial["arms"][name]
    changes = {key: value for key, value in arm.items() if key != "coefficients"}
    coefficients = {**overlay, **trial.get("coefficients", {}), **arm.get("coefficients", {})}
    scenario = base.override(changes) if changes else base
    if coefficients:
        scenario = scenario.with_coefficients(coefficients)
    record = trial.get("record", USUAL_TABLES)
    return farrowtide.run(scenario, replications=replicates, seed=1, threads=threads, record=record)


def _measured(row: dict, results: dict[str, farrowtide.Result], repeated: bool) -> Verdict:
    estimate, error, spread = propagate(*_samples(row, results))
    return _verdict(row, estimate, error, spread if repeated else None)


def influences(row: dict, results: Mapping[str, farrowtide.Result]) -> tuple[float, np.ndarray]:
    """The simulated value, and how far each replicate moves it, by the delta method: NaN for one without a value."""
    function, samples = _samples(row, results)
    kept = ~np.isnan(samples).any(axis=0)
    means = samples[:, kept].mean(axis=1)
    moved = np.full(samples.shape[1], np.nan)
    moved[kept] = _gradient(function, means) @ (samples[:, kept] - means[:, None])
    return float(function(means)), moved


def _samples(row: dict, results: Mapping[str, farrowtide.Result]) -> tuple[Callable[[np.ndarray], float], np.ndarray]:
    """How the row makes one number of its arms' means, and these arms' values by replicate."""
    measure = MEASURES[row["statistic"]]
    arms, others = arms_of(row, results)
    samples = np.array([_by_replicate(measure(results[arm], row), results[arm]) for arm in arms + others])
    return _combination(row, len(arms), bool(others)), samples


def arms_of(row: dict, arms: Iterable[str]) -> tuple[list[str], list[str]]:
    """The row's own arms, and those it is held against."""
    return _as_list(row.get("arm", next(iter(arms)))), _as_list(row.get("against", []))


def _by_replicate(values: pd.Series | np.ndarray, result: farrowtide.Result) -> np.ndarray:
    """One value per replicate; NaN where there was nothing to measure."""
    return values.reindex(range(result.replications)).to_numpy() if isinstance(values, pd.Series) else values


def _as_list(arm: str | list[str]) -> list[str]:
    return [arm] if isinstance(arm, str) else arm


def _combination(row: dict, arms: int, against_others: bool) -> Callable[[np.ndarray], float]:
    """How the row makes one number of the arms' means: its own first, then those it is held against."""

    def value(means: np.ndarray) -> float:
        first = _one_or_difference(means[:arms])
        return WAYS[row["as"]](first, _one_or_difference(means[arms:]), row.get("per", 1)) if against_others else first

    return value


def _one_or_difference(means: np.ndarray) -> float:
    return means[0] if len(means) == 1 else means[0] - means[1]


def _odds(percent: float) -> float:
    return percent / (100 - percent)


WAYS: dict[str, Callable[[float, float, float], float]] = {
    "difference": lambda a, b, per: (a - b) / per,
    "ratio": lambda a, b, per: (a / b) ** (1 / per),
    "percent": lambda a, b, per: 100 * (a / b - 1) / per,
    "odds_ratio": lambda a, b, per: (_odds(a) / _odds(b)) ** (1 / per),  # of percentages
}


def propagate(function: Callable[[np.ndarray], float], samples: np.ndarray) -> tuple[float, float, float]:
    """The function of the arms' means, its standard error, and its standard deviation between repetitions of the trial.

    By the delta method. Replicates are paired across arms, which makes the error small; a repeated trial would have
    other animals in each arm, so its spread leaves the covariance between arms out. A replicate without a value
    (nobody to measure) counts in no arm.
    """
    samples = samples[:, ~np.isnan(samples).any(axis=0)]
    means = samples.mean(axis=1)
    gradient = _gradient(function, means)
    covariance = np.atleast_2d(np.cov(samples))
    error = math.sqrt(max(0.0, gradient @ covariance @ gradient) / samples.shape[1])
    return float(function(means)), error, math.sqrt(gradient**2 @ np.diag(covariance))


def _gradient(function: Callable[[np.ndarray], float], means: np.ndarray) -> np.ndarray:
    step = 1e-6 * np.maximum(np.abs(means), 1e-3)
    return np.array(
        [(function(means + step * e) - function(means - step * e)) / (2 * step @ e) for e in np.eye(len(means))]
    )


# --- command ----------------------------------------------------------------------------------------------------------


@contextmanager
def progress(what: str, total: int) -> Iterator[Callable[[], None]]:
    """A bar where standard error is a terminal; nothing elsewhere."""
    from rich.console import Console
    from rich.progress import Progress

    console = Console(stderr=True)
    with Progress(console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task(what, total=total)
        yield lambda: bar.advance(task)


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(
        description="Replays published trials and prints the pages of rows and of signed errors."
    )
    parser.add_argument("files", nargs="*", type=Path, help="trials to replay; all of them if none is named")
    parser.add_argument(
        "--write", action="store_true", help="write the pages, .site/generated/validation.md and errors.md"
    )
    parser.add_argument("--quick", action="store_true", help="few animals, as the tests do it")
    parser.add_argument("--threads", type=int, default=0, help="0, the default: all the machine has")
    asked = parser.parse_args(arguments)
    files = asked.files or trial_files()
    replayed = []
    with progress("replaying trials", len(files)) as advance:
        for path in files:
            replayed.append(replay(path, QUICK if asked.quick else FULL, asked.threads))
            advance()
    pages = {PAGE: page.written(replayed, SECTIONS), signed_errors.PAGE: signed_errors.written(replayed)}
    print(*pages.values(), sep="\n", end="")
    problems = [f"{trial.title}: {v.row} {v.problem}" for trial in replayed for v in trial.verdicts if v.problem]
    if asked.write:
        for path, text in pages.items():
            path.write_text(text, encoding="utf-8")
        signed_errors.draw(replayed)
    elif not asked.files and not asked.quick:
        stale = [
            path.name for path, text in pages.items() if not path.exists() or text != path.read_text(encoding="utf-8")
        ]
        problems += [f"{name} says something else: write it anew with --write" for name in stale]
    rows = [verdict for trial in replayed for verdict in trial.verdicts]
    print(*problems, f"{sum(v.passes for v in rows)} of {len(rows)} rows pass", sep="\n", file=sys.stderr)
    return 1 if problems and not asked.quick else 0


if __name__ == "__main__":
    sys.exit(main())
