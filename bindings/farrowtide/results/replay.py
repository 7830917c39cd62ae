"""The replay of a room: simulated, shown and written."""

from __future__ import annotations

import html
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from farrowtide.analysis.replay import TABLES, Recording, recording
from farrowtide.cautions import withheld_by
from farrowtide.engine import provenance
from farrowtide.engine.result import Interrupted, Result
from farrowtide.engine.running import simulate_replicates
from farrowtide.errors import InternalError, PlausibilityWarning, UserError, emit
from farrowtide.outputs.one_line import one_line
from farrowtide.outputs.units import units_of
from farrowtide.report.replay_page import render
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.plausibility.arms import of_scenario
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.plan import check_alternative
from farrowtide.whole_files import make_folder, write_text

AS_WRITTEN = "as written"
FILE = "replay.html"
_FRAME_PX = 900


@dataclass(frozen=True)
class Replay:
    """One room over time, or the same animals under two alternatives on one clock.

    `results`: alternative -> the tables of its run; "as written" stands for the scenario without an alternative.
    """

    scenario: Scenario
    results: dict[str, Result]
    replicate: int
    group: int | None
    case: str | None
    warnings: list[PlausibilityWarning]
    provenance: dict[str, Any]

    def __repr__(self) -> str:
        names = " beside ".join(self.results)
        return one_line("Replay", self.scenario.title, names, f"replicate {self.replicate}")

    def _repr_html_(self) -> str:
        page = html.escape(self.html())
        return (
            f'<iframe title="Replay" sandbox="allow-scripts" style="width:100%;height:{_FRAME_PX}px;border:0" '
            f'srcdoc="{page}"></iframe>'
        )

    def recordings(self) -> dict[str, Recording]:
        """What the page shows of each alternative, as tables."""
        return {name: recording(result, self.group) for name, result in self.results.items()}

    def html(self, *, units: str = "si") -> str:
        """The page as text. `units`: "si", "us" or "as_written"."""
        result = next(iter(self.results.values()))
        recordings = self.recordings()
        first = result.dates(pd.Series([min(room.start_h for room in recordings.values())]))[0]
        of_case = f", {self.case}" if self.case else ""
        of_group = f", group {self.group}" if self.group is not None else ""
        return render(
            self.scenario,
            first.date(),
            recordings,
            heading=f"Replay of replicate {self.replicate}, seed {result.seed}{of_case}{of_group}",
            units=units_of(units, self.scenario),
            warnings=self.warnings,
            origin=self.provenance,
        )

    def save(self, path: str | os.PathLike[str], *, units: str = "si") -> Path:
        """Writes the page: to the file, where the name ends with .html, otherwise as replay.html into the folder."""
        path = Path(path)
        page = path if path.suffix == ".html" else path / FILE
        make_folder(page.parent)
        write_text(page, self.html(units=units))
        return page


def replay(
    scenario: GivenScenario,
    *,
    alternative: str | None = None,
    against: str | None = None,
    case: str | None = None,
    replicate: int = 0,
    group: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    progress: Callable[[int, int], None] | None = None,
) -> Replay:
    """Simulates one room of a scenario, or the file of one, with all its events, to be looked at.

    `alternative`: one of the file's; without it the scenario as written. `against`: another, beside it, on the same
    animals. `case`: one of the file's. `replicate`: its number, such as one that each-sow or labour names. `group`: of a
    farm, the farrowing group; the first that is recorded, unless another is named. `progress(done, total)` counts rooms.

    Raises UserError.
    """
    scenario = as_scenario(scenario)
    for name in (alternative, against):
        if name is not None:
            check_alternative(name, scenario.alternatives)
    if against == alternative and against is not None:
        raise UserError(f"'{against}' is the alternative itself: name another one")
    base = scenario.case(case) if case else scenario
    arms = {alternative or AS_WRITTEN: base.alternative(alternative) if alternative else base}
    if against is not None:
        arms[against] = base.alternative(against)
    emit(warning for arm in arms.values() for warning in of_scenario(arm))
    seed = scenario.study.seed if seed is None else seed
    results: dict[str, Result] = {}
    for name, arm in arms.items():
        results[name] = _simulated(arm, replicate, seed, threads)
        if progress:
            progress(len(results), len(arms))
    chosen = {"alternative": alternative, "against": against, "case": case, "replicate": replicate, "group": group}
    found = Replay(
        scenario=scenario,
        results=results,
        replicate=replicate,
        group=group,
        case=case,
        warnings=_each_once(results),
        provenance=_provenance(scenario, arms, results, seed, chosen),
    )
    found.recordings()  # a group that is not there is told before anything is delivered
    emit((warning for result in results.values() for warning in result.room_warnings), finished=found)
    return found


def _simulated(scenario: Scenario, replicate: int, seed: int, threads: int) -> Result:
    try:
        result = simulate_replicates(
            scenario, replications=1, seed=seed, threads=threads, first_replicate=replicate, record=TABLES
        )
    except Interrupted:
        raise Interrupted(None) from None
    if result.set_aside:
        raise InternalError(result.set_aside[0][1])
    return result


def _each_once(results: dict[str, Result]) -> list[PlausibilityWarning]:
    return list({str(warning): warning for result in results.values() for warning in result.warnings}.values())


def _provenance(
    scenario: Scenario, arms: dict[str, Scenario], results: dict[str, Result], seed: int, chosen: dict[str, Any]
) -> dict[str, Any]:
    command = provenance.command("replay", scenario, **chosen, seed=seed)
    origin = provenance.of_run(
        scenario,
        replications=1,
        seed=seed,
        checks=sum(result.checks for result in results.values()),
        command=command,
        withheld_care=withheld_by((name, arm.withheld_care) for name, arm in arms.items()),
    )
    recipe = {"verb": "replay", "replications": 1, "seed": seed, **chosen, "scenario": scenario.recipe}
    return origin | {"recipe": recipe}
