"""Alternatives compared on the same animals: the difference in each replicate, its interval, and a plain verdict.

Every alternative runs on the same seed and replicate numbers, hence on the same sows, litters and weather; only what
the alternative causes differs. The replicate (one room) is the unit: `n` counts rooms, never sows or piglets.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import pyarrow as pa
from scipy import special

from farrowtide import blocks, plans, provenance
from farrowtide import outputs as declared
from farrowtide.intervals import CONFIDENCE, column_means, interval
from farrowtide.plans import ONLY_CASE as ONLY_CASE
from farrowtide.running import Interrupted
from farrowtide.scenario import Scenario
from farrowtide.stopping import Reached

if TYPE_CHECKING:
    from farrowtide.figures import Picture

NO_DIFFERENCE = "no difference"
NO_CLEAR_DIFFERENCE = "no clear difference"
NEGLIGIBLE = "clear but negligible"
TOO_FEW = "too few replications"


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
    interrupted: bool  # stopped before it was done
    precision: Reached | None  # where one was asked for: what was reached
    differences: pd.DataFrame
    means: pd.DataFrame
    replicates: pd.DataFrame
    intake_days: pd.DataFrame
    farrowings: pd.DataFrame
    task_counts: pd.DataFrame
    staff_hours: pd.DataFrame
    policies: dict[str, dict[str, str]]  # alternative -> family -> what its policy does, in the first case
    provenance: dict[str, Any]

    def worst_decile(self, outputs: Sequence[str] | None = None) -> pd.DataFrame:
        """In one room in ten each output is this bad or worse, with its interval; see `selecting.worst_decile`.

        `outputs`: None takes the headlines that have a good direction.
        """
        from farrowtide import selecting

        usual = [output.name for output in self.outputs if output.group == "headline" and output.good]
        return selecting.worst_decile(self.replicates, declared.chosen(outputs or usual, only=True))

    def no_worse_than(self, margins: Mapping[str, float]) -> pd.DataFrame:
        """Is an alternative worse than the reference by less than the margin? See `selecting.no_worse_than`."""
        from farrowtide import selecting

        return selecting.no_worse_than(self.replicates, declared.catalogue().values(), self.reference, margins)

    def equivalent(self, margins: Mapping[str, float]) -> pd.DataFrame:
        """Does an alternative differ from the reference by less than the margin? See `selecting.equivalent`."""
        from farrowtide import selecting

        return selecting.equivalent(self.replicates, declared.catalogue().values(), self.reference, margins)

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

        return self._saying(figures.intake(self), "intake")

    def plot_farrowings(self) -> Any:
        """Share of farrowings that last longer than so many hours."""
        from farrowtide import figures

        return self._saying(figures.farrowings(self), "farrowings")

    def plot_work(self) -> Any:
        """Staff minutes per litter by task."""
        from farrowtide import figures

        return self._saying(figures.work(self), "work")

    def plot_utilisation(self) -> Any:
        """Share of the time on duty that is worked, by hour of the day."""
        from farrowtide import figures

        return self._saying(figures.utilisation(self), "utilisation")

    def _saying(self, picture: Picture, name: str) -> Picture:
        """The picture, which says where it comes from."""
        from farrowtide.figures import DRAWN_WITH

        return replace(picture, made=self.provenance | {"picture": name, "drawn_with": DRAWN_WITH})


def compare(
    scenario: Scenario,
    alternatives: Mapping[str, Mapping[str, Any]] | None = None,
    *,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    outputs: Sequence[str] | None = None,
    reference: str | None = None,
    precision: Mapping[str, float] | None = None,
    executor: Executor | None = None,
    folder: str | os.PathLike[str] | None = None,
    resume: bool = False,
    progress: plans.Progress | None = None,
) -> Comparison:
    """Compares alternatives inside each case of a scenario, on the same animals.

    `alternatives`: name -> {dotted key: value}; None takes those of the file. `outputs`, `reference`, `replications`
    and `seed` stand in the file's `study` and can be set here; outputs set here are the only ones judged.

    `precision`: {output: half-width}; replications are added until the paired 95 % interval of these outputs is no
    wider in any case and for any alternative (see `farrowtide.stopping`), `replications` being the most there may be.
    `executor`: any of concurrent.futures (processes, a cluster); otherwise `threads` of the engine, 0: all the machine
    has. `folder` keeps each finished block of replicates, and `resume` goes on where a study stopped (see
    `farrowtide.study_folder`). No number depends on these three.

    `progress(done, total, said)` counts rooms, about ten times a second. Raises UserError; Interrupted on Ctrl-C, whose
    `finished` is the Comparison of the replications that every alternative has, or None.
    """
    study = plans.plan(
        scenario,
        alternatives,
        replications=replications,
        seed=seed,
        outputs=outputs,
        reference=reference,
        precision=precision,
    )
    course = plans.Course(study, threads=threads, executor=executor, folder=folder, resume=resume)
    rounds: list[list[pa.Table]] = []
    try:
        rounds.extend(course.rounds(progress=progress))
    except KeyboardInterrupt:
        raise Interrupted(_assembled(study, rounds, course.reached, interrupted=True) if rounds else None) from None
    return _assembled(study, rounds, course.reached, interrupted=False)


def _assembled(
    study: plans.Plan, rounds: list[list[pa.Table]], reached: Reached | None, *, interrupted: bool
) -> Comparison:
    tables = [table for tables in rounds for table in tables]
    replications = sum(tables[0].num_rows for tables in rounds)
    order = {"case": study.cases, "alternative": study.names}
    replicates = _sorted(blocks.outputs_of(tables), order)
    return Comparison(
        scenario=study.scenario,
        reference=study.reference,
        cases=study.cases,
        alternatives=study.names,
        outputs=study.outputs,
        seed=study.seed,
        wanted_replications=study.wanted,
        replications=replications,
        interrupted=interrupted,
        precision=reached,
        differences=differences(replicates, study.outputs, study.reference),
        means=means(replicates, study.outputs),
        replicates=replicates,
        policies={name: study.rooms[study.cases[0], name].policies for name in study.names},
        provenance=provenance.of_comparison(
            study, replications, checks=sum(map(blocks.checks, tables)), interrupted=interrupted
        ),
        **{name: _sorted(blocks.rows_of(tables, name), order) for name in blocks.NESTED},
    )


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
        frames.append(judged(pd.concat(found).assign(case=case, reference=reference), outputs))
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


def judged(found: pd.DataFrame, outputs: Sequence[declared.Output]) -> pd.DataFrame:
    """Differences of one case with their unit, `p` adjusted within each group of outputs, and the verdict."""
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
