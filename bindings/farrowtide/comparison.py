"""Alternatives compared on the same animals: the difference in each replicate, its interval, and a plain verdict.

Every alternative runs on the same seed and replicate numbers, hence on the same sows, litters and weather; only what
the alternative causes differs. The replicate (one room) is the unit: `n` counts rooms, never sows or piglets.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from scipy import special

from farrowtide import _core, provenance
from farrowtide import outputs as declared
from farrowtide.intervals import CONFIDENCE, column_means, interval
from farrowtide.labour import hours_in_use, task_counts
from farrowtide.running import Interrupted, Result, run
from farrowtide.scenario import Scenario

ONLY_CASE = "as written"
NO_DIFFERENCE = "no difference"
NO_CLEAR_DIFFERENCE = "no clear difference"
NEGLIGIBLE = "clear but negligible"
TOO_FEW = "too few replications"
_RECORDED = ("sow_days", "tasks", "rooms")
_SMALLEST_BLOCK = 20  # replicates run before the next alternative's turn; what Ctrl-C loses at most


@dataclass(frozen=True)
class Comparison:
    """What `compare` found, as tidy data frames.

    differences  one row per case, output and alternative: the alternative minus the reference, paired by replicate.
                 `ci_low`, `ci_high`: 95 % t interval of this difference alone; `p_holm`: adjusted for all outputs of
                 its group (headlines, further, intake by parity, work by task) and all alternatives of its case.
                 `verdict`: "higher" or "lower", with "(better)" or "(worse)" where the output declares it, where
                 `p_holm` is below 0.05; "clear but negligible" where such a difference is smaller than what the output
                 declares as `negligible` (our own choice); "no clear difference" elsewhere; "no difference" where
                 every pair is equal.
    means        one row per case, alternative and output: mean over rooms, standard deviation between rooms, interval.
    replicates   one row per case, alternative and replicate: every declared output.
    intake_days  one row per case, alternative, replicate, parity class and day: feed eaten [kg] per sow, sows.
    farrowings   one row per case, alternative and sow: duration [min].
    task_counts  one row per case, alternative, replicate and task: times asked, done late, left undone.
    staff_hours  one row per case, alternative, replicate and hour of the day: minutes worked and on duty.
    """

    scenario: Scenario
    reference: str
    cases: list[str]
    alternatives: list[str]
    outputs: list[declared.Output]
    seed: int
    wanted_replications: int
    replications: int
    differences: pd.DataFrame
    means: pd.DataFrame
    replicates: pd.DataFrame
    intake_days: pd.DataFrame
    farrowings: pd.DataFrame
    task_counts: pd.DataFrame
    staff_hours: pd.DataFrame
    policies: dict[str, dict[str, str]]  # alternative -> family -> what its policy does, in the first case
    provenance: dict[str, Any]

    @property
    def interrupted(self) -> bool:
        """Whether it was stopped before all replications were done."""
        return self.replications < self.wanted_replications

    def write_report(self, path: str | os.PathLike[str], *, units: str = "si") -> Path:
        """Writes report.html, differences.csv and outputs.csv into a folder; returns the report's path.

        A path that ends in .html names the report itself; the tables go beside it. `units`: "si" or "us", on the page.
        """
        from farrowtide.report import write_report

        return write_report(self, Path(path), units=units)

    def plot_differences(self, case: str | None = None) -> Any:
        """The headline differences of a case (None: the first) with their intervals, a panel per output."""
        from farrowtide import figures

        return figures.headline_differences(self, self.cases[0] if case is None else case)

    def plot_intake(self) -> Any:
        """Feed eaten by lactation day, for each case, parity class and alternative."""
        from farrowtide import figures

        return figures.intake(self)

    def plot_farrowings(self) -> Any:
        """Share of farrowings that last longer than so many hours."""
        from farrowtide import figures

        return figures.farrowings(self)

    def plot_work(self) -> Any:
        """Staff minutes per litter by task."""
        from farrowtide import figures

        return figures.work(self)

    def plot_utilisation(self) -> Any:
        """Share of the time on duty that is worked, by hour of the day."""
        from farrowtide import figures

        return figures.utilisation(self)


def compare(
    scenario: Scenario,
    alternatives: Mapping[str, Mapping[str, Any]] | None = None,
    *,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    outputs: Sequence[str] | None = None,
    reference: str | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Comparison:
    """Compares alternatives inside each case of a scenario, on the same animals.

    `alternatives`: name -> {dotted key: value}; None takes those of the file. `outputs`, `reference`, `replications`
    and `seed` stand in the file's `study` and can be set here; outputs set here are the only ones judged. `threads` 0: all the machine has; the numbers don't
    depend on it. `progress(done, total)` counts rooms, about ten times a second. Raises UserError; Interrupted on
    Ctrl-C, whose `finished` is the Comparison of the replications that every alternative has, or None.
    """
    study = scenario.study
    wanted = study.replications if replications is None else replications
    if wanted < 1:
        raise _core.UserError(f"replications = {wanted}: at least 1")
    rooms = _rooms_to_run(scenario, alternatives)
    names = list(dict.fromkeys(alternative for _, alternative in rooms))
    plan = _Plan(
        scenario=scenario,
        rooms=rooms,
        names=names,
        reference=_reference(names, reference, study.reference),
        outputs=declared.chosen(study.outputs if outputs is None else outputs, only=outputs is not None),
        seed=study.seed if seed is None else seed,
        wanted=wanted,
        given_alternatives=None
        if alternatives is None
        else {name: {**values} for name, values in alternatives.items()},
        given_outputs=outputs is not None,
    )
    pieces: list[_Piece] = []
    try:
        for piece in _blocks(plan, threads, progress):
            pieces.append(piece)
    except KeyboardInterrupt:
        raise Interrupted(_assemble(plan, pieces) if pieces else None) from None
    return _assemble(plan, pieces)


@dataclass(frozen=True)
class _Plan:
    scenario: Scenario
    rooms: dict[tuple[str, str], Scenario]  # (case, alternative)
    names: list[str]
    reference: str
    outputs: list[declared.Output]
    seed: int
    wanted: int
    given_alternatives: dict[str, Any] | None  # in Python, so that no command line repeats it
    given_outputs: bool


@dataclass(frozen=True)
class _Piece:
    """One block of replicates with every case and alternative."""

    count: int
    checks: int  # of conservation laws, all passed
    frames: dict[str, pd.DataFrame]  # those of a Comparison that have a row for each replicate


def _rooms_to_run(scenario: Scenario, given: Mapping[str, Mapping[str, Any]] | None) -> dict[tuple[str, str], Scenario]:
    """Every alternative in every case, each checked before anything runs."""
    names = list(given) if given is not None else scenario.alternatives
    if len(names) < 2:
        raise _core.UserError(f"{scenario.source_name}: nothing to compare: name at least two `alternatives`")
    cases = {name: scenario.case(name) for name in scenario.cases} or {ONLY_CASE: scenario}
    return {
        (case, name): there.override(given[name]) if given is not None else there.alternative(name)
        for case, there in cases.items()
        for name in names
    }


def _reference(names: list[str], wanted: str | None, usual: str) -> str:
    """The one asked for; else the file's, where it is among the alternatives; else the first."""
    if wanted is not None and wanted not in names:
        raise _core.UserError(f"no alternative is called '{wanted}' (alternatives: {', '.join(names)})")
    return wanted or (usual if usual in names else names[0])


