"""The best of many alternatives, picked with a stated probability."""

from __future__ import annotations

from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import Any

import pandas as pd

from farrowtide.analysis.selection import Selection
from farrowtide.engine.result import Interrupted
from farrowtide.errors import UserError
from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.output import Output
from farrowtide.outputs.parsing import output_named
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study import blocks
from farrowtide.study.course import Progress
from farrowtide.study.execution import tables_of
from farrowtide.study.plan import MOST_REPLICATIONS, plan
from farrowtide.study.provenance import of_pick
from farrowtide.study.stopping import LEAST


@dataclass(frozen=True)
class Picked:
    """What `pick` found: `best` by `table` (see `farrowtide.selecting.Selection`); None where it was stopped before."""

    case: str
    output: Output
    best: str | None
    table: pd.DataFrame
    replications: int
    rooms: int  # simulated in all
    wanted_replications: int  # at most
    provenance: dict[str, Any]

    @property
    def interrupted(self) -> bool:
        """Whether it was stopped before an alternative was left alone and before the most replications."""
        return self.best is None and self.replications < self.wanted_replications


def pick(
    scenario: Scenario,
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
    progress: Progress | None = None,
) -> Picked:
    """Picks the best alternative with a stated probability, simulating those that are beaten no further.

    `indifference`: a difference in `output` that is too small to matter, in its unit, to be chosen beforehand. If the
    best is better than every other by at least that, it is picked with probability `confidence` or more. `case`: one of
    the scenario's; None: the first. `replications`: the most there may be. Raises UserError; on Ctrl-C what is left is
    in `Interrupted.finished`.
    """
    aim = output_named(output, catalogue().values())
    study = plan(scenario, alternatives, replications=replications, seed=seed, outputs=[aim.name], reference=None)
    there = case or study.cases[0]
    if there not in study.cases:
        raise UserError(f"no case is called '{there}' (cases: {', '.join(study.cases)})")
    selection = Selection(study.names, aim, indifference, confidence=confidence)
    rooms = done = checks = 0

    def picked(best: str | None) -> Picked:
        made = of_pick(
            study, aim.name, indifference, case=there, confidence=confidence, replications=done, checks=checks
        )
        return Picked(there, aim, best, selection.table(), done, rooms, study.wanted, made)

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
            checks += sum(map(blocks.checks, tables))
            done = round_[-1].first + round_[-1].count
            if selection.n < 2 and done >= LEAST:
                raise UserError(f"{aim.name}: hardly any room has a value, so that nothing can be picked by it")
            if selection.best is not None:
                break
    except KeyboardInterrupt:
        raise Interrupted(picked(None)) from None
    return picked(selection.best)
