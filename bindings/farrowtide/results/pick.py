"""The best of many alternatives, picked with a stated probability."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from typing import Any

import pandas as pd
import pyarrow as pa

from farrowtide.analysis.selection import Selection
from farrowtide.errors import PlausibilityWarning, UserError, unknown_name
from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.one_line import one_line
from farrowtide.outputs.output import Output
from farrowtide.outputs.parsing import output_named
from farrowtide.outputs.units import count
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.blocks import Arm, checks, outputs_of
from farrowtide.study.course import Course, Progress
from farrowtide.study.plan import MOST_REPLICATIONS, ONLY_CASE, Plan, plan
from farrowtide.study.provenance import of_pick
from farrowtide.study.stopping import LEAST


@dataclass(frozen=True)
class Picked:
    """What `pick` found: the `best` alternative by `table` (see `farrowtide.selecting.Selection`).

    `best` is None where it was stopped before one was left, and where those left are `tied`: hardly any of the rooms
    differ between them, so that nothing is known that would choose.
    """

    scenario: Scenario
    case: str
    output: Output
    best: str | None
    tied: list[str]
    rooms_that_differ: int  # the most between two that are tied
    table: pd.DataFrame
    replications: int
    rooms: int  # simulated in all
    wanted_replications: int  # the maximum
    provenance: dict[str, Any]
    warnings: list[PlausibilityWarning] = field(default_factory=list)  # what to know before trusting a number

    def __repr__(self) -> str:
        best = "none" if self.best is None else f"'{self.best}'"
        return one_line(
            "Picked",
            self.scenario.title,
            f"{best} of {count(len(self.table), 'alternative')} picked by {self.output.name}",
            f"{count(self.replications, 'replication')}, {count(self.rooms, 'room')}",
        )

    @property
    def interrupted(self) -> bool:
        """Whether it was stopped before an alternative was picked and before the maximum of replications."""
        return self.best is None and not self.tied and self.replications < self.wanted_replications


def pick(
    scenario: GivenScenario,
    output: str,
    indifference: float,
    *,
    alternatives: Mapping[str, Mapping[str, Any]] | None = None,
    case: str | None = None,
    confidence: float = 0.95,
    replications: int = MOST_REPLICATIONS,
    seed: int | None = None,
    threads: int = 0,
    executor: Executor | None = None,
    folder: str | os.PathLike[str] | None = None,
    resume: bool = False,
    progress: Progress | None = None,
) -> Picked:
    """Picks the best alternative with a stated probability, simulating those that are beaten no further.

    `indifference`: a difference in `output` that is too small to matter, in its unit, to be chosen beforehand. If the
    best is better than every other by at least that, it is picked with probability `confidence` or more. `case`: one of
    the scenario's; None: the first. `replications`: the maximum. `executor`, `folder` and `resume` as in `compare`.
    Raises UserError; Interrupted on Ctrl-C, whose `finished` is what is known after the last complete round, or None.
    """
    scenario = as_scenario(scenario)
    aim = output_named(output, catalogue(scenario.prices).values())
    study = plan(
        scenario,
        alternatives,
        verb="pick",
        cases=_only(case, scenario.cases),
        replications=replications,
        seed=seed,
        outputs=[aim.name],
        tables=(),
    )
    selection = Selection(study.names, aim, indifference, confidence=confidence)
    screening = _Screening(study, selection)
    course = Course(study, threads=threads, executor=executor, folder=folder, resume=resume, rule=screening)

    def picked(interrupted: bool) -> Picked:
        origin = of_pick(
            study,
            aim.name,
            indifference,
            case=study.cases[0],
            confidence=confidence,
            replications=screening.replications,
            checks=screening.checks,
        )
        return Picked(
            scenario=study.scenario,
            case=study.cases[0],
            output=aim,
            best=None if interrupted else selection.best,
            tied=selection.tied,
            rooms_that_differ=selection.most_apart,
            table=selection.table(),
            replications=screening.replications,
            rooms=screening.rooms,
            wanted_replications=study.wanted,
            provenance=origin,
            warnings=course.warnings(),
        )

    return course.carry_out(lambda _: None, picked, progress=progress)


def _only(case: str | None, cases: Sequence[str]) -> list[str]:
    """The one that is wanted, by default the first."""
    if case is not None and case not in (cases or [ONLY_CASE]):
        raise unknown_name("case", case, filter(None, cases))
    return [case or cases[0]] if cases else []


class _Screening:
    """The rule of `pick`: an alternative goes on until the selection has eliminated it."""

    eliminates = True
    counts_rounds = True

    def __init__(self, study: Plan, selection: Selection) -> None:
        self._study = study
        self._selection = selection
        self.replications = 0
        self.rooms = 0
        self.checks = 0

    def see(self, tables: Sequence[pa.Table]) -> None:
        output = self._selection.output.name
        self.replications += tables[0].num_rows
        self.rooms += sum(table.num_rows for table in tables)
        self.checks += sum(map(checks, tables))
        self._selection.add(outputs_of(tables).pivot(index="replicate", columns="alternative", values=output))
        if self._selection.n < 2 and self.replications >= LEAST:
            raise UserError(f"{output}: too few rooms have a value to pick the best by it")

    def going_on(self) -> list[Arm]:
        if self._selection.best is not None or self._selection.tied:
            return []
        return [arm for arm in self._study.arms if arm.alternative in self._selection.in_play]

    def expected_rooms(self) -> int:
        ends_by = min(self._selection.ends_by or self._study.wanted, self._study.wanted)
        return self.rooms + max(0, ends_by - self._selection.n) * len(self._selection.in_play)

    def status(self) -> str:
        return f"{len(self._selection.in_play)} in play"
