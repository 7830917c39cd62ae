"""Many alternatives: every combination of values at some keys, summed up while they run, and the best of them picked.

Rooms are summed up round by round. Questions that need every room (quantiles, limits, who is surely beaten) read them
from the study's folder, so that a sweep of any length needs the memory of a short one; without a folder the outputs of
each room are kept, about 0.6 kB.
"""

from __future__ import annotations

import itertools
import json
import os
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from farrowtide import _core, blocks, plans, provenance, selecting, stopping
from farrowtide import outputs as declared
from farrowtide.comparison import judged, p_of_no_difference
from farrowtide.executing import tables_of
from farrowtide.moments import Moments, PairedMoments, values_by_room
from farrowtide.naming import limit, output_named
from farrowtide.running import Interrupted
from farrowtide.scenario import Scenario
from farrowtide.stopping import Reached

AS_WRITTEN = "as written"  # the scenario itself, the usual reference
_LONGEST_VALUE = 40  # characters of a value in a name


def grid(vary: Mapping[str, Sequence[Any]]) -> dict[str, dict[str, Any]]:
    """Every combination of the values at these dotted keys, named by them: {name: {key: value}}.

    >>> list(grid({"room.crates": [12, 24], "handling.day": [3]}))
    ['crates 12, day 3', 'crates 24, day 3']
    """
    empty = [key for key, values in vary.items() if isinstance(values, str) or not len(values)]
    if not vary or empty:
        raise _core.UserError(f"{empty[0] if empty else 'vary'}: a list of values is needed")
    named = {key: _short(key, vary) for key in vary}
    found: dict[str, dict[str, Any]] = {}
    for values in itertools.product(*vary.values()):
        there = dict(zip(vary, values, strict=True))
        name = ", ".join(f"{named[key]} {_shown(value)}" for key, value in there.items())
        if there in found.values():
            raise _core.UserError(f"'{name}' is there twice")
        same = sum(other == name or other.startswith(f"{name} (") for other in found)
        found[f"{name} ({same + 1})" if same else name] = there
    return found


def _short(key: str, keys: Mapping[str, Any]) -> str:
    """The end of a dotted key that tells it from the others."""
    parts = key.split(".")
    ends = [".".join(parts[-length:]) for length in range(1, len(parts) + 1)]
    return next(end for end in ends if sum(other.endswith(f".{end}") or other == end for other in keys) == 1)


def _shown(value: Any) -> str:
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, default=str).replace('"', "")
    return text if len(text) <= _LONGEST_VALUE else f"{text[: _LONGEST_VALUE - 1]}\N{HORIZONTAL ELLIPSIS}"


@dataclass(frozen=True)
class Sweep:
    """What `sweep` found.

    alternatives  name -> {dotted key: value}; the first, "as written", is the scenario itself.
    means         one row per case, alternative and output: mean, sd between rooms, 95 % interval, n rooms.
    differences   one row per case, alternative and output: minus the reference, paired by replicate; as in Comparison,
                  Holm-adjusted over all alternatives.
    """

    scenario: Scenario
    reference: str
    cases: list[str]
    alternatives: dict[str, dict[str, Any]]
    outputs: list[declared.Output]
    seed: int
    wanted_replications: int
    replications: int
    interrupted: bool
    precision: Reached | None
    means: pd.DataFrame
    differences: pd.DataFrame
    folder: Path | None
    rooms: pa.Table | None  # where there is no folder
    provenance: dict[str, Any]

    def replicates(self, outputs: Sequence[str]) -> pd.DataFrame:
        """Case, alternative, replicate and these outputs of every room, in the order of alternatives and replicates."""
        columns = ["case", "alternative", "replicate", *outputs]
        rooms = self.rooms.select(columns) if self.rooms is not None else self._read(columns)
        place = {label: i for i, label in enumerate(itertools.product(self.cases, self.alternatives))}
        frame = rooms.to_pandas()
        order = [place[label] for label in zip(frame["case"], frame["alternative"], strict=True)]
        return frame.iloc[np.lexsort([frame["replicate"], order])].reset_index(drop=True)

    def _read(self, columns: list[str]) -> pa.Table:
        assert self.folder is not None
        rooms = pq.read_table(self.folder / "blocks", columns=columns, partitioning=None)
        return rooms.filter(pc.field("replicate") < self.replications)

    def write(self, folder: str | os.PathLike[str]) -> Path:
        """Writes means.csv, differences.csv and provenance.json."""
        path = Path(folder)
        path.mkdir(parents=True, exist_ok=True)
        self.means.to_csv(path / "means.csv", index=False, lineterminator="\n")
        self.differences.to_csv(path / "differences.csv", index=False, lineterminator="\n")
        provenance.write(path, self.provenance)
        return path

    def table(self, case: str, outputs: Sequence[str]) -> pd.DataFrame:
        """Index alternative, columns the means of these outputs, in one case."""
        here = self.means[(self.means["case"] == case) & self.means["output"].isin(outputs)]
        return here.pivot(index="alternative", columns="output", values="mean").loc[list(self.alternatives), outputs]

    def pareto(self, outputs: Sequence[str], case: str | None = None) -> pd.DataFrame:
        """Which alternatives no other one beats in these outputs; see `farrowtide.selecting.pareto`."""
        chosen = declared.chosen(outputs, only=True)
        return selecting.pareto(self.table(case or self.cases[0], [output.name for output in chosen]), chosen)

    def best_within(self, objective: str, limits: Sequence[str] = ()) -> selecting.BestWithin:
        """The best mean of an output among those within limits; see `farrowtide.selecting.best_within`."""
        every = list(declared.catalogue().values())
        names = {output_named(objective, every).name}
        names |= {limit(text, every).output.name for text in limits}
        return selecting.best_within(self.replicates(sorted(names)), every, objective, limits)