def _blocks(plan: _Plan, threads: int, progress: Callable[[int, int], None] | None) -> Iterator[_Piece]:
    size = max(_SMALLEST_BLOCK, 4 * (threads or os.cpu_count() or 1))
    total = plan.wanted * len(plan.rooms)
    done = 0
    for first in range(0, plan.wanted, size):
        count = min(size, plan.wanted - first)
        parts = []
        for (case, name), scenario in plan.rooms.items():
            tell = None if progress is None else lambda here, before=done: progress(before + here, total)
            result = run(
                scenario,
                replications=count,
                first_replicate=first,
                seed=plan.seed,
                threads=threads,
                record=_RECORDED,
                progress=tell,
            )
            parts.append(_aggregate(result, case, name))
            done += count
            if progress is not None:
                progress(done, total)
        yield _joined(parts)


def _aggregate(result: Result, case: str, alternative: str) -> _Piece:
    """What is kept of one alternative's block; its tables go."""
    labels = {"case": case, "alternative": alternative}
    sows = result.sows[["replicate", "sow", "parity", "farrowing_duration_min"]]
    return _Piece(
        count=result.replications,
        checks=result.checks,
        frames={
            "replicates": result.outputs.reset_index().assign(**labels),
            "intake_days": intake_days(result.sow_days).assign(**labels),
            "farrowings": sows.assign(**labels),
            "task_counts": task_counts(result.tasks).assign(**labels),
            "staff_hours": hours_in_use(result.work_hours, result.duty_hours).assign(**labels),
        },
    )


