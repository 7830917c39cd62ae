"""A sweep as tables: means and differences summed up over the rooms of every alternative."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

from farrowtide.analysis import limits as limits_table
from farrowtide.analysis.differences import differences_table, means_table, tops
from farrowtide.analysis.pareto import pareto as pareto_table
from farrowtide.errors import PlausibilityWarning, UserError
from farrowtide.outputs.catalogue import catalogue, chosen
from farrowtide.outputs.output import Output, tiny_differences
from farrowtide.outputs.parsing import limit, output_named
from farrowtide.scenarios.scenario import Scenario
from farrowtide.statistics.moments import Moments
from farrowtide.statistics.paired import PairedMoments, values_by_room
from farrowtide.study import blocks
from farrowtide.study.folder import rooms_in
from farrowtide.study.manifest import ANEW
from farrowtide.study.plan import Plan
from farrowtide.study.stopping import Reached

_JOINED_AT = 100  # tables of blocks: a small table takes many times the memory of its numbers


@dataclass(frozen=True)
class SweepTables:
    """The results of `sweep`.

    alternatives  name -> {dotted key: value}; the first, "as written", is the scenario itself, unless a combination is.
    means         one row per case, alternative and output: mean, sd between rooms, 95 % interval, n rooms.
    differences   one row per case, alternative and output: minus the reference, paired by replicate; as in Comparison,
                  Holm-adjusted over all alternatives.
    """

    scenario: Scenario
    reference: str
    cases: list[str]
    alternatives: dict[str, dict[str, Any]]
    outputs: list[Output]
    seed: int
    wanted_replications: int
    replications: int
    litters_per_replication: int  # the sows whose mean a replicate is, in the alternative that has fewest
    interrupted: bool
    precision: Reached | None
    means: pd.DataFrame
    differences: pd.DataFrame
    folder: Path | None
    study_hash: str  # which the blocks in the folder carry; "" without a folder
    rooms: pa.Table | None  # None where a folder holds them
    provenance: dict[str, Any]
    warnings: list[PlausibilityWarning] = field(default_factory=list)  # what to know before trusting a number
    set_aside: list[dict[str, Any]] = field(
        default_factory=list
    )  # rooms that broke off: case, alternative, replicate, ...

    def replicates(self, outputs: Sequence[str]) -> pd.DataFrame:
        """Case, alternative, replicate and these outputs of every room, in the order of alternatives and replicates."""
        columns = ["case", "alternative", "replicate", *outputs]
        rooms = self.rooms.select(columns) if self.rooms is not None else self._read(columns)
        place = {label: i for i, label in enumerate(itertools.product(self.cases, self.alternatives))}
        frame: pd.DataFrame = rooms.to_pandas(use_threads=False)
        labels = ["case", "alternative", "replicate"]
        if (
            frame.duplicated(labels).any()
            or not set(zip(frame["case"], frame["alternative"], strict=True)) <= place.keys()
        ):
            raise UserError(f"{self.folder}: blocks/ holds files that are not this study's; {ANEW}")
        order = [place[label] for label in zip(frame["case"], frame["alternative"], strict=True)]
        positions = np.lexsort([frame["replicate"].to_numpy(), np.array(order)])
        return frame.iloc[positions].reset_index(drop=True)

    def _read(self, columns: list[str]) -> pa.Table:
        assert self.folder is not None
        rooms = rooms_in(self.folder, self.study_hash, columns)
        return rooms.filter(pc.less(rooms["replicate"], self.replications))

    def table(self, case: str, outputs: Sequence[str]) -> pd.DataFrame:
        """The means of these outputs in one case: index alternative, one column per output."""
        selected = self.means[(self.means["case"] == case) & self.means["output"].isin(outputs)]
        return selected.pivot(index="alternative", columns="output", values="mean").loc[
            list(self.alternatives), outputs
        ]

    def pareto(self, outputs: Sequence[str], case: str | None = None) -> pd.DataFrame:
        """Which alternatives are Pareto-efficient in these outputs; see `farrowtide.selecting.pareto`."""
        selected = chosen(outputs, only=True, prices=self.scenario.prices)
        return pareto_table(self.table(case or self.cases[0], [output.name for output in selected]), selected)

    def best_within(self, objective: str, limits: Sequence[str] = (), *, units: str = "si") -> limits_table.BestWithin:
        """The alternative with the best mean of an output among those within limits; see `farrowtide.selecting.best_within`."""
        every = list(catalogue(self.scenario.prices).values())
        names = {output_named(objective, every).name}
        names |= {limit(text, every).output.name for text in limits}
        return limits_table.best_within(
            self.replicates(sorted(names)), every, objective, limits, animals=self.litters_per_replication, units=units
        )


class Sums:
    """What is kept of the rooms of a sweep while it runs: moments, and the rooms themselves on request."""

    def __init__(self, study: Plan, *, keeps_rooms: bool) -> None:
        self._study = study
        self._joined: list[pa.Table] = []
        self._rooms: list[pa.Table] | None = [] if keeps_rooms else None  # of the last blocks, not yet joined
        self._outputs = [output.name for output in study.outputs]
        self.means = Moments((len(study.cases), len(study.names), len(self._outputs)), top=tops(study.outputs))
        tiny = tiny_differences(study.outputs, study.litters_per_replication)
        self.paired = PairedMoments(study.cases, study.names, study.reference, self._outputs, tiny)
        self.replications = 0
        self.checks = 0

    def add(self, tables: Sequence[pa.Table]) -> None:
        replicates = blocks.outputs_of(tables)
        self.means.add(values_by_room(replicates, self._study.cases, self._study.names, self._outputs))
        self.paired.add(replicates)
        if self._rooms is not None:
            self._rooms += [blocks.without_lists(table) for table in tables]
            if len(self._rooms) > _JOINED_AT:
                self._joined.append(pa.concat_tables(self._rooms).combine_chunks())
                self._rooms.clear()
        self.replications += tables[0].num_rows
        self.checks += sum(map(blocks.checks, tables))

    def rooms(self) -> pa.Table | None:
        """Every room, if rooms are kept."""
        return None if self._rooms is None else pa.concat_tables([*self._joined, *self._rooms])

    def tables(self) -> tuple[pd.DataFrame, pd.DataFrame]:
        """The means and the differences of SweepTables."""
        study, animals = self._study, self._study.litters_per_replication
        means = means_table(self.means, study.cases, study.names, study.outputs, animals=animals)
        unit = study.scenario.unit_of_replication
        differences = differences_table(self.paired, study.outputs, animals=animals, unit=unit)
        return means.drop(columns="unit"), differences