def sweep(
    scenario: Scenario,
    vary: Mapping[str, Sequence[Any]],
    *,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    outputs: Sequence[str] | None = None,
    reference: str = AS_WRITTEN,
    precision: Mapping[str, float] | None = None,
    executor: Executor | None = None,
    folder: str | os.PathLike[str] | None = None,
    resume: bool = False,
    progress: plans.Progress | None = None,
) -> Sweep:
    """Simulates the scenario as written and with every combination of values in `vary` (see `grid`).

    The scenario's own alternatives are left out: choose one first, or give other values. All else as in `compare`.
    """
    alternatives = {AS_WRITTEN: {}} | grid(vary)
    study = plans.plan(
        scenario.without_alternatives(),
        alternatives,
        replications=replications,
        seed=seed,
        outputs=outputs,
        reference=reference,
        precision=precision,
    )
    course = plans.Course(study, threads=threads, executor=executor, folder=folder, resume=resume)
    sums = _Sums(study, keeps_rooms=course.folder is None)
    try:
        for tables in course.rounds(progress=progress, replicates=blocks.REPLICATES):
            sums.add(tables)
    except KeyboardInterrupt:
        raise Interrupted(_found(study, sums, course, vary, interrupted=True) if sums.replications else None) from None
    return _found(study, sums, course, vary, interrupted=False)


class _Sums:
    """What is remembered of the rooms."""

    def __init__(self, study: plans.Plan, *, keeps_rooms: bool) -> None:
        self._study = study
        self._rooms: list[pa.Table] | None = [] if keeps_rooms else None
        self._outputs = [output.name for output in study.outputs]
        self.means = Moments((len(study.cases), len(study.names), len(self._outputs)))
        self.paired = PairedMoments(study.cases, study.names, study.reference, self._outputs)
        self.replications = 0
        self.checks = 0

    def add(self, tables: Sequence[pa.Table]) -> None:
        replicates = blocks.outputs_of(tables)
        self.means.add(values_by_room(replicates, self._study.cases, self._study.names, self._outputs))
        self.paired.add(replicates)
        if self._rooms is not None:
            self._rooms += [table.drop_columns(list(blocks.NESTED)) for table in tables]
        self.replications += tables[0].num_rows
        self.checks += sum(map(blocks.checks, tables))

    def rooms(self) -> pa.Table | None:
        """Every room, where they are kept."""
        return None if self._rooms is None else pa.concat_tables(self._rooms)