def _joined(pieces: Sequence[_Piece]) -> _Piece:
    """Pieces one below the other, the labels first."""

    def below(name: str) -> pd.DataFrame:
        frame = pd.concat([piece.frames[name] for piece in pieces], ignore_index=True)
        first = ["case", "alternative"]
        return frame[first + [column for column in frame if column not in first]]

    checks = sum(piece.checks for piece in pieces)
    return _Piece(pieces[0].count, checks, {name: below(name) for name in pieces[0].frames})


def intake_days(sow_days: pd.DataFrame) -> pd.DataFrame:
    """Mean feed eaten per sow [kg] by replicate, parity class and lactation day from day 1, with the number of sows."""
    days = sow_days[sow_days["day"] >= 1]
    parity = pd.Series(declared.parity_class(days["parity"]), days.index, name="parity_class")
    keys = [days["replicate"], parity, days["day"]]
    found = days.groupby(keys)["eaten_kg"].agg(["mean", "size"]).reset_index()
    return found.rename(columns={"mean": "eaten_kg", "size": "sows"}).assign(
        parity_class=lambda frame: np.array(declared.PARITY_CLASSES)[frame["parity_class"]]
    )


def _assemble(plan: _Plan, pieces: list[_Piece]) -> Comparison:
    whole = _joined(pieces)
    replications = sum(piece.count for piece in pieces)
    cases = list(dict.fromkeys(case for case, _ in plan.rooms))
    order = {"case": cases, "alternative": plan.names}
    frames = {name: _sorted(frame, order) for name, frame in whole.frames.items()}
    made = provenance.of_run(
        plan.scenario, replications=replications, seed=plan.seed, checks=whole.checks, command=_command(plan)
    )
    return Comparison(
        scenario=plan.scenario,
        reference=plan.reference,
        cases=cases,
        alternatives=plan.names,
        outputs=plan.outputs,
        seed=plan.seed,
        wanted_replications=plan.wanted,
        replications=replications,
        differences=differences(frames["replicates"], plan.outputs, plan.reference),
        means=means(frames["replicates"], plan.outputs),
        policies={name: plan.rooms[cases[0], name].policies for name in plan.names},
        provenance=made,
        **frames,
    )


def _command(plan: _Plan) -> str:
    outputs = [output.name for output in plan.outputs] if plan.given_outputs else None
    options = {"replications": plan.wanted, "seed": plan.seed, "reference": plan.reference, "outputs": outputs}
    if plan.given_alternatives is None:
        return provenance.command("compare", plan.scenario, **options)
    said = ", ".join(f"{name}={value!r}" for name, value in options.items() if value is not None)
    return f"farrowtide.compare({plan.scenario.expression}, {plan.given_alternatives!r}, {said})"


def _sorted(frame: pd.DataFrame, order: Mapping[str, list[str]]) -> pd.DataFrame:
    """In the order of the file, then by replicate: the same rows whatever the blocks were."""
    ranks = [frame[column].map({name: i for i, name in enumerate(names)}) for column, names in order.items()]
    positions = np.lexsort([frame["replicate"], *reversed(ranks)])
    return frame.iloc[positions].reset_index(drop=True)


def means(replicates: pd.DataFrame, outputs: Sequence[declared.Output]) -> pd.DataFrame:
    """Mean, standard deviation between rooms and 95 % interval of every output, by case and alternative."""
    rows = []
    for (case, alternative), part in replicates.groupby(["case", "alternative"], sort=False):
        for output in outputs:
            mean, sd, low, high, n = (value[0] for value in interval(part[[output.name]].to_numpy()))
            rows.append((case, alternative, output.name, output.unit, mean, sd, low, high, n))
    columns = ["case", "alternative", "output", "unit", "mean", "sd", "ci_low", "ci_high", "n"]
    return pd.DataFrame(rows, columns=columns)


