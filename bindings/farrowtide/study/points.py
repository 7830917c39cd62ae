"""A study at many points of the parameters: the same alternatives and animals, with other coefficients and levels at each."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa

from farrowtide.errors import PlausibilityWarning, UserError
from farrowtide.outputs.plausibility.observed import Observed
from farrowtide.scenarios.parameters import with_parameters
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.blocks import REPLICATES, Arm, Block, Kept, observed, outputs_of, without_lists
from farrowtide.study.course import Course, Progress, Round
from farrowtide.study.plan import Plan, arms_of
from farrowtide.study.watch import Watch

Point = Mapping[str, tuple[float, ...]]  # parameters with their values, as with_parameters takes them


@dataclass(frozen=True, eq=False)
class ArmAtPoint(Arm):
    """An arm of a study with the parameters of one of its points."""

    number: int = 0  # among all arms at all points


@dataclass(frozen=True)
class PlanAtPoints(Plan):
    """A plan whose arms are run at every point in turn. `rooms_at`: the first replicate of each point; `each`: how many it has.

    The replicates of a point are the same rooms, with the same animals, in which the plan's own arms are run.
    """

    points: tuple[Point, ...] = ()
    rooms_at: tuple[int, ...] = ()
    each: int = 1

    @property
    def warnings(self) -> list[PlausibilityWarning]:
        """None: they are those of the plan that was run before."""
        return []

    def number_of(self, arm: Arm) -> int:
        assert isinstance(arm, ArmAtPoint)
        return arm.number

    def rounds(self, replicates: int = REPLICATES) -> Iterator[list[Block]]:
        """A round for each point: its replicates of every arm."""
        for number in range(len(self.points)):
            arms = self._arms_at(number)
            yield [Block(arm, self.rooms_at[number], self.each, self.kept) for arm in arms]

    def _arms_at(self, number: int) -> list[Arm]:
        scenario = with_parameters(self.scenario, self.points[number])
        wanted = {(arm.case, arm.alternative): place for place, arm in enumerate(self.arms)}
        cases = self.cases if self.scenario.cases else None
        arms = arms_of(scenario, self.given_alternatives, cases, self.seed)
        return [
            ArmAtPoint(arm.case, arm.alternative, arm.scenario, arm.seed, number=number * len(wanted) + place)
            for arm in arms
            if (place := wanted.get((arm.case, arm.alternative))) is not None
        ]

    def identity(self) -> dict[str, Any]:
        """As that of a plan, with a hash of the points and of the rooms at each."""
        text = json.dumps([[dict(point) for point in self.points], self.rooms_at, self.each], sort_keys=True)
        return super().identity() | {"points": hashlib.sha256(text.encode()).hexdigest()}


def at_points(plan: Plan, points: Sequence[Point], rooms_at: Sequence[int], each: int) -> PlanAtPoints:
    """The plan at these points, with `each` rooms at each, from the replicate that `rooms_at` names on."""
    of_plan = {field.name: getattr(plan, field.name) for field in fields(Plan)}
    of_plan |= {"verb": "doubt", "wanted": len(points) * each, "kept": Kept(), "precision": {}}
    return PlanAtPoints(**of_plan, points=tuple(points), rooms_at=tuple(rooms_at), each=each)


def cannot_be_built(scenario: Scenario, points: Sequence[Point]) -> dict[int, str]:
    """The points at which the scenario is not a possible one, by number, with what is wrong there."""
    problems = {}
    for number, point in enumerate(points):
        try:
            with_parameters(scenario, point)
        except UserError as problem:
            problems[number] = str(problem)
    return problems


@dataclass(frozen=True)
class RoomsAtPoints:
    """The rooms of a plan at points: one row per point, case, alternative and replicate, with every output."""

    rooms: pd.DataFrame
    set_aside: list[dict[str, Any]]  # rooms that broke off: case, alternative, replicate, seed and fault


@dataclass(frozen=True)
class Means:
    """With what a plan is run; no number depends on it. As in `compare`."""

    threads: int = 0
    executor: Executor | None = None
    folder: str | os.PathLike[str] | None = None
    resume: bool = False
    progress: Progress | None = None


class _SilentWatch(Watch):
    """Sees rooms that break off. What is implausible at single points is no matter: ranges say how far they may go."""

    def add(self, tables: Sequence[pa.Table]) -> None:
        for table in tables:
            labels = (table.column("case")[0].as_py(), table.column("alternative")[0].as_py())
            self._seen.setdefault(labels, Observed()).add(observed(table))
            self._rooms[labels] = self._rooms.get(labels, 0) + table.num_rows

    def warnings(self) -> list[PlausibilityWarning]:
        return []


def carry_out(plan: PlanAtPoints, means: Means) -> RoomsAtPoints:
    """Runs a plan at points. Raises Interrupted on Ctrl-C, whose `finished` are the rooms of the points that are complete."""
    course = Course(
        plan,
        threads=means.threads,
        executor=means.executor,
        folder=means.folder,
        resume=means.resume,
        watch=_SilentWatch(plan),
    )
    rooms: list[pa.Table] = []  # of each point

    def take(tables: Round) -> None:
        rooms.append(pa.concat_tables([without_lists(table) for table in tables]).combine_chunks())

    def assembled(interrupted: bool) -> RoomsAtPoints:
        numbers = np.repeat(np.arange(len(rooms)), [table.num_rows for table in rooms])
        frame = pd.concat([outputs_of(rooms), pd.Series(numbers, name="point")], axis="columns")
        return RoomsAtPoints(frame, course.watch.set_aside())

    return course.carry_out(take, assembled, progress=means.progress, replicates=plan.each)