def _found(
    study: plans.Plan,
    sums: _Sums,
    course: plans.Course,
    vary: Mapping[str, Sequence[Any]],
    *,
    interrupted: bool,
) -> Sweep:
    return Sweep(
        scenario=study.scenario,
        reference=study.reference,
        cases=study.cases,
        alternatives={name: dict(values) for name, values in (study.given_alternatives or {}).items()},
        outputs=study.outputs,
        seed=study.seed,
        wanted_replications=study.wanted,
        replications=sums.replications,
        interrupted=interrupted,
        precision=course.reached,
        means=_means(study, sums.means),
        differences=_differences(study, sums.paired),
        folder=course.folder and course.folder.path,
        rooms=sums.rooms(),
        provenance=provenance.of_sweep(study, sums.replications, vary, checks=sums.checks, interrupted=interrupted),
    )


def _means(study: plans.Plan, moments: Moments) -> pd.DataFrame:
    names = [output.name for output in study.outputs]
    index = pd.MultiIndex.from_product([study.cases, study.names, names], names=["case", "alternative", "output"])
    half = moments.half_width()
    columns = {
        "mean": moments.mean,
        "sd": moments.sd,
        "ci_low": moments.mean - half,
        "ci_high": moments.mean + half,
        "n": moments.n,
    }
    return pd.DataFrame({name: values.ravel() for name, values in columns.items()}, index=index).reset_index()


def _differences(study: plans.Plan, paired: PairedMoments) -> pd.DataFrame:
    moments = paired.moments
    half = moments.half_width()
    table = paired.table(
        ci_low=moments.mean - half,
        ci_high=moments.mean + half,
        p=p_of_no_difference(moments.mean.ravel(), moments.sd.ravel(), moments.n.ravel()),
    )
    found = [judged(part, study.outputs) for _, part in table.groupby("case", sort=False)]
    return pd.concat(found, ignore_index=True).drop(columns="p")


@dataclass(frozen=True)
class Picked:
    """What `pick` found: `best` by `table` (see `farrowtide.selecting.Selection`); None where it was stopped before."""

    case: str
    output: declared.Output
    best: str | None
    table: pd.DataFrame
    replications: int
    rooms: int  # simulated in all


def pick(
    scenario: Scenario,
    output: str,
    indifference: float,
    *,
    alternatives: Mapping[str, Mapping[str, Any]] | None = None,
    case: str | None = None,
    confidence: float = 0.95,
    replications: int = plans.MOST_REPLICATIONS,
    seed: int | None = None,
    threads: int = 0,
    executor: Executor | None = None,
    progress: plans.Progress | None = None,
) -> Picked:
    """Picks the best alternative with a stated probability, simulating those that are beaten no further.

    `indifference`: a difference in `output` that is too small to matter, in its unit, to be chosen beforehand. If the
    best is better than every other by at least that, it is picked with probability `confidence` or more. `case`: one of
    the scenario's; None: the first. `replications`: the most there may be. Raises UserError; on Ctrl-C what is left is
    in `Interrupted.finished`.
    """
    aim = output_named(output, declared.catalogue().values())
    study = plans.plan(scenario, alternatives, replications=replications, seed=seed, outputs=[aim.name], reference=None)
    there = case or study.cases[0]
    if there not in study.cases:
        raise _core.UserError(f"no case is called '{there}' (cases: {', '.join(study.cases)})")
    selection = selecting.Selection(study.names, aim, indifference, confidence=confidence)
    rooms = done = 0

    def tell(more: int) -> None:
        nonlocal rooms
        rooms += more
        if progress is not None:
            left = max(0, min(selection.ends_by or study.wanted, study.wanted) - selection.n)
            said = f"{len(selection.in_play)} in play"
            progress(rooms, max(rooms, rooms + left * len(selection.in_play)), said)

    try:
        for round_ in study.rounds():
            here = [block for block in round_ if block.case == there and block.alternative in selection.in_play]
            tables = [table for _, table in tables_of(here, executor=executor, threads=threads, tell=tell)]
            values = blocks.outputs_of(tables).pivot(index="replicate", columns="alternative", values=aim.name)
            selection.add(values)
            done = round_[-1].first + round_[-1].count
            if selection.n < 2 and done >= stopping.LEAST:
                raise _core.UserError(f"{aim.name}: hardly any room has a value, so that nothing can be picked by it")
            if selection.best is not None:
                break
    except KeyboardInterrupt:
        raise Interrupted(Picked(there, aim, None, selection.table(), done, rooms)) from None
    return Picked(there, aim, selection.best, selection.table(), done, rooms)