def differences(replicates: pd.DataFrame, outputs: Sequence[declared.Output], reference: str) -> pd.DataFrame:
    """Each alternative minus the reference, paired by replicate, by case and output; see Comparison."""
    names = [output.name for output in outputs]
    frames = []
    for case, part in replicates.groupby("case", sort=False):
        values = {name: rows.set_index("replicate")[names] for name, rows in part.groupby("alternative", sort=False)}
        others = [name for name in values if name != reference]
        found = [_paired(values[name], values[reference]).assign(alternative=name) for name in others]
        frames.append(_judged(pd.concat(found).assign(case=case, reference=reference), outputs))
    columns = [
        "case",
        "output",
        "unit",
        "alternative",
        "reference",
        "mean_alternative",
        "mean_reference",
        "difference",
        "ci_low",
        "ci_high",
        "n",
        "p_holm",
        "verdict",
    ]
    return pd.concat(frames, ignore_index=True)[columns]


def _paired(alternative: pd.DataFrame, reference: pd.DataFrame) -> pd.DataFrame:
    """One row per output; replicates in which either side has no value are left out of both means."""
    pairs = alternative.to_numpy() - reference.loc[alternative.index].to_numpy()
    missing = np.isnan(pairs)
    mean, sd, low, high, n = interval(pairs)
    return pd.DataFrame(
        {
            "output": alternative.columns,
            "mean_alternative": column_means(np.where(missing, np.nan, alternative)),
            "mean_reference": column_means(np.where(missing, np.nan, reference.loc[alternative.index])),
            "difference": mean,
            "ci_low": low,
            "ci_high": high,
            "n": n,
            "p": p_of_no_difference(mean, sd, n),
        }
    )


def _judged(found: pd.DataFrame, outputs: Sequence[declared.Output]) -> pd.DataFrame:
    by_name = {output.name: output for output in outputs}
    rank = {name: i for i, name in enumerate(by_name)}
    found = found.sort_values("output", key=lambda column: column.map(rank), kind="stable", ignore_index=True)
    group = found["output"].map(lambda name: by_name[name].group)
    return found.assign(
        unit=found["output"].map(lambda name: by_name[name].unit),
        p_holm=found.groupby(group)["p"].transform(lambda p: holm(p.to_numpy())),
    ).assign(verdict=lambda frame: [verdict(by_name[row.output], row) for row in frame.itertuples()])


def verdict(output: declared.Output, row: Any) -> str:
    """What a row of differences says in words; see Comparison."""
    if np.isnan(row.p_holm):
        return TOO_FEW
    if row.ci_low == row.ci_high == 0:
        return NO_DIFFERENCE
    if row.p_holm >= 1 - CONFIDENCE:
        return NO_CLEAR_DIFFERENCE
    if abs(row.difference) < output.negligible:
        return NEGLIGIBLE
    direction = "higher" if row.difference > 0 else "lower"
    if output.good is None:
        return direction
    return f"{direction} ({'better' if direction == output.good else 'worse'})"


def p_of_no_difference(mean: np.ndarray, sd: np.ndarray, n: np.ndarray) -> np.ndarray:
    """Two-sided p of the paired t test; 1 where every pair is equal, NaN below two pairs."""
    error = sd / np.sqrt(np.maximum(n, 1))
    t = np.divide(mean, error, out=np.where(mean == 0, 0.0, np.inf), where=error > 0)
    return np.where(n > 1, 2 * special.stdtr(np.maximum(n - 1, 1), -np.abs(t)), np.nan)


def holm(p: np.ndarray) -> np.ndarray:
    """Holm's (1979, Scand J Stat 6:65-70) step-down adjustment; NaN stays NaN and is not counted."""
    adjusted = np.full(len(p), np.nan)
    order = np.argsort(p)[: np.count_nonzero(~np.isnan(p))]
    adjusted[order] = np.minimum(1, np.maximum.accumulate(p[order] * np.arange(len(order), 0, -1)))
    return adjusted
